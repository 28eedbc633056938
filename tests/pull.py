"""Pull the finished halves of a mould apart, as solids, and say what does not come.

The judge of plans: it sees three closed meshes, the part and the two halves, in
the draw frame (+z is the way the upper half leaves), and nothing of how they
were planned. No column, stage or sampling of castplan is used here.

Vertical rays on a square lattice, askew to the frame, cross the facets of each
mesh. A ray meets a facet when it passes its three edges on the same side; an
edge's side is worked out from its lower vertex to its higher one, whichever
facet asks, so neighbours agree to the last bit and a closed surface is entered
as often as it is left. Along a ray the crossings are exact, so a wall along the
draw is no stair and leaves no sliver of its own: a ray lies on one side of it.
What remains is the lattice across the draw. The judge looks twice, at two
pitches and two turns of the lattice; the difference is its sampling error.

What counts as trapped:

- silicone of the upper half under part, or under the lower half, in its ray;
- silicone of the lower half over part, or over the upper half, in its ray.

A body in the way that is thinner than `FILM_MM` along the ray is none: cuts of
solids leave films of rounding between faces that touch. Trapped volume is told
twice: all of it, and what is left after its footprint is opened by a square of
2 x 2 columns (`wide`). Along a wall with next to no draft a facetted body holds
true slivers that are narrower than the lattice and that no mould feels; they are
in the first number and not in the second.

`locked_mm3` is the void between two surfaces of the part in one ray. Whichever
half it belongs to, it is trapped, and a split that goes to the part's underside
or to its upper side wherever there is part traps nothing else. So it is the
least that any pair of halves traps along this draw, and `trapped - locked` is
what another parting surface would have let go.
"""

import math
from dataclasses import dataclass

import numpy as np
import trimesh
from scipy import ndimage

# Rounding of coordinates and of cuts is far under it, a wall that could be cast far over.
FILM_MM = 0.01
# Turns of the lattice, degrees: no wall of a body made by hand runs along either.
TURNS_DEG = (27.3, 38.1)
COARSER = 1.37  # of the second look's pitch to the first's
RAYS_ACROSS = 320  # along the longest side of the box, by default
CHUNK = 2_000_000  # places looked at together
# Silicone that weighs less than this is a crumb that the mould does not miss.
CRUMB_MM3 = 1.0


@dataclass(frozen=True)
class Place:
    """One connected footprint of trapped silicone of a half."""

    half: str
    volume_mm3: float
    centre_mm: tuple[float, float, float]
    low_mm: float  # lowest and highest trapped silicone
    high_mm: float
    under_mm2: float  # its footprint

    def __str__(self):
        x, y, z = self.centre_mm
        return (
            f"{self.half} {self.volume_mm3 / 1000:.2f} ml at ({x:.0f}, {y:.0f}, {z:.0f}), "
            f"z {self.low_mm:.1f} to {self.high_mm:.1f}, {self.under_mm2:.0f} mm2"
        )


@dataclass(frozen=True)
class Pull:
    """What happens when the halves are pulled apart. Volumes in mm3."""

    upper_trapped_mm3: float
    lower_trapped_mm3: float
    upper_wide_mm3: float  # of it, wider than the slivers along a wall
    lower_wide_mm3: float
    by_other_half_mm3: float  # trapped by the other half and not by the part
    locked_mm3: float
    sampling_mm3: float  # of the trapped volume: difference of two looks
    upper_mm3: float  # by the divergence theorem
    lower_mm3: float
    part_mm3: float  # closed voids inside it filled
    overlap_mm3: float  # where two of the three bodies are in one place
    open_mm3: float  # box without part and halves: gate and vents, or silicone that is missing
    box_mm3: float
    n_bodies: tuple[int, int]  # of upper and lower, crumbs left out
    is_watertight: tuple[bool, bool]
    places: tuple[Place, ...]  # largest first

    @property
    def trapped_mm3(self):
        """Trapped silicone of both halves."""
        return self.upper_trapped_mm3 + self.lower_trapped_mm3

    @property
    def wide_mm3(self):
        """Trapped silicone of both halves, slivers left out."""
        return self.upper_wide_mm3 + self.lower_wide_mm3

    @property
    def excess_mm3(self):
        """What another parting surface along this draw would not have trapped."""
        return self.trapped_mm3 - self.locked_mm3


def pull_apart(part, upper, lower, *, pitch_mm=None):
    """Judge a mould by its solids.

    Parameters
    ----------
    part, upper, lower : tuple of (n, 3) and (m, 3) array_like
        Vertices in mm, draw frame, and faces, outward.
    pitch_mm : float, optional
        Of the finer look; the box's longest side by `RAYS_ACROSS` if left out.

    Returns
    -------
    Pull
    """
    meshes = [
        trimesh.Trimesh(np.asarray(points, dtype=float), np.asarray(faces), process=False)
        for points, faces in (part, upper, lower)
    ]
    solid = _filled(meshes[0])
    both = np.concatenate([mesh.vertices for mesh in meshes[1:]])
    low, high = both.min(axis=0), both.max(axis=0)
    if pitch_mm is None:
        pitch_mm = float((high - low)[:2].max()) / RAYS_ACROSS
    looks = [
        _Look((solid, *meshes[1:]), low, high, pitch_mm=pitch, turn_deg=turn)
        for pitch, turn in zip((pitch_mm, COARSER * pitch_mm), TURNS_DEG, strict=True)
    ]
    fine, coarse = looks
    outside_mm3 = [float(mesh.volume) for mesh in meshes[1:]]
    return Pull(
        upper_trapped_mm3=fine.trapped_mm3["upper"],
        lower_trapped_mm3=fine.trapped_mm3["lower"],
        upper_wide_mm3=fine.wide_mm3["upper"],
        lower_wide_mm3=fine.wide_mm3["lower"],
        by_other_half_mm3=fine.by_other_mm3,
        locked_mm3=fine.locked_mm3,
        sampling_mm3=abs(sum(fine.trapped_mm3.values()) - sum(coarse.trapped_mm3.values())),
        upper_mm3=outside_mm3[0],
        lower_mm3=outside_mm3[1],
        part_mm3=float(solid.volume),
        overlap_mm3=fine.overlap_mm3,
        open_mm3=fine.open_mm3,
        box_mm3=fine.box_mm3,
        n_bodies=tuple(_count_bodies(mesh) for mesh in meshes[1:]),
        is_watertight=tuple(bool(mesh.is_watertight) for mesh in meshes[1:]),
        places=fine.places,
    )


def locked_mm3(points, faces, *, pitch_mm):
    """Void between two surfaces of a closed body in one ray along z, mm3.

    Parameters
    ----------
    points : (n, 3) array
        In mm.
    faces : (m, 3) int array
    pitch_mm : float
    """
    points = np.array(points, dtype=float)
    places = _Lattice(points.min(axis=0), points.max(axis=0), pitch_mm, TURNS_DEG[0])
    ray, z, step = crossings(places.count(points), faces, places.shape)
    n_rays = places.shape[0] * places.shape[1]
    first, last = np.full(n_rays, np.inf), np.full(n_rays, -np.inf)
    np.minimum.at(first, ray, z)
    np.maximum.at(last, ray, z)
    met = np.isfinite(first)
    return pitch_mm**2 * float((last - first)[met].sum() + (z * step).sum())


def _filled(mesh):
    """The part without the shells of voids that it closes round: no silicone comes there."""
    shells = mesh.split(only_watertight=False)
    outer = [shell for shell in shells if shell.volume > 0]
    return trimesh.util.concatenate(outer) if 0 < len(outer) < len(shells) else mesh


def _count_bodies(mesh):
    return sum(shell.volume >= CRUMB_MM3 for shell in mesh.split(only_watertight=False))


class _Lattice:
    """A square lattice of rays over a box, turned against its sides."""

    def __init__(self, low, high, pitch_mm, turn_deg):
        c, s = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
        self.pitch_mm = pitch_mm
        self.turn = np.array([[c, s], [-s, c]])
        corners = np.array([[x, y] for x in (low[0], high[0]) for y in (low[1], high[1])])
        span = corners @ self.turn.T
        # An odd share of a cell, so that no ray passes through a vertex on a round number.
        self.start = span.min(axis=0) - np.array([0.382, 0.146]) * pitch_mm
        self.shape = tuple(int(n) + 2 for n in np.ceil(np.ptp(span, axis=0) / pitch_mm))

    def count(self, points):
        """Points with x and y in steps of the lattice."""
        points = np.array(points, dtype=float)
        points[:, :2] = (points[:, :2] @ self.turn.T - self.start) / self.pitch_mm
        return points

    def place(self, ray):
        """Where rays are, (n, 2) in mm."""
        at = np.stack(np.divmod(ray, self.shape[1]), axis=1)
        return (at * self.pitch_mm + self.start) @ self.turn


class _Look:
    """All rays of one lattice through the part (0), the upper half (1) and the lower (2)."""

    def __init__(self, meshes, low, high, *, pitch_mm, turn_deg):
        self.cell_mm2 = pitch_mm**2
        self.lattice = _Lattice(low, high, pitch_mm, turn_deg)
        self.shape = self.lattice.shape
        self.height_mm = float(high[2] - low[2])
        self.meshes = meshes
        self._measure(*self._crossings())

    def _crossings(self):
        """Crossings of all bodies, along each ray upward: ray, height, +1 in or -1 out, body."""
        found = [
            crossings(self.lattice.count(mesh.vertices), np.asarray(mesh.faces), self.shape)
            for mesh in self.meshes
        ]
        ray, z, step = (np.concatenate([one[k] for one in found]) for k in range(3))
        body = np.repeat(np.arange(len(found)), [len(one[0]) for one in found])
        # Out before in where two bodies touch.
        order = np.lexsort((step, z, ray))
        return ray[order], z[order], step[order], body[order]

    def _measure(self, ray, z, step, body):
        n = len(ray)
        inside = np.zeros((3, n), dtype=bool)  # in the stretch from each crossing to the next
        first = np.r_[True, ray[1:] != ray[:-1]] if n else np.zeros(0, dtype=bool)
        for k in range(3):
            turns = np.cumsum(np.where(body == k, step, 0))
            before = np.maximum.accumulate(np.where(first, np.arange(n), 0))
            turns = turns - (turns - np.where(body == k, step, 0))[before]
            inside[k] = turns > 0
        last = np.r_[ray[1:] != ray[:-1], True] if n else first
        long = np.where(last, 0.0, np.r_[z[1:] - z[:-1], 0.0])
        part, upper, lower = inside
        blocks = [_thick(inside[k], long, ray) for k in range(3)]
        over = [_later(block, ray) for block in blocks]
        under = [_later(block[::-1], ray[::-1])[::-1] for block in blocks]
        held = {"upper": upper & (over[0] | over[2]), "lower": lower & (under[0] | under[1])}
        only_other = (upper & over[2] & ~over[0]) | (lower & under[1] & ~under[0])
        total = lambda mask: float(long[mask].sum()) * self.cell_mm2  # noqa: E731
        self.by_other_mm3 = total(only_other)
        self.locked_mm3 = total(~part & over[0] & under[0])
        self.overlap_mm3 = total(inside.sum(axis=0) > 1)
        n_met = int(first.sum())
        self.box_mm3 = n_met * self.cell_mm2 * self.height_mm
        self.open_mm3 = self.box_mm3 - total(inside.any(axis=0))
        self.trapped_mm3, self.wide_mm3, places = {}, {}, []
        for half, mask in held.items():
            self.trapped_mm3[half] = total(mask)
            self.wide_mm3[half], found = self._places(half, ray[mask], z[mask], long[mask])
            places += found
        self.places = tuple(sorted(places, key=lambda place: -place.volume_mm3))

    def _places(self, half, ray, z, long):
        """Volume of the opened footprint, and its connected pieces."""
        n_rays = self.shape[0] * self.shape[1]
        depth = np.bincount(ray, long, minlength=n_rays).reshape(self.shape)
        opened = ndimage.binary_opening(depth > FILM_MM, np.ones((2, 2), dtype=bool))
        label, n = ndimage.label(opened, np.ones((3, 3), dtype=bool))
        found = []
        of = label.ravel()[ray]
        for k in range(1, n + 1):
            here = of == k
            weight, middle = long[here], z[here] + long[here] / 2
            volume_mm3 = float(weight.sum()) * self.cell_mm2
            at = self.lattice.place(ray[here])
            centre = (*(at * weight[:, None]).sum(axis=0), (middle * weight).sum())
            found.append(
                Place(
                    half=half,
                    volume_mm3=volume_mm3,
                    centre_mm=tuple(float(v / weight.sum()) for v in centre),
                    low_mm=float(z[here].min()),
                    high_mm=float((z[here] + weight).max()),
                    under_mm2=int((label == k).sum()) * self.cell_mm2,
                )
            )
        return float(depth[opened].sum()) * self.cell_mm2, found


def _thick(inside, long, ray):
    """Where a body is, its films left out."""
    begins = inside & np.r_[True, ~inside[:-1] | (ray[1:] != ray[:-1])]
    number = np.cumsum(begins) * inside
    reach = np.bincount(number, long * inside, minlength=int(number.max(initial=0)) + 1)
    return inside & (reach[number] > FILM_MM)


def _later(is_there, ray):
    """Whether anything is there further along the same ray."""
    n = len(ray)
    last_at = np.where(is_there, np.arange(n), -1)
    # The last place of each ray where it is there, carried to all of the ray.
    end = np.full(n, -1)
    if n:
        starts = np.flatnonzero(np.r_[True, ray[1:] != ray[:-1]])
        best = np.maximum.reduceat(last_at, starts)
        end = np.repeat(best, np.diff(np.r_[starts, n]))
    return np.arange(n) < end


def crossings(points, faces, shape):
    """Where rays along z at whole numbers (i, j) cross a closed surface.

    Parameters
    ----------
    points : (n, 3) array
        x and y in steps of the lattice.
    faces : (m, 3) int array
    shape : tuple of int
        Rays i in [0, shape[0]), j in [0, shape[1]); ray number i * shape[1] + j.

    Returns
    -------
    ray, z, step : (k,) arrays
        Step +1 where the surface is entered going up, -1 where it is left.
    """
    corner = points[faces]
    low = np.maximum(np.ceil(corner[:, :, :2].min(axis=1)), 0).astype(np.int64)
    high = np.minimum(np.floor(corner[:, :, :2].max(axis=1)), np.array(shape) - 1).astype(np.int64)
    wide = np.maximum(high - low + 1, 0)
    n_places = wide[:, 0] * wide[:, 1]
    kept = np.flatnonzero(n_places)
    out, begin = [], 0
    until = np.cumsum(n_places[kept])
    while begin < len(kept):
        done = until[begin - 1] if begin else 0
        end = max(int(np.searchsorted(until, done + CHUNK)), begin + 1)
        some = kept[begin:end]
        which = np.repeat(some, n_places[some])
        rank = np.arange(len(which)) - np.repeat(
            np.cumsum(n_places[some]) - n_places[some], n_places[some]
        )
        i = low[which, 0] + rank // wide[which, 1]
        j = low[which, 1] + rank % wide[which, 1]
        out.append(_cross(points, faces[which], i, j, shape[1]))
        begin = end
    if not out:
        return np.zeros(0, dtype=np.int64), np.zeros(0), np.zeros(0, dtype=np.int64)
    return tuple(np.concatenate([one[k] for one in out]) for k in range(3))


def _cross(points, face, i, j, n_j):
    left = []
    for k in range(3):
        a, b = face[:, k], face[:, (k + 1) % 3]
        first, second = np.minimum(a, b), np.maximum(a, b)
        p, q = points[first], points[second]
        side = (q[:, 0] - p[:, 0]) * (j - p[:, 1]) - (q[:, 1] - p[:, 1]) * (i - p[:, 0]) >= 0
        left.append(np.where(a < b, side, ~side))
    is_up, is_down = left[0] & left[1] & left[2], ~(left[0] | left[1] | left[2])
    hit = is_up | is_down
    corner, i, j, is_up = points[face[hit]], i[hit], j[hit], is_up[hit]
    one, two = corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]
    normal = np.cross(one, two)
    steep = normal[:, 2]
    safe = np.where(steep == 0, 1.0, steep)
    off = normal[:, 0] * (i - corner[:, 0, 0]) + normal[:, 1] * (j - corner[:, 0, 1])
    z = corner[:, 0, 2] - np.where(steep == 0, 0.0, off / safe)
    z = np.clip(z, corner[:, :, 2].min(axis=1), corner[:, :, 2].max(axis=1))
    # A facet that looks up is left by a ray that goes up.
    return i * n_j + j, z, np.where(is_up, -1, 1)
