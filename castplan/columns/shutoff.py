"""Where the two halves of a mould meet in every column, and what that holds.

A parting surface is one height a column. Beside the part it is the clay's; in
a hole through the part it is the plug's; over the part it may run anywhere in
the solid: then all silicone under the part is the lower half's, all above it
the upper half's, and both leave. So a bowl is shut off at its floor and not at
its rim, between two slats the surface steps from edge to edge, and the void
between two surfaces of a column goes to the half whose mouth is nearer. Only
where a level or tilted bed of clay would really lie over a flank of the part,
the surface is the clay's there too.

With the surface given, what either half holds is read off it: everything under
it counts as solid for the upper half, everything over it for the lower one,
and what is then void with part beyond it cannot leave.
"""

from dataclasses import dataclass, replace

import numpy as np
from scipy import ndimage
from scipy.spatial import cKDTree

from castplan.columns import levels
from castplan.columns.field import ColumnField
from castplan.columns.gaps import Gaps, find_gaps, march_from, touch_free
from castplan.columns.raster import compiled

# Clay that would lie thinner than this over the part is none: a bed laid by
# hand is no truer, and a flat at its level must not flood (assumed).
LEAK_MM = 0.05
# Inside the part the surface keeps off its faces by a quarter of the solid, at
# most this: solids that share a face cannot be cut apart cleanly.
INSIDE_SHARE, INSIDE_MM = 0.25, 0.5
# Steps of the surface stand this many columns off a wall, where it is that thick.
REACHES = (2, 1, 0)
FAR_MM = 1e6
UPPER, LOWER, SEALED = 0, 1, -1


@dataclass(frozen=True, kw_only=True, eq=False)
class Held:
    """Silicone that part keeps from leaving, piece by piece, and the half it belongs to.

    `gaps` lists voids closed all round too; their half is `SEALED`. Pieces
    ascend by column, then height.
    """

    gaps: Gaps
    half: np.ndarray  # (g,) int8

    def piece_at(self, column, z_mm, *, within_mm: float) -> np.ndarray:
        """The piece that holds a height of a column, or -1: (k,) int64."""
        column, z_mm = np.asarray(column), np.asarray(z_mm, dtype=float)
        gaps = self.gaps
        first, last = (np.searchsorted(gaps.column, column, side) for side in ("left", "right"))
        found = np.full(column.shape, -1)
        for k in range(int((last - first).max(initial=0))):
            at = np.minimum(first + k, gaps.column.size - 1)
            is_here = (first + k < last) & (gaps.bottom_mm[at] - within_mm <= z_mm)
            is_here &= z_mm <= gaps.top_mm[at] + within_mm
            found[is_here & (found < 0)] = at[is_here & (found < 0)]
        return found


def fill_holes(field: ColumnField, base_mm, plugs) -> np.ndarray:
    """Heights with those of the plugs in the holes through the part, (n,) [mm].

    Parameters
    ----------
    field : ColumnField
    base_mm : (n,) float64
        The surface over every column, holes not yet minded.
    plugs : list of (points_mm (k, 2), heights_mm (k,), level_mm or None)
        Rim of each hole; a plug without a level is spanned by its rim.
    """
    base = np.array(base_mm, dtype=float)
    if not plugs:
        return base
    is_part = np.diff(field.first) > 0
    is_hole = ~is_part & ~levels.reach_outside(is_part, field.n_x, field.n_y)
    column = np.flatnonzero(is_hole)
    if not column.size:
        return base
    points = field.centre_mm(column)
    of_station = np.repeat(np.arange(len(plugs)), [len(p[0]) for p in plugs])
    _, nearest = cKDTree(np.concatenate([p[0] for p in plugs])).query(points)
    of_column = of_station[nearest]
    for k, (rim_mm, heights_mm, level_mm) in enumerate(plugs):
        inside = of_column == k
        if level_mm is not None:
            base[column[inside]] = level_mm
        elif inside.any():
            base[column[inside]] = _spanned(points[inside], rim_mm, heights_mm)
    return base


def _spanned(points_mm, rim_mm, heights_mm):
    """Heights spanned by a rim: means of its stations weighed by nearness, (k,)."""
    out = np.empty(len(points_mm))
    for start in range(0, len(points_mm), 4096):
        part = points_mm[start : start + 4096]
        away2 = ((part[:, None, :] - rim_mm[None, :, :]) ** 2).sum(axis=2)
        weight = 1.0 / np.maximum(away2, 1e-6) ** 1.5
        out[start : start + 4096] = weight @ heights_mm / weight.sum(axis=1)
    return out


def surface_heights(field: ColumnField, gaps: Gaps, base_mm, *, spreads: bool) -> np.ndarray:
    """Height of the parting in every column, (n,) float64 [mm].

    Parameters
    ----------
    field, gaps : ColumnField, Gaps
        Along the draw. Sealed gaps count as solid: no silicone reaches them.
    base_mm : (n,) float64
        Clay beside the part, plugs in its holes, and over the part the height
        that is wished for.
    spreads : bool
        Clay lies up against the part on a level of its own (level, tilted)
        and covers what is lower; else it is laid to a line on the part.
    """
    base = np.asarray(base_mm, dtype=float)
    is_part = np.diff(field.first) > 0
    low, high = _chosen_solid(field, gaps, base)
    is_clay = np.zeros(base.size, dtype=bool)
    if spreads:
        seeds = levels.reach_outside(is_part, field.n_x, field.n_y)
        for over in (base - field.highest_mm, field.lowest_mm - base):
            is_clay |= _spread(over, is_part, seeds, field.n_x, LEAK_MM)
    out = base.copy()
    is_free = is_part & ~is_clay
    shape = (field.n_y, field.n_x)
    ends = (np.where(is_free, low, -np.inf), np.where(is_free, high, np.inf))
    is_left = is_free.copy()
    for reach in REACHES:
        size = 2 * reach + 1
        low_here = ndimage.maximum_filter(ends[0].reshape(shape), size=size).ravel()
        high_here = ndimage.minimum_filter(ends[1].reshape(shape), size=size).ravel()
        fits = is_left & (low_here <= high_here)
        room = high_here[fits] - low_here[fits]
        margin = np.minimum(INSIDE_SHARE * room, INSIDE_MM)
        out[fits] = np.clip(base[fits], low_here[fits] + margin, high_here[fits] - margin)
        is_left &= ~fits
    return out


def _chosen_solid(field, gaps, base):
    """Ends of the solid that the parting runs in, each (n,): the whole part where no void is.

    Where a column has voids, those above the solid chosen go to the upper
    half and those below to the lower: least volume times way to a mouth.
    """
    low, high = field.lowest_mm, field.highest_mm
    is_open = (gaps.n_mouths > 0)[gaps.pocket] if gaps.column.size else np.zeros(0, bool)
    if not is_open.any():
        return low, high
    contact, column, z0, z1, where = touch_free(field, gaps)
    # Beside the part void belongs to the half on whose side of the clay it lies.
    beside = base[column]
    is_empty = where == 2
    to_upper = np.where(is_empty, z1 > beside, where == 1)
    to_lower = np.where(is_empty, z0 < beside, where == 0)
    ways = [march_from(field, gaps, np.unique(contact[to])) for to in (to_upper, to_lower)]
    low, high = low.copy(), high.copy()
    _choose(
        field.first,
        field.bottom_mm,
        field.top_mm,
        is_open,
        np.minimum(ways[0], FAR_MM),
        np.minimum(ways[1], FAR_MM),
        base,
        low,
        high,
    )
    return low, high


@compiled
def _choose(first, bottom, top, is_open, to_upper, to_lower, base, low, high):
    g = 0
    for c in range(first.size - 1):
        a, b = first[c], first[c + 1]
        if b - a < 2:
            continue
        n = b - a - 1
        best = np.inf
        begin = a
        # Solids between two open voids; sealed ones are solid.
        for k in range(n + 1):
            if k < n and not is_open[g + k]:
                continue
            end = a + k
            cost = 0.0
            for j in range(n):
                if is_open[g + j]:
                    length = bottom[a + j + 1] - top[a + j]
                    cost += length * (to_lower[g + j] if a + j < begin else to_upper[g + j])
            # Of equals the one nearest to the height wished for.
            off = max(bottom[begin] - base[c], base[c] - top[end], 0.0)
            cost += 1e-9 * off
            if cost < best:
                best = cost
                low[c] = bottom[begin]
                high[c] = top[end]
            begin = end + 1
        g += n


@compiled
def _spread(over, is_part, is_seed, n_x, least):
    """Columns of the part that clay from the seeds covers deeper than `least`, (n,) bool."""
    is_clay = np.zeros(over.size, np.bool_)
    stack = np.empty(over.size, np.int64)
    n = 0
    for c in range(over.size):
        if is_seed[c]:
            stack[n] = c
            n += 1
    while n > 0:
        n -= 1
        c = stack[n]
        for step in (-1, 1, -n_x, n_x):
            other = c + step
            if other < 0 or other >= over.size:
                continue
            if is_part[other] and not is_clay[other] and not is_seed[other] and over[other] > least:
                is_clay[other] = True
                stack[n] = other
                n += 1
    return is_clay


def held_by_surface(field: ColumnField, gaps: Gaps, heights_mm) -> Held:
    """What each half holds behind the part with the surface as it is.

    Parameters
    ----------
    field, gaps : ColumnField, Gaps
        Along the draw.
    heights_mm : (n,) float64
        The parting surface in every column.

    Returns
    -------
    Held
    """
    is_sealed = (gaps.n_mouths == 0)[gaps.pocket] if gaps.column.size else np.zeros(0, bool)
    sealed = np.flatnonzero(is_sealed)
    first, bottom, top = _without(field.first, field.bottom_mm, field.top_mm, is_sealed)
    heights = np.ascontiguousarray(heights_mm, dtype=float)
    found = [gaps_of(gaps, sealed)]
    halves = [np.full(sealed.size, SEALED, dtype=np.int8)]
    for half in (UPPER, LOWER):
        if not _holds(first, bottom, top, heights, half == UPPER):
            continue
        ends = _slabs(first, bottom, top, heights, half == UPPER, FAR_MM)
        slab = replace(field, first=ends[0], bottom_mm=ends[1], top_mm=ends[2])
        pieces = _reached(find_gaps(slab), gaps, field.pitch_mm)
        found.append(pieces)
        halves.append(np.full(pieces.column.size, half, dtype=np.int8))
    return _together(found, np.concatenate(halves))


@compiled
def _without(first, bottom, top, is_sealed):
    """Intervals with sealed voids filled."""
    out_first = np.zeros_like(first)
    out_bottom = np.empty_like(bottom)
    out_top = np.empty_like(top)
    n = g = 0
    for c in range(first.size - 1):
        for k in range(first[c], first[c + 1]):
            if k > first[c]:
                if is_sealed[g]:
                    out_top[n - 1] = top[k]
                    g += 1
                    continue
                g += 1
            out_bottom[n] = bottom[k]
            out_top[n] = top[k]
            n += 1
        out_first[c + 1] = n
    return out_first, out_bottom[:n].copy(), out_top[:n].copy()


@compiled
def _holds(first, bottom, top, heights, is_upper):
    for c in range(first.size - 1):
        a, b = first[c], first[c + 1]
        if b == a:
            continue
        if b - a > 1 or (heights[c] < bottom[a] if is_upper else heights[c] > top[b - 1]):
            return True
    return False


@compiled
def _slabs(first, bottom, top, heights, is_upper, far):
    """Intervals with everything under the surface solid, or everything over it."""
    n_columns = first.size - 1
    out_first = np.zeros_like(first)
    out_bottom = np.empty(bottom.size + n_columns)
    out_top = np.empty(bottom.size + n_columns)
    n = 0
    for c in range(n_columns):
        a, b = first[c], first[c + 1]
        z = heights[c]
        if is_upper:
            begun = n
            out_bottom[n], out_top[n] = -far, z
            n += 1
            for k in range(a, b):
                if bottom[k] <= out_top[begun]:
                    out_top[begun] = max(out_top[begun], top[k])
                else:
                    out_bottom[n], out_top[n] = bottom[k], top[k]
                    n += 1
        else:
            low = z
            last = b - 1
            while last >= a and top[last] >= low:
                low = min(low, bottom[last])
                last -= 1
            for k in range(a, last + 1):
                out_bottom[n], out_top[n] = bottom[k], top[k]
                n += 1
            out_bottom[n], out_top[n] = low, far
            n += 1
        out_first[c + 1] = n
    return out_first, out_bottom[:n].copy(), out_top[:n].copy()


def gaps_of(gaps: Gaps, index) -> Gaps:
    """Some of the gaps, their pockets numbered anew."""
    kept, pocket = np.unique(gaps.pocket[index], return_inverse=True)
    return Gaps(
        column=gaps.column[index],
        bottom_mm=gaps.bottom_mm[index],
        top_mm=gaps.top_mm[index],
        pocket=pocket.reshape(-1).astype(np.int64),
        depth_mm=gaps.depth_mm[index],
        n_mouths=gaps.n_mouths[kept],
    )


def _reached(pieces, gaps, pitch_mm):
    """Pieces that the surface cuts off from their half count as open all the same.

    Silicone gets there before the clay is taken out; the way to the open is
    that of the void without the surface.
    """
    lost = (pieces.n_mouths == 0)[pieces.pocket]
    if not lost.any():
        return pieces
    depth = pieces.depth_mm.copy()
    whole = Held(gaps=gaps, half=np.zeros(gaps.column.size, dtype=np.int8))
    middle = 0.5 * (pieces.bottom_mm + pieces.top_mm)[lost]
    at = whole.piece_at(pieces.column[lost], middle, within_mm=0.0)
    depth[lost] = np.where(at >= 0, gaps.depth_mm[at] if gaps.column.size else 0.0, pitch_mm)
    depth[~np.isfinite(depth)] = pitch_mm
    return replace(pieces, depth_mm=depth, n_mouths=np.maximum(pieces.n_mouths, 1))


def _together(found, half):
    start = np.cumsum([0] + [g.n_pockets for g in found[:-1]])
    pocket = np.concatenate([g.pocket + s for g, s in zip(found, start, strict=True)])
    column, bottom, top, depth = (
        np.concatenate([getattr(g, name) for g in found])
        for name in ("column", "bottom_mm", "top_mm", "depth_mm")
    )
    order = np.lexsort((bottom, column))
    gaps = Gaps(
        column=column[order],
        bottom_mm=bottom[order],
        top_mm=top[order],
        pocket=pocket[order].astype(np.int64),
        depth_mm=depth[order],
        n_mouths=np.concatenate([g.n_mouths for g in found]).astype(np.int64),
    )
    return Held(gaps=gaps, half=half[order])
