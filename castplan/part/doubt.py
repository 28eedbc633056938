"""How much of a part its holes leave in doubt: where the winding number is unsure."""

import numpy as np

from castplan.columns.winding import winding_numbers
from castplan.part import rims

# Less than this share of the part is not worth a closer look.
_SMALL_FRACTION = 0.01
# Points asked in all, and holes looked at one by one, largest first.
_POINTS = 20_000
_LEAST_POINTS = 64
_MOST_HOLES = 300
# The doubt reaches 0.58 of a round hole's radius to either side.
_REACH = 0.75
# Inside is above a half: between these it may be either (see `rims.doubt_mm3`).
_LOW, _HIGH = 0.25, 0.75


def doubt_mm3(surface, loops, holes: rims.Holes, *, volume_mm3: float) -> float:
    """Ask the winding number how much the holes leave open, either way [mm3].

    A hole alone in a wall leaves open what `rims.doubt_mm3` says; one that
    lies inside another body, or against one, leaves open less or nothing. Of
    what may be missing and what may be too much the larger counts.

    Parameters
    ----------
    surface : (vertices_mm, faces)
        Normals point out.
    loops : list of (k,) int
        The rims.
    holes : rims.Holes
        Their sizes.
    volume_mm3 : float
        Of the part.
    """
    vertices_mm, faces = surface
    alone_mm3 = rims.doubt_mm3(holes.area_mm2)
    total_mm3 = float(alone_mm3.sum())
    if total_mm3 <= _SMALL_FRACTION * volume_mm3:
        return total_mm3
    order = np.argsort(-alone_mm3, kind="stable")[:_MOST_HOLES]
    order = order[alone_mm3[order] > 0]
    looked_mm3 = float(alone_mm3[order].sum())
    low, high = _boxes(vertices_mm, loops, holes.area_mm2, order)
    count = (_POINTS * alone_mm3[order] / looked_mm3).astype(np.int64)
    count = np.maximum(count, _LEAST_POINTS)
    box = np.repeat(np.arange(len(order)), count)
    points = low[box] + _spread(len(box)) * (high - low)[box]
    winding = winding_numbers(vertices_mm, faces, points)
    # What lies in the surroundings of several holes counts once.
    each_mm3 = ((high - low).prod(axis=1) / count)[box]
    sides_mm3 = [
        _sum_once(points[side], each_mm3[side], low, high)
        for side in ((winding > _LOW) & (winding <= 0.5), (winding > 0.5) & (winding < _HIGH))
    ]
    return min(max(sides_mm3), looked_mm3) + total_mm3 - looked_mm3


def _boxes(vertices_mm, loops, area_mm2, order):
    """Bounds of the surroundings of some holes: low and high, (k, 3) each."""
    reach = _REACH * np.sqrt(area_mm2[order] / np.pi)[:, None]
    low = np.array([vertices_mm[loops[k]].min(axis=0) for k in order]) - reach
    high = np.array([vertices_mm[loops[k]].max(axis=0) for k in order]) + reach
    return low, high


def _spread(n):
    """Points that fill the unit cube evenly, (n, 3): an additive recurrence.

    Its steps are the powers of the inverse of the real root of x^4 = x + 1, the
    golden ratio's kin in three dimensions (Roberts 2018).
    """
    step = 1.2207440846057596 ** -np.arange(1.0, 4.0)
    return (0.5 + np.arange(1, n + 1)[:, None] * step) % 1.0


def _sum_once(points, each_mm3, low, high):
    """Volume that points stand for, shared among the boxes that each lies in."""
    count = np.zeros(len(points), dtype=np.int64)
    for one, other in zip(low, high, strict=True):
        count += ((points >= one) & (points <= other)).all(axis=1)
    return float((each_mm3 / np.maximum(count, 1)).sum())
