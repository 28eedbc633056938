"""Rubber that leaves a notch of the part, by finite elements: the judge of the rule.

Large strains, nearly incompressible neo-Hookean rubber, contact with the rigid
part without friction, moved slowly and damped (explicit in time). Four-node
elements whose change of volume is taken as one for each element, as in Nagtegaal,
Parks and Rice, Computer Methods in Applied Mechanics and Engineering 4 (1974) 153.
Plane strain, a ring round the part, or a core within it. Stretches do not hang on
the hardness. Nothing here comes from castplan.

The rubber fills x > 0, its wall `wall_mm` thick; the part fills x < 0 but for the
notch. One end of the wall is held, there the mould goes on, the other is free.
The rubber leaves in one of two ways: eased aside (the notch grows shallow until
all rubber is out) or pulled straight (the part is moved along z, out at the free
end). The truth of a bench lies between.
"""

import math
from dataclasses import dataclass

import numba
import numpy as np

PATCH_MM = 0.5  # about the work of tearing over that of breaking (from memory)
TURNED_OVER = 10.0
BULK_OVER_SHEAR = 40.0  # Poisson's ratio 0.4877: rubber moves round, it is not pressed together
SPEED = 0.03  # of the part, in speeds of a shear wave: slow
DAMPING = 0.02  # over the time a shear wave takes for a millimetre


@dataclass(frozen=True, kw_only=True)
class Notch:
    """What holds the rubber, lengths in mm."""

    depth_mm: float
    high_mm: float  # at its mouth, along the draw
    wall_mm: float  # of rubber, from the part to the outside
    flare: float = 0.0  # how much higher the bottom is than the mouth, as a share of it
    radius_mm: float = math.inf  # of the part at the notch's mouth
    is_core: bool = False  # rubber within the part, solid to the axis
    is_backed: bool = False  # the outside cannot move sideways
    beyond_mm: float = 15.0  # of wall on either side of the notch


def largest_stretch(notch: Notch, *, is_aside: bool, size_mm: float | None = None) -> float:
    """Largest principal stretch less one on the way out, mean over a patch of `PATCH_MM`.

    In a sharp corner it has no bound, so it is taken over some rubber. Infinite
    if the elements turn over: the rubber would have torn long before.
    """
    size_mm = size_mm or min(max(notch.depth_mm / 8, 0.12), 0.4)
    xs, zs, in_notch = _lines(notch, size_mm)
    nodes, quads = _mesh(notch, xs, zs, in_notch)
    is_held = nodes[:, 1] < zs[0] + 1e-9
    is_still_x = is_held.copy()
    if notch.is_backed or notch.is_core:
        is_still_x |= nodes[:, 0] > notch.wall_mm - 1e-9
    sign = -1.0 if notch.is_core else 1.0
    radius = 0.0 if math.isinf(notch.radius_mm) else notch.radius_mm
    way_mm = notch.depth_mm
    if not is_aside:
        way_mm = notch.high_mm * (1 + max(notch.flare, 0.0)) + 2 * notch.depth_mm
    peaks = _pull(
        nodes,
        quads,
        is_held,
        is_still_x,
        sign,
        float(radius),
        float(notch.depth_mm),
        float(notch.high_mm),
        float(notch.flare),
        way_mm,
        PATCH_MM,
        is_aside,
    )
    most = float(peaks.max() - 1)
    return most if math.isfinite(most) and most < TURNED_OVER else math.inf


def _lines(notch, size):
    """Lines of the grid: even in and round the notch, wider away from it."""
    n_deep = max(round(notch.depth_mm / size), 4)
    # Fine at both ends of a high notch, wide in its middle.
    half = 0.5 * notch.high_mm
    n_fine = 10
    if half > 1.5 * n_fine * size:
        fine = np.linspace(0, n_fine * size, n_fine + 1)
        n_rest = max(round((notch.high_mm - 2 * n_fine * size) / (3 * size)), 2)
        rest = np.linspace(n_fine * size, notch.high_mm - n_fine * size, n_rest + 1)
        high = np.concatenate([fine, rest[1:-1], notch.high_mm - fine[::-1]])
    else:
        high = np.linspace(0, notch.high_mm, max(round(notch.high_mm / size), 4) + 1)
    n_high = len(high) - 1

    def away(total, first):
        steps = [first]
        while sum(steps) < total:
            steps.append(min(steps[-1] * 1.25, 2.5))
        steps = np.array(steps) * total / sum(steps)
        return np.cumsum(steps)

    first = min(size, high[1])
    below = -away(notch.beyond_mm, first)[::-1]
    above = notch.high_mm + away(notch.beyond_mm, first)
    xs = np.concatenate([np.linspace(-notch.depth_mm, 0, n_deep + 1), away(notch.wall_mm, size)])
    zs = np.concatenate([below, high, above])
    return xs, zs, (len(below), len(below) + n_high, n_deep)


def _mesh(notch, xs, zs, in_notch):
    low, high, n_deep = in_notch
    number = -np.ones((len(xs), len(zs)), dtype=np.int64)
    quads, nodes = [], []

    def node(i, k):
        if number[i, k] < 0:
            number[i, k] = len(nodes)
            x, z = xs[i], zs[k]
            if x < 0:
                middle = 0.5 * notch.high_mm
                z = middle + (z - middle) * (1 + notch.flare * -x / notch.depth_mm)
            nodes.append((x, z))
        return number[i, k]

    for i in range(len(xs) - 1):
        for k in range(len(zs) - 1):
            if i < n_deep and not low <= k < high:
                continue
            quads.append((node(i, k), node(i + 1, k), node(i + 1, k + 1), node(i, k + 1)))
    return np.array(nodes), np.array(quads)


@numba.njit
def _out_of_part(x, z, depth, high, flare):
    """Way from a point inside the part to its nearest surface; nothing outside it."""
    if x >= 0:
        return 0.0, 0.0
    reach = 0.5 * flare * high  # of the notch's bottom beyond its mouth, each end
    if x > -depth:
        share = -x / depth
        if -reach * share <= z <= high + reach * share:
            return 0.0, 0.0
    best = x * x
    out_x, out_z = -x, 0.0
    if 0.0 < z < high:  # straight out is the notch's mouth, no surface
        best = np.inf
    for end in range(2):
        mouth = high * end
        bottom = mouth + (2 * end - 1) * reach
        t = (-x * depth + (z - mouth) * (bottom - mouth)) / (depth**2 + (bottom - mouth) ** 2)
        t = min(max(t, 0.0), 1.0)
        px, pz = -t * depth, mouth + t * (bottom - mouth)
        far = (px - x) ** 2 + (pz - z) ** 2
        if far < best:
            best, out_x, out_z = far, px - x, pz - z
    if -reach <= z <= high + reach and (x + depth) ** 2 < best:
        out_x, out_z = -depth - x, 0.0
    return out_x, out_z


@numba.njit
def _pull(
    nodes, quads, is_held, is_still_x, sign, radius, depth, high, flare, way, patch, is_aside
):
    n, m = len(nodes), len(quads)
    at = 1.0 / math.sqrt(3.0)
    # Slopes of the shape functions at the four points, and weights.
    slope = np.empty((m, 4, 4, 2))
    weight = np.empty((m, 4))
    ring = np.empty((m, 4))
    shape = np.empty((4, 4))
    mass = np.zeros(n)
    middle = np.empty((m, 2))
    shortest = np.inf
    for e in range(m):
        for q in range(4):
            s = at if q in (1, 2) else -at
            t = at if q >= 2 else -at
            shape[q, 0] = 0.25 * (1 - s) * (1 - t)
            shape[q, 1] = 0.25 * (1 + s) * (1 - t)
            shape[q, 2] = 0.25 * (1 + s) * (1 + t)
            shape[q, 3] = 0.25 * (1 - s) * (1 + t)
            ds = np.array([-(1 - t), 1 - t, 1 + t, -(1 + t)]) * 0.25
            dt = np.array([-(1 - s), -(1 + s), 1 + s, 1 - s]) * 0.25
            a = b = c = d = 0.0
            for k in range(4):
                x, z = nodes[quads[e, k]]
                a += ds[k] * x
                b += ds[k] * z
                c += dt[k] * x
                d += dt[k] * z
            det = a * d - b * c
            for k in range(4):
                slope[e, q, k, 0] = (d * ds[k] - b * dt[k]) / det
                slope[e, q, k, 1] = (-c * ds[k] + a * dt[k]) / det
            here = 0.0
            for k in range(4):
                here += shape[q, k] * nodes[quads[e, k], 0]
            ring[e, q] = radius + sign * here if radius > 0 else 1.0
            weight[e, q] = det * ring[e, q]
        total = weight[e].sum()
        for k in range(4):
            mass[quads[e, k]] += 0.25 * total
            other = quads[e, (k + 1) % 4]
            dx = nodes[quads[e, k]] - nodes[other]
            shortest = min(shortest, math.hypot(dx[0], dx[1]))
        for k in range(2):
            middle[e, k] = 0.25 * (
                nodes[quads[e, 0], k]
                + nodes[quads[e, 1], k]
                + nodes[quads[e, 2], k]
                + nodes[quads[e, 3], k]
            )
    # Elements near the notch, and for each those within its patch.
    near = np.flatnonzero(
        (middle[:, 0] < 3 * depth)
        & (middle[:, 1] > -3 * depth - high)
        & (middle[:, 1] < 2 * high + 3 * depth)
    )
    bulk = BULK_OVER_SHEAR
    step = 0.3 * shortest / math.sqrt(bulk + 4.0 / 3.0)
    now = nodes.copy()
    speed = np.zeros((n, 2))
    force = np.empty((n, 2))
    stretch = np.empty(m)
    n_steps = int(way / (SPEED * step))
    peaks = np.zeros(100)
    for it in range(n_steps):
        moved = way * it / n_steps
        force[:] = 0.0
        look = it % max(n_steps // 100, 1) == 0
        for e in range(m):
            jacobian = np.empty(4)
            grads = np.empty((4, 2, 2))
            hoops = np.empty(4)
            volume = 0.0
            first = 0.0
            for q in range(4):
                fxx = fxz = fzx = fzz = here = 0.0
                for k in range(4):
                    p = quads[e, k]
                    fxx += now[p, 0] * slope[e, q, k, 0]
                    fxz += now[p, 0] * slope[e, q, k, 1]
                    fzx += now[p, 1] * slope[e, q, k, 0]
                    fzz += now[p, 1] * slope[e, q, k, 1]
                    here += shape[q, k] * now[p, 0]
                hoop = (radius + sign * here) / ring[e, q] if radius > 0 else 1.0
                grads[q, 0, 0], grads[q, 0, 1] = fxx, fxz
                grads[q, 1, 0], grads[q, 1, 1] = fzx, fzz
                hoops[q] = max(hoop, 0.05)
                jacobian[q] = max((fxx * fzz - fxz * fzx) * hoops[q], 0.05)
                volume += weight[e, q] * jacobian[q]
                first += weight[e, q]
            pressure = bulk * (volume / first - 1.0)
            most = 0.0
            for q in range(4):
                fxx, fxz = grads[q, 0, 0], grads[q, 0, 1]
                fzx, fzz = grads[q, 1, 0], grads[q, 1, 1]
                plane = max(fxx * fzz - fxz * fzx, 0.02)
                hoop = hoops[q]
                squares = fxx**2 + fxz**2 + fzx**2 + fzz**2 + hoop**2
                scale = jacobian[q] ** (-2.0 / 3.0)
                inner = -scale * squares / 3.0 + pressure * jacobian[q]
                w = weight[e, q]
                pxx = w * (scale * fxx + inner * fzz / plane)
                pxz = w * (scale * fxz - inner * fzx / plane)
                pzx = w * (scale * fzx - inner * fxz / plane)
                pzz = w * (scale * fzz + inner * fxx / plane)
                around = 0.0
                if radius > 0:
                    around = w * (scale * hoop + inner / hoop) * sign / ring[e, q]
                for k in range(4):
                    p = quads[e, k]
                    gx, gz = slope[e, q, k, 0], slope[e, q, k, 1]
                    force[p, 0] -= pxx * gx + pxz * gz + around * shape[q, k]
                    force[p, 1] -= pzx * gx + pzz * gz
                if look:
                    half = 0.5 * (fxx**2 + fxz**2 + fzx**2 + fzz**2)
                    root = math.sqrt(max(half**2 - plane**2, 0.0))
                    most += 0.25 * max(math.sqrt(half + root), hoop)
            stretch[e] = most
        if look:
            top = 0.0
            for k in range(near.size):
                e = near[k]
                total = area = 0.0
                for j in range(near.size):
                    o = near[j]
                    if (
                        abs(middle[o, 0] - middle[e, 0]) <= 0.5 * patch + 1e-9
                        and abs(middle[o, 1] - middle[e, 1]) <= 0.5 * patch + 1e-9
                    ):
                        w = weight[o].sum()
                        total += w * stretch[o]
                        area += w
                top = max(top, total / area)
            k = min(int(100 * it / n_steps), 99)
            peaks[k] = max(peaks[k], top)
        for p in range(n):
            if is_aside:
                left = max(1.0 - moved / way, 1e-6)
                ox, oz = _out_of_part(now[p, 0], now[p, 1], depth * left, high, flare * left)
            else:
                ox, oz = _out_of_part(now[p, 0], now[p, 1] - moved, depth, high, flare)
            # As stiff as the time step allows.
            stiff = 0.1 * mass[p] / step**2
            force[p, 0] += stiff * ox
            force[p, 1] += stiff * oz
            for k in range(2):
                if is_held[p] or (k == 0 and is_still_x[p]):
                    continue
                speed[p, k] += step * (force[p, k] / mass[p] - DAMPING * speed[p, k])
                now[p, k] += step * speed[p, k]
    return peaks
