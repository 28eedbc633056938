"""Thin parts of a body: how thin, and how far from the next thick place."""

import heapq
from dataclasses import dataclass
from itertools import pairwise

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


@compiled
def _patch_of(order, bounds, groups, columns, middle, n_x, n_columns, steepest_mm):
    """Patch of each interval, numbered over all groups from 0; -1 where it is in none."""
    patch = np.full(columns.size, -1, np.int64)
    height = np.full(n_columns, np.nan)
    goes_on = np.zeros(n_columns, np.bool_)
    is_core = np.zeros(n_columns, np.bool_)
    is_open = np.zeros(n_columns, np.bool_)
    number = np.full(n_columns, -1, np.int64)
    n = 0
    for g in groups:
        members = order[bounds[g] : bounds[g + 1]]
        for k in members:
            height[columns[k]] = middle[k]
        for k in members:
            c = columns[k]
            # False beside a column that is not of the group, whose height is not a number.
            goes_on[c] = (
                abs(height[c - n_x] - height[c]) < steepest_mm
                and abs(height[c - 1] - height[c]) < steepest_mm
            )
        for k in members:
            c = columns[k]
            is_core[c] = True
            for step_y in (-n_x, 0, n_x):
                for step_x in (-1, 0, 1):
                    is_core[c] = is_core[c] and goes_on[c + step_y + step_x]
        for k in members:
            c = columns[k]
            for step_y in (-n_x, 0, n_x):
                for step_x in (-1, 0, 1):
                    is_open[c] = is_open[c] or is_core[c + step_y + step_x]
        for k in members:
            start = columns[k]
            if not is_open[start] or number[start] >= 0:
                continue
            number[start] = n
            stack = [start]
            while len(stack) > 0:
                c = stack.pop()
                for step in (-1, 1, -n_x, n_x):
                    if is_open[c + step] and number[c + step] < 0:
                        number[c + step] = n
                        stack.append(c + step)
            n += 1
        for k in members:
            patch[k] = number[columns[k]]
        for k in members:
            c = columns[k]
            height[c] = np.nan
            goes_on[c] = is_core[c] = is_open[c] = False
            number[c] = -1
    return patch, n


def smooth_patches(field: ColumnField, ends, is_thin, *, least: int, steepest: float):
    """Walls of thin intervals that go on smoothly from column to column.

    A wall goes on from column to column; where the ray grazes a rough face slivers
    jump. What goes on is opened by one column: a line of single columns is an edge,
    no wall.

    Parameters
    ----------
    field : ColumnField
        Its lattice.
    ends : tuple of arrays
        First, bottom, top and column of intervals, as a field has them.
    is_thin : (n,) bool
    least : int
        Groups of fewer intervals are left out.
    steepest : float
        Columns by which a wall may rise from one to the next.

    Returns
    -------
    list of (k,) int64
        Intervals of each patch, ascending.
    """
    first, bottom, top, columns = ends
    label, n = label_joined(first, bottom, top, columns, field.n_x, is_thin)
    order = np.argsort(label, kind="stable")
    bounds = np.searchsorted(label[order], np.arange(n + 1))
    groups = np.flatnonzero(np.diff(bounds) >= least)
    patch, n = _patch_of(
        order,
        bounds,
        groups,
        columns,
        0.5 * (top + bottom),
        field.n_x,
        field.n_x * field.n_y,
        steepest * field.pitch_mm,
    )
    by_patch = np.argsort(patch, kind="stable")
    cuts = np.searchsorted(patch[by_patch], np.arange(n + 1))
    return [by_patch[a:b] for a, b in pairwise(cuts)]


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
