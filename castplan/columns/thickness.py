"""How thick the part is at a point: the solid length through it along a field's direction."""

import numpy as np

from castplan.columns.field import ColumnField, to_xy


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
    column = np.where(is_on, row * field.n_x + i, 0)
    # One sorted key for all intervals: their column first, their bottom second.
    reach_mm = float(field.high_mm[2] - field.low_mm[2]) * 4 + 1
    low_mm = float(field.low_mm[2])
    bottoms = field.column_of * reach_mm + (field.bottom_mm - low_mm)
    wanted = column * reach_mm + (points_mm[:, 2] - low_mm)
    below = np.searchsorted(bottoms, wanted, side="right") - 1
    nearest_mm = np.full(len(points_mm), field.pitch_mm)
    for at in (below, below + 1):
        held = np.clip(at, 0, field.bottom_mm.size - 1)
        outside_mm = np.maximum(
            points_mm[:, 2] - field.top_mm[held], field.bottom_mm[held] - points_mm[:, 2]
        )
        holds = is_on & (field.column_of[held] == column) & (outside_mm < nearest_mm)
        nearest_mm[holds] = np.maximum(outside_mm[holds], 0)
        out[holds] = (field.top_mm - field.bottom_mm)[held[holds]]
    return out
