"""Thin parts of a body: how thin, and how far from the next thick place."""

import heapq
from dataclasses import dataclass

import numpy as np

from castplan.columns.field import ColumnField
from castplan.columns.flood import label_joined
from castplan.columns.raster import compiled


@dataclass(frozen=True, kw_only=True, eq=False)
class Narrow:
    """One connected thin region seen along a direction."""

    gap_mm: float  # middle thickness by area
    way_mm: float  # from the nearest thick place to its far end, across the direction
    area_mm2: float
    far_mm: np.ndarray  # (3,) its far end, in the field's frame


@compiled
def _distance(first, bottom, top, column_of, n_x, is_thin, pitch_mm):
    """Way from the nearest thick interval through thin ones, by steps and diagonals."""
    far = np.full(bottom.size, np.inf)
    heap = [(0.0, np.int64(0))]
    heap.pop()
    for k in range(bottom.size):
        if not is_thin[k]:
            far[k] = 0.0
            heapq.heappush(heap, (0.0, np.int64(k)))
    while len(heap) > 0:
        d, k = heapq.heappop(heap)
        if d > far[k]:
            continue
        for step_y in (-n_x, 0, n_x):
            for step_x in (-1, 0, 1):
                if step_x == 0 and step_y == 0:
                    continue
                other = column_of[k] + step_y + step_x
                cost = pitch_mm if step_x == 0 or step_y == 0 else 1.4142135623730951 * pitch_mm
                for j in range(first[other], first[other + 1]):
                    if min(top[j], top[k]) > max(bottom[j], bottom[k]) and d + cost < far[j]:
                        far[j] = d + cost
                        heapq.heappush(heap, (far[j], np.int64(j)))
    return far


def find_narrows(field: ColumnField, *, limit_mm: float) -> list[Narrow]:
    """Regions thinner than a limit along the field's direction.

    Left out are those no further across than they are thick: the edges of
    every rounded body. A body that is thin throughout has no thick place; its
    way is counted as its longer side.

    Parameters
    ----------
    field : ColumnField
    limit_mm : float

    Returns
    -------
    list of Narrow
    """
    arrays = (field.first, field.bottom_mm, field.top_mm, field.column_of, field.n_x)
    length = field.top_mm - field.bottom_mm
    is_thin = length < limit_mm
    far = _distance(*arrays, is_thin, field.pitch_mm)
    label, n = label_joined(*arrays, is_thin)
    found = []
    order = np.argsort(label, kind="stable")
    bounds = np.searchsorted(label[order], np.arange(n + 1))
    for g in range(n):
        members = order[bounds[g] : bounds[g + 1]]
        xy = field.centre_mm(field.column_of[members])
        way = far[members]
        if np.isinf(way).all():
            way = np.linalg.norm(xy - xy[0], axis=1)
        gap_mm = float(np.median(length[members]))
        k = int(np.argmax(way))
        if way[k] <= 2 * max(gap_mm, field.pitch_mm):
            continue
        z = 0.5 * (field.top_mm[members[k]] + field.bottom_mm[members[k]])
        found.append(
            Narrow(
                gap_mm=gap_mm,
                way_mm=float(way[k]),
                area_mm2=float(members.size * field.cell_mm2),
                far_mm=np.array([*xy[k], z]),
            )
        )
    return found
