"""How thick the part is at a point: the solid length through it along a field's direction."""

import numpy as np

from castplan.columns.field import ColumnField, to_xy
from castplan.columns.raster import compiled


def points_inside(field: ColumnField) -> tuple[np.ndarray, np.ndarray]:
    """Points spread evenly through the solid, and the volume each stands for.

    Parameters
    ----------
    field : ColumnField

    Returns
    -------
    points_mm : (n, 3) in the field's frame
    volume_mm3 : (n,)
        They add up to the field's volume.
    """
    length_mm = field.top_mm - field.bottom_mm
    count = np.maximum(1, np.ceil(length_mm / field.pitch_mm)).astype(np.int64)
    interval = np.repeat(np.arange(count.size), count)
    step = np.arange(interval.size) - np.repeat(np.cumsum(count) - count, count)
    height_mm = field.bottom_mm[interval] + (step + 0.5) * (length_mm / count)[interval]
    xy_mm = field.centre_mm(field.column_of[interval])
    volume_mm3 = (length_mm / count * field.cell_mm2)[interval]
    return np.column_stack([xy_mm, height_mm]), volume_mm3


def length_through(field: ColumnField, points_mm: np.ndarray) -> np.ndarray:
    """Length of the solid interval that holds each point, or lies within a pitch of it.

    The column nearest to a point stands up to half a pitch beside it, so close
    to a wall its solid can end just short of the point.

    Parameters
    ----------
    field : ColumnField
    points_mm : (n, 3) in the field's frame

    Returns
    -------
    (n,)
        [mm]; infinity where the point's column holds no solid near its height.
    """
    out = np.full(len(points_mm), np.inf)
    if not field.bottom_mm.size:
        return out
    uv_mm = points_mm[:, :2] @ to_xy(np.eye(2)).T
    i = ((uv_mm[:, 0] - field.u0_mm) // field.pitch_mm).astype(np.int64)
    row = ((uv_mm[:, 1] - field.v0_mm) // field.pitch_mm).astype(np.int64)
    is_on = (i >= 0) & (i < field.n_x) & (row >= 0) & (row < field.n_y)
    _measure_held(
        field.first,
        field.bottom_mm,
        field.top_mm,
        np.where(is_on, row * field.n_x + i, -1),
        np.ascontiguousarray(points_mm[:, 2], dtype=np.float64),
        float(field.low_mm[2]),
        float(field.high_mm[2] - field.low_mm[2]) * 4 + 1,
        float(field.pitch_mm),
        out,
    )
    return out


@compiled
def _measure_held(first, bottom, top, column_of, height, low_mm, reach_mm, pitch_mm, out):
    """Write the length of the interval that holds each point, or is nearest within a pitch."""
    for p in range(column_of.size):
        column = column_of[p]
        if column < 0:
            continue
        # Compared as keys that tell column and height in one, as far apart as these round.
        wanted = column * reach_mm + (height[p] - low_mm)
        above = first[column]
        while above < first[column + 1] and (
            column * reach_mm + (bottom[above] - low_mm) <= wanted
        ):
            above += 1
        nearest_mm = pitch_mm
        for k in (above - 1, above):
            if first[column] <= k < first[column + 1]:
                outside_mm = max(height[p] - top[k], bottom[k] - height[p])
                if outside_mm < nearest_mm:
                    nearest_mm = max(outside_mm, 0.0)
                    out[p] = top[k] - bottom[k]
