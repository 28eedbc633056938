"""What is not part: the space a pour of silicone fills, as a field of its own."""

import numpy as np

from castplan.columns.field import ColumnField
from castplan.columns.raster import TOUCH_MM, compiled


@compiled
def _invert(first, bottom, top, floor, roof):
    n_columns = first.size - 1
    void_first = np.zeros(n_columns + 1, np.int64)
    low = np.empty(bottom.size + n_columns)
    high = np.empty(bottom.size + n_columns)
    n = 0
    for column in range(n_columns):
        z = floor[column]
        for k in range(first[column], first[column + 1]):
            if min(bottom[k], roof[column]) - z > TOUCH_MM:
                low[n] = z
                high[n] = min(bottom[k], roof[column])
                n += 1
            z = max(z, top[k])
        if roof[column] - z > TOUCH_MM:
            low[n] = z
            high[n] = roof[column]
            n += 1
        void_first[column + 1] = n
    return void_first, low[:n].copy(), high[:n].copy()


def void_above(field: ColumnField, floor_mm, roof_mm) -> tuple[ColumnField, np.ndarray]:
    """The space round a part between a floor and an open roof, one height a column.

    Parameters
    ----------
    field : ColumnField
        The part, sampled along the upward direction of the pour.
    floor_mm, roof_mm : (n_columns,) float64
        Clay or board below, level of the pour above.

    Returns
    -------
    ColumnField
        The space as intervals. The columns beside the part stand for the room
        up to the box.
    numpy.ndarray
        Intervals that reach the roof, (k,) int64: open to the air.
    """
    first, low, high = _invert(field.first, field.bottom_mm, field.top_mm, floor_mm, roof_mm)
    # The kernels step to all four neighbours: an empty ring goes round.
    counts = np.pad(np.diff(first).reshape(field.n_y, field.n_x), 1)
    roof = np.pad(np.asarray(roof_mm, dtype=float).reshape(field.n_y, field.n_x), 1)
    space = ColumnField(
        rotation=field.rotation,
        pitch_mm=field.pitch_mm,
        u0_mm=field.u0_mm - field.pitch_mm,
        v0_mm=field.v0_mm - field.pitch_mm,
        n_x=field.n_x + 2,
        n_y=field.n_y + 2,
        first=np.concatenate([[0], np.cumsum(counts.ravel())]),
        bottom_mm=low,
        top_mm=high,
        low_mm=field.low_mm,
        high_mm=field.high_mm,
        n_unclosed=0,
        is_doubtful=np.zeros(counts.size, dtype=bool),
    )
    return space, np.flatnonzero(high >= roof.ravel()[space.column_of])
