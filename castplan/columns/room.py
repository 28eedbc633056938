"""How wide the free void is in front of a pocket's mouth."""

import numpy as np

from castplan.columns.field import ColumnField
from castplan.columns.gaps import Gaps
from castplan.columns.raster import compiled

N_RAYS = 64  # mouth columns that are looked out of, at most


@compiled
def _look_out(column, z, first, bottom, top, n_x):
    """For each column the shortest look along the lattice: free, shut columns, ends in part."""
    free = np.full(column.size, -1, np.int64)
    shut = np.zeros(column.size, np.int64)
    is_ended = np.zeros(column.size, np.bool_)
    n_columns = first.size - 1
    for m in range(column.size):
        for step in (-1, 1, -n_x, n_x):
            at = column[m]
            n_free = n_shut = 0
            ended = False
            while True:
                i = at % n_x
                if (step == -1 and i == 0) or (step == 1 and i == n_x - 1):
                    break
                at += step
                if at < 0 or at >= n_columns:
                    break
                below = above = False
                for k in range(first[at], first[at + 1]):
                    if bottom[k] <= z[m] <= top[k]:
                        ended = True
                        break
                    below |= top[k] < z[m]
                    above |= bottom[k] > z[m]
                if ended:
                    break
                if below and above:
                    if n_free == 0:  # further into the pocket
                        break
                    n_shut += 1
                else:
                    n_free += 1
            if n_free and (free[m] < 0 or n_free < free[m]):
                free[m], shut[m], is_ended[m] = n_free, n_shut, ended
    return free, shut, is_ended


def find_room(field: ColumnField, gaps: Gaps, members) -> tuple[float, float] | None:
    """Room in front of a pocket's mouth if part stands across it, and what it holds there.

    Looked for level with the rubber, along both rows of the lattice, so up to
    1.4 times too wide.

    Parameters
    ----------
    field : ColumnField
    gaps : Gaps
    members : (m,) int
        Gaps of the pocket.

    Returns
    -------
    tuple of float or None
        Width of the free void, and how far it reaches into gaps on its other
        side, mm: medians. None where most of the mouth looks out of the part.
    """
    mouth = members[gaps.depth_mm[members] <= 0.75 * field.pitch_mm]
    mouth = mouth[:: max(1, mouth.size // N_RAYS)]
    middle = 0.5 * (gaps.bottom_mm[mouth] + gaps.top_mm[mouth])
    free, shut, is_ended = _look_out(
        gaps.column[mouth], middle, field.first, field.bottom_mm, field.top_mm, field.n_x
    )
    seen = free > 0
    if not seen.any() or is_ended[seen].mean() < 0.5:
        return None
    across = seen & is_ended
    return (
        float(np.median(free[across])) * field.pitch_mm,
        float(np.median(shut[across])) * field.pitch_mm,
    )
