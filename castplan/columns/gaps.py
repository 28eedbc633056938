"""Voids between surfaces of the part: which join, where they open, how deep.

A gap is the void between two solid intervals of one column. Gaps of
neighbouring columns that overlap join into one pocket. A mouth is a connected
patch where a pocket touches void that is free along the draw. Rubber that
either half could only hold from two sides at once (two wires that cross: over
the lower one on both its flanks, under the upper one on both) counts as having
two mouths, even where these touch at corners.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from castplan.columns.field import ColumnField
from castplan.columns.raster import compiled
from castplan.columns.union import each_its_own, number_roots, unite

UNDER, OVER, BESIDE = 0, 1, 2  # where a contact's free void lies: part over it, under it, none
# What one half can hold is looked at with gaps of this many columns bridged:
# along a rough wall the free void lies now over part, now under it.
HOLD_REACH = 3
HOLD_FRACTION = 0.03  # and holds less than this share of all mouths are no hold

# Ways to a mouth are sorted this finely; an even number, so that half a pitch is a bucket's end.
BUCKETS_A_PITCH = 32


@dataclass(frozen=True, kw_only=True, eq=False)
class Gaps:
    """Every gap of a field and the pocket it belongs to.

    Gaps ascend by column, then height. `pocket` counts from 0 in the order in
    which the columns meet the pockets.
    """

    column: np.ndarray  # (g,) int64
    bottom_mm: np.ndarray  # (g,)
    top_mm: np.ndarray  # (g,)
    pocket: np.ndarray  # (g,) int64
    depth_mm: np.ndarray  # (g,) sideways way to the nearest mouth; inf where sealed
    n_mouths: np.ndarray  # (n_pockets,) int64

    @property
    def n_pockets(self) -> int:
        """Number of pockets."""
        return self.n_mouths.size


@compiled
def _list_gaps(first, bottom, top):
    n_columns = first.size - 1
    n = 0
    for column in range(n_columns):
        n += max(first[column + 1] - first[column] - 1, 0)
    gap_first = np.zeros(n_columns + 1, np.int64)
    gap_column = np.empty(n, np.int64)
    low = np.empty(n)
    high = np.empty(n)
    g = 0
    for column in range(n_columns):
        for k in range(first[column], first[column + 1] - 1):
            gap_column[g] = column
            low[g] = top[k]
            high[g] = bottom[k + 1]
            g += 1
        gap_first[column + 1] = g
    return gap_first, gap_column, low, high


@compiled
def _join(gap_first, gap_column, low, high, n_x):
    parent = each_its_own(low.size)
    for g in range(low.size):
        for step in (1, n_x):
            other = gap_column[g] + step
            for k in range(gap_first[other], gap_first[other + 1]):
                if min(high[g], high[k]) > max(low[g], low[k]):
                    unite(parent, g, k)
    return number_roots(parent)


@compiled
def _touch_free(gap_column, low, high, first, bottom, top, n_x):
    """Every contact of a gap with free void: (gap, column, z0, z1, where)."""
    n = 0
    # Two stretches beside each of four columns at most; what is not used is never fetched.
    size = 8 * low.size
    gap = np.empty(size, np.int64)
    column = np.empty(size, np.int64)
    z0 = np.empty(size)
    z1 = np.empty(size)
    where = np.empty(size, np.int8)
    for g in range(low.size):
        for step in (-1, 1, -n_x, n_x):
            other = gap_column[g] + step
            a, b = first[other], first[other + 1]
            for side in range(2):
                if side == 0:  # void under the lowest solid; all of it if empty
                    lo, hi = low[g], high[g] if a == b else min(high[g], bottom[a])
                elif a < b:  # void over the highest solid
                    lo, hi = max(low[g], top[b - 1]), high[g]
                else:
                    continue
                if hi <= lo:
                    continue
                gap[n], column[n], z0[n], z1[n] = g, other, lo, hi
                where[n] = BESIDE if a == b else side
                n += 1
    return gap[:n].copy(), column[:n].copy(), z0[:n].copy(), z1[:n].copy(), where[:n].copy()


@compiled
def _join_contacts(contact_first, order, pocket, column, z0, z1, n_x, reach):
    """Unite contacts of one pocket at most `reach` columns apart, corners included."""
    parent = each_its_own(pocket.size)
    for c in range(pocket.size):
        for rows in range(-reach, reach + 1):
            for step_x in range(-reach, reach + 1):
                # Contacts may stand in the margin: the end of one row of the
                # grid is no neighbour of the start of the next.
                i = column[c] % n_x + step_x
                other = column[c] + rows * n_x + step_x
                if i < 0 or i >= n_x or other < 0 or other >= contact_first.size - 1:
                    continue
                for m in range(contact_first[other], contact_first[other + 1]):
                    k = order[m]
                    if k != c and pocket[k] == pocket[c] and min(z1[c], z1[k]) > max(z0[c], z0[k]):
                        unite(parent, c, k)
    return number_roots(parent)


@compiled
def _march(gap_first, gap_column, low, high, seeds, n_x, pitch_mm):
    """Sideways distance from the seeds through the gaps.

    Fast marching (Sethian, PNAS 93 (1996) 1591-1595): the eikonal equation
    solved outward from the mouths, first order in the pitch. What waits stands in
    a ring of buckets instead of a heap (Yatziv, Bartesaghi and Sapiro, J. Comput.
    Phys. 212 (2006) 393-399), which may take one before another that is nearer by
    less than a bucket.
    """
    depth = np.full(low.size, np.inf)
    along_x = np.full(low.size, np.inf)  # least of the finished neighbours along each axis
    along_y = np.full(low.size, np.inf)
    is_done = np.zeros(low.size, np.bool_)
    per_mm = BUCKETS_A_PITCH / pitch_mm
    # No way grows by more than a pitch in one step: the ring spans two.
    n_buckets = 2 * BUCKETS_A_PITCH
    head = np.full(n_buckets, -1, np.int64)
    # Every gap is pushed once for each that it meets: of two columns with a and b gaps no
    # more than a + b meet, so there are at most 8 for each. What is not used is never fetched.
    size = seeds.size + 8 * low.size
    waiting = np.empty(size, np.int64)
    after = np.empty(size, np.int64)
    free = -1  # places of the two arrays that were left, chained
    n_used = n_waiting = 0
    bucket = BUCKETS_A_PITCH // 2
    for g in seeds[::-1]:
        if depth[g] == np.inf:
            depth[g] = 0.5 * pitch_mm
            waiting[n_used] = g
            after[n_used] = head[bucket]
            head[bucket] = n_used
            n_used += 1
            n_waiting += 1
    while n_waiting > 0:
        place = head[bucket]
        if place < 0:
            bucket = (bucket + 1) % n_buckets
            continue
        g = waiting[place]
        head[bucket] = after[place]
        after[place] = free
        free = place
        n_waiting -= 1
        if is_done[g]:
            continue
        is_done[g] = True
        for step in (-1, 1, -n_x, n_x):
            other = gap_column[g] + step
            for k in range(gap_first[other], gap_first[other + 1]):
                if low[k] >= high[g]:
                    break
                if is_done[k] or high[k] <= low[g]:
                    continue
                if step == 1 or step == -1:
                    along_x[k] = min(along_x[k], depth[g])
                else:
                    along_y[k] = min(along_y[k], depth[g])
                near = min(along_x[k], along_y[k])
                far = max(along_x[k], along_y[k])
                value = near + pitch_mm
                if far < value:
                    half = 0.5 * (near + far)
                    value = half + 0.5 * np.sqrt(2 * pitch_mm**2 - (far - near) ** 2)
                if value >= depth[k]:
                    continue
                depth[k] = value
                if free >= 0:
                    place = free
                    free = after[place]
                else:
                    place = n_used
                    n_used += 1
                into = int(max(value, depth[g]) * per_mm) % n_buckets
                waiting[place] = k
                after[place] = head[into]
                head[into] = place
                n_waiting += 1
    return depth


def rows_by_number(number: np.ndarray, *, n: int) -> list[np.ndarray]:
    """Rows that carry each number from 0 to n - 1, ascending; one pass for all numbers.

    Parameters
    ----------
    number : (g,) int
    n : int
    """
    order = np.argsort(number, kind="stable")
    ends = np.searchsorted(number[order], np.arange(n + 1))
    return [order[a:b] for a, b in pairwise(ends)]


def find_gaps(field: ColumnField) -> Gaps:
    """Label the gaps of a field in 3D and find their mouths and depths.

    A contact patch counts as a mouth when its area is at least two column
    faces and 2 % of the pocket's largest; smaller ones are sampling at a rim. A
    pocket with one such patch still has two mouths if each half, from its own
    side of the part, would hold its rubber in two places.

    Parameters
    ----------
    field : ColumnField

    Returns
    -------
    Gaps
    """
    first, bottom, top, n_x = field.first, field.bottom_mm, field.top_mm, field.n_x
    gap_first, gap_column, low, high = _list_gaps(first, bottom, top)
    pocket, n_pockets = _join(gap_first, gap_column, low, high, n_x)
    gap, *contacts, where = _touch_free(gap_column, low, high, first, bottom, top, n_x)
    of = pocket[gap]
    largest_mm2, area_mm2 = (np.zeros(n_pockets) for _ in range(2))
    patch_pocket, patch_mm2 = _patches(field, of, *contacts, reach=1)
    np.maximum.at(largest_mm2, patch_pocket, patch_mm2)
    np.add.at(area_mm2, patch_pocket, patch_mm2)
    is_mouth = patch_mm2 >= np.maximum(2 * field.cell_mm2, 0.02 * largest_mm2[patch_pocket])
    # The smallest of openings is still one.
    is_mouth |= (patch_mm2 > 0) & (patch_mm2 == largest_mm2[patch_pocket])
    n_mouths = np.bincount(patch_pocket[is_mouth], minlength=n_pockets)
    holds = []
    # Only a pocket with one mouth is asked what each half holds.
    is_one = n_mouths == 1
    for far_side in (UNDER, OVER):
        near = (where != far_side) & is_one[of]
        hold_pocket, hold_mm2 = _patches(
            field, of[near], *(values[near] for values in contacts), reach=HOLD_REACH
        )
        is_hold = hold_mm2 >= HOLD_FRACTION * area_mm2[hold_pocket]
        holds.append(np.bincount(hold_pocket[is_hold], minlength=n_pockets))
    n_mouths[is_one] = np.maximum(np.minimum(*holds), 1)[is_one]
    depth = _march(gap_first, gap_column, low, high, gap, n_x, field.pitch_mm)
    return Gaps(
        column=gap_column,
        bottom_mm=low,
        top_mm=high,
        pocket=pocket,
        depth_mm=depth,
        n_mouths=n_mouths,
    )


def touch_free(field: ColumnField, gaps: Gaps):
    """Contacts of gaps with void that is free along the direction.

    Returns
    -------
    gap, column : (k,) int64
        The gap, and the column of the void beside it.
    bottom_mm, top_mm : (k,) float64
    where : (k,) int8
        `UNDER` the part of that column, `OVER` it, or `BESIDE` the part.
    """
    return _touch_free(
        gaps.column,
        gaps.bottom_mm,
        gaps.top_mm,
        field.first,
        field.bottom_mm,
        field.top_mm,
        field.n_x,
    )


def march_from(field: ColumnField, gaps: Gaps, seeds) -> np.ndarray:
    """Sideways way through the gaps from some of them, (g,) [mm]; inf where none leads there."""
    counts = np.bincount(gaps.column, minlength=field.n_x * field.n_y)
    gap_first = np.concatenate([[0], np.cumsum(counts)])
    return _march(
        gap_first,
        gaps.column,
        gaps.bottom_mm,
        gaps.top_mm,
        np.asarray(seeds, dtype=np.int64),
        field.n_x,
        field.pitch_mm,
    )


def _patches(field, pocket, column, z0, z1, *, reach):
    """Connected patches of contacts: the pocket and area (mm2) of each."""
    order = np.argsort(column, kind="stable")
    counts = np.bincount(column, minlength=field.n_x * field.n_y)
    contact_first = np.concatenate([[0], np.cumsum(counts)])
    patch, n_patches = _join_contacts(
        contact_first, order, pocket, column, z0, z1, field.n_x, reach
    )
    area_mm2 = np.bincount(patch, weights=(z1 - z0) * field.pitch_mm, minlength=n_patches)
    patch_pocket = np.zeros(n_patches, dtype=np.int64)
    patch_pocket[patch] = pocket
    return patch_pocket, area_mm2
