"""How much many directions trap, each on a field of its own, on all cores."""

from concurrent.futures import ThreadPoolExecutor

import numpy as np

from castplan.columns import levels
from castplan.columns.field import ColumnField
from castplan.columns.threads import n_threads
from castplan.columns.views import sample_view

CHUNK = 6  # directions handed to a thread at a time: handing over has a price too
N_HEIGHTS = 65  # levels at which a split is tried while searching
_NO_FACES = np.empty((0, 3), dtype=np.int32)


def score_field(field: ColumnField, *, sealed_mm3: float = 0.0) -> tuple[float, float]:
    """Trapped by the best level split, and of it between surfaces: mm3, mm3.

    Parameters
    ----------
    field : ColumnField
    sealed_mm3 : float
        Voids that no silicone reaches; the same along every direction.
    """
    void, extra = levels.void_and_least_trapped(
        field.first,
        field.bottom_mm,
        field.top_mm,
        field.n_x,
        field.n_y,
        float(field.low_mm[2]),
        float(field.high_mm[2]),
        N_HEIGHTS,
    )
    locked = max(void * field.cell_mm2 - sealed_mm3, 0.0)
    return locked + max(extra, 0.0) * field.cell_mm2, locked


def score_directions(
    vertices_mm, faces, rotations, *, pitch_mm: float, sealed_mm3: float = 0.0, progress=None
):
    """Trapped volume and height along many directions.

    Threads share nothing and each direction is scored alone, so their number
    changes no bit of the answer.

    Parameters
    ----------
    vertices_mm : (n, 3) float64
    faces : (m, 3) int32, closed
    rotations : (k, 3, 3) float64
        The third row of each is the direction.
    pitch_mm : float
        As for `view_pitch`.
    sealed_mm3 : float
        Voids that no silicone reaches.
    progress : callable, optional
        Called with a fraction from 0 to 1.

    Returns
    -------
    (k, 5) float64
        [mm3] trapped by the best level split; [mm3] of it between surfaces of
        the part; [mm] extent along the rotation's three rows.
    """

    def score(field):
        return *score_field(field, sealed_mm3=sealed_mm3), *(field.high_mm - field.low_mm)

    found = judge_directions(
        vertices_mm, faces, rotations, score, pitch_mm=pitch_mm, progress=progress
    )
    return np.array(found, dtype=float).reshape(-1, 5)


def judge_directions(vertices_mm, faces, rotations, judge, *, pitch_mm: float, progress=None):
    """What `judge` says of the field along each direction, a list in their order.

    Parameters
    ----------
    vertices_mm, faces, rotations, pitch_mm, progress
        As for `score_directions`.
    judge : callable
        Takes a `ColumnField`; on several threads at once.
    """
    report = progress or (lambda fraction: None)
    out = [None] * len(rotations)

    def some(begin):
        end = min(begin + CHUNK, len(rotations))
        for k in range(begin, end):
            field = sample_view(vertices_mm, faces, _NO_FACES, rotations[k], pitch_mm=pitch_mm)
            out[k] = judge(field)
        return end

    with ThreadPoolExecutor(max_workers=n_threads()) as pool:
        for end in pool.map(some, range(0, len(rotations), CHUNK)):
            report(end / len(rotations))
    return out
