"""Lines round an outline: a tilted plane, steps, or the smoothest within the ranges."""

import numpy as np
from scipy import sparse

from castplan.columns.rim import Rim, taut_line

# A bed tilted more than this slumps and floats the part (assumed).
MAX_TILT = np.tan(np.radians(20.0))
LP_STATIONS = 240
PULL = 1e-3  # of the seam's own height against smoothness
N_SWEEPS = 4000
# A line laid by hand wanders this much; it keeps off the ends of its range.
MARGIN_MM = 0.5


def tilted_line(outlines: list[Rim], *, level_mm: float):
    """Plane with least violation of the ranges, then most margin; by linear programming.

    Parameters
    ----------
    outlines : list of Rim
    level_mm : float
        Taken where the program finds no plane.

    Returns
    -------
    plane : (a, b, c), z = a + b x + c y [mm]
    line : list of (k,) float64, one for each outline [mm]
    """
    from scipy.optimize import linprog  # a tenth of a second that few parts need

    every = max(1, sum(len(r.low_mm) for r in outlines) // LP_STATIONS)
    points = np.concatenate([r.points_mm[::every] for r in outlines])
    low = np.concatenate([r.low_mm[::every] for r in outlines])
    high = np.concatenate([r.high_mm[::every] for r in outlines])
    weight = np.concatenate([np.full(len(r.low_mm[::every]), r.spacing_mm) for r in outlines])
    middle = points.mean(axis=0)
    n = len(low)
    # Unknowns: a, b, c, margin, then how far each station lies under its low
    # end and over its high end.
    ones = np.ones((n, 1))
    rows = np.hstack([ones, points - middle])
    slack = sparse.identity(n)
    nothing = sparse.csr_matrix((n, n))
    under = sparse.hstack([np.hstack([-rows, ones]), -slack, nothing])
    over = sparse.hstack([np.hstack([rows, ones]), nothing, -slack])
    reach = float(high.max() - low.min()) + 1.0
    found = linprog(
        np.concatenate([[0, 0, 0, -1e-3 * weight.sum()], weight, weight]),
        A_ub=sparse.vstack([under, over]).tocsr(),
        b_ub=np.concatenate([-low, high]),
        bounds=[(None, None), (-MAX_TILT, MAX_TILT), (-MAX_TILT, MAX_TILT), (0, reach)]
        + [(0, None)] * (2 * n),
        method="highs",
    )
    if found.x is None:
        plane = (level_mm, 0.0, 0.0)
    else:
        a, b, c = (float(v) for v in np.round(found.x[:3], 9))
        plane = (a - b * float(middle[0]) - c * float(middle[1]), b, c)
    return plane, [plane[0] + r.points_mm @ plane[1:] for r in outlines]


def stepped_line(ring: Rim):
    """Fewest arcs whose ranges share a height, each at the middle of it: (k,) mm."""
    n = len(ring.low_mm)
    low, high = _opened(ring)
    best = None
    # Where to begin is free on a closed ring; a handful of starts is enough.
    for start in range(0, n, max(1, n // 16)):
        order = (start + np.arange(n)) % n
        line = np.empty(n)
        begun, lo, hi, n_arcs = 0, -np.inf, np.inf, 0
        for k in range(n + 1):
            if k < n:
                new_lo, new_hi = max(lo, low[order[k]]), min(hi, high[order[k]])
                if new_lo <= new_hi:
                    lo, hi = new_lo, new_hi
                    continue
            line[order[begun:k]] = 0.5 * (lo + hi)
            n_arcs += 1
            if k < n:
                begun, lo, hi = k, low[order[k]], high[order[k]]
        if best is None or n_arcs < best[0]:
            best = (n_arcs, line)
    return best[1]


def _opened(ring):
    """Ranges with low <= high: where they cross, both at the middle."""
    middle = 0.5 * (ring.low_mm + ring.high_mm)
    return np.minimum(ring.low_mm, middle), np.maximum(ring.high_mm, middle)


def smoothest_line(ring: Rim, *, level_mm: float, wish_mm=None):
    """Smoothest line within the ranges of a ring, drawn towards a level or a wish.

    Parameters
    ----------
    ring : Rim
    level_mm : float
    wish_mm : (k,) float64, optional
        Wanted heights, nan where there is no wish.

    Returns
    -------
    (k,) float64 [mm]
    """
    low, high = _opened(ring)
    margin = np.minimum(0.25 * (high - low), MARGIN_MM)
    low, high = low + margin, high - margin
    target = np.clip(level_mm, low, high)
    if wish_mm is not None:
        target = np.where(np.isnan(wish_mm), target, np.clip(wish_mm, low, high))
    return taut_line(low, high, target, PULL, N_SWEEPS)
