"""Where the two halves of a mould meet in every column.

A parting surface is one height a column. Beside the part it is the clay's; in
a hole through the part it is the plug's; over the part it may run anywhere in
the solid: then all silicone under the part is the lower half's, all above it
the upper half's, and both leave. So a bowl is shut off at its floor and not at
its rim, between two slats the surface steps from edge to edge, and the void
between two surfaces of a column goes to the half whose mouth is nearer. Only
where a level or tilted bed of clay would really lie over a flank of the part,
the surface is the clay's there too.
"""

import numpy as np
from scipy import ndimage
from scipy.spatial import cKDTree

from castplan.columns import levels
from castplan.columns.field import ColumnField
from castplan.columns.gaps import Gaps, march_from, touch_free
from castplan.columns.held import FAR_MM, LOWER, UPPER
from castplan.columns.levels import LEAK_MM
from castplan.columns.raster import compiled

# Inside the part the surface keeps off its faces by a quarter of the solid, at
# most this: solids that share a face cannot be cut apart cleanly.
INSIDE_SHARE, INSIDE_MM = 0.25, 0.5
# Steps of the surface stand this many columns off a wall, where it is that thick.
REACHES = (2, 1, 0)
# And a plug's height goes on this many columns into the wall of its hole.
BESIDE = 4
# Stations of a hole's rim that span its plug at a column: the nearest, and others for all.
NEAR_STATIONS, FAR_STATIONS = 12, 48

# A void of a pocket goes to the half that is farther from the pocket as a whole
# only where it is nearer by this share and these columns.
LEAN, LEAN_COLUMNS, EVEN = 0.03, 1.0, 1e-3


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
    # On into the wall: a step at the hole's very edge would leave a blade of silicone there.
    shape = (field.n_y, field.n_x)
    away, (row, i) = ndimage.distance_transform_edt(~is_hole.reshape(shape), return_indices=True)
    beside = is_part & (away.ravel() <= BESIDE)
    base[beside] = base[(row * field.n_x + i).ravel()[beside]]
    return base


def _spanned(points_mm, rim_mm, heights_mm):
    """Heights spanned by a rim: means of its stations weighed by nearness, (k,).

    All of the nearest stations have their say, of the others one for many.
    """
    every = -(-len(rim_mm) // FAR_STATIONS)
    far_mm, far_heights = rim_mm[::every], heights_mm[::every]
    near_mm, near = cKDTree(rim_mm).query(points_mm, k=min(NEAR_STATIONS, len(rim_mm)))
    weight = _nearness(near_mm**2)
    total, out = weight.sum(axis=1), (weight * heights_mm[near]).sum(axis=1)
    for start in range(0, len(points_mm), 16384):
        part = points_mm[start : start + 16384]
        weight = every * _nearness(
            (part[:, :1] - far_mm[:, 0]) ** 2 + (part[:, 1:] - far_mm[:, 1]) ** 2
        )
        total[start : start + 16384] += weight.sum(axis=1)
        out[start : start + 16384] += weight @ far_heights
    return out / total


def _nearness(away_mm2):
    away = np.maximum(away_mm2, 1e-6)
    return 1.0 / (away * np.sqrt(away))


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
    ways = [
        np.minimum(march_from(field, gaps, np.unique(contact[to])), FAR_MM)
        for to in (to_upper, to_lower)
    ]
    _lean(ways, gaps, field.pitch_mm)
    low, high = low.copy(), high.copy()
    _choose(
        field.first,
        field.bottom_mm,
        field.top_mm,
        is_open,
        *ways,
        base,
        low,
        high,
    )
    return low, high


def _lean(ways, gaps, pitch_mm):
    """Make the ways to the half that is farther from a pocket as a whole a little longer.

    A mouth beside the clay's edge opens to both halves: there both ways are as
    long, and the pocket must not fall into shreds.
    """
    length = gaps.top_mm - gaps.bottom_mm
    whole = [np.bincount(gaps.pocket, weights=length * way) for way in ways]
    is_upper = (whole[UPPER] <= (1 + EVEN) * whole[LOWER])[gaps.pocket]
    for way, is_far in ((ways[UPPER], ~is_upper), (ways[LOWER], is_upper)):
        way[is_far] = way[is_far] * (1 + LEAN) + LEAN_COLUMNS * pitch_mm


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
