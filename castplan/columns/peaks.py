"""High points of the cavity: the merge tree of the column intervals.

Superlevel sets of height inside the solid: two intervals of neighbouring
columns that overlap are joined at the lower of their two tops. Merge tree by
sweep and union-find (Carr, Snoeyink and Axen, CGTA 24 (2003) 75-94). A tree
of the surface alone would count the undersides of hollows.
"""

from dataclasses import dataclass

import numpy as np

from castplan.columns.field import ColumnField
from castplan.columns.raster import TOUCH_MM, compiled, compiled_within
from castplan.columns.union import find_root

LEVEL_MM = 0.1


@dataclass(frozen=True, kw_only=True, eq=False)
class Meetings:
    """How the points of a tree met, one by one, even where several share a saddle.

    Row k is the meeting that ended point k of the tree; of the last point of a
    body nothing but `loser_air_mm3`, all of the body, is told.
    """

    order: np.ndarray  # (p,) int64, rank from the highest saddle down
    winner: np.ndarray  # (p,) int64, row of the point that was met; -1 for the last
    winner_air_mm3: np.ndarray  # (p,) what it held above the saddle when they met
    loser_air_mm3: np.ndarray  # (p,) and what the point of the row held


@dataclass(frozen=True, kw_only=True, eq=False)
class Tree:
    """Every high point with the height at which it joins a higher one.

    Sorted by rise, largest first. `saddle_mm` of the last of a body is the
    body's lowest height; `parent` is then -1, else the row of the point that
    took it over and goes on below the saddle.
    """

    interval: np.ndarray  # (p,) int64, the interval whose top is the point
    top_mm: np.ndarray  # (p,)
    saddle_mm: np.ndarray  # (p,)
    air_mm3: np.ndarray  # (p,) volume above the saddle
    parent: np.ndarray  # (p,) int64
    meetings: Meetings

    @property
    def rise_mm(self) -> np.ndarray:
        """Height above the saddle (persistence), (p,)."""
        return self.top_mm - self.saddle_mm


@compiled
def _sweep(first, bottom, top, column_of, n_x, by_top, by_bottom, min_rise_mm):
    n = bottom.size
    parent = np.full(n, -1, np.int64)
    peak = np.empty(n, np.int64)  # highest interval of the component
    count = np.zeros(n, np.int64)  # columns of it still open at the level
    filled = np.zeros(n)  # length above the level, times columns
    level = np.empty(n)
    lowest = np.empty(n)
    joined = np.full(n, np.inf)  # the component's latest saddle
    above = np.zeros(n)  # what the component had filled when it came there
    out_peak = np.empty(n, np.int64)
    out_saddle = np.empty(n)
    out_filled = np.empty(n)
    out_winner = np.empty(n, np.int64)
    out_held = np.empty((n, 2))
    m = 0
    t = b = 0
    while t < n or b < n:
        if t < n and (b >= n or top[by_top[t]] >= bottom[by_bottom[b]]):
            k = by_top[t]
            t += 1
            z = top[k]
            parent[k] = k
            peak[k] = k
            count[k] = 1
            level[k] = z
            lowest[k] = bottom[k]
            for step in (-1, 1, -n_x, n_x):
                other = column_of[k] + step
                for j in range(first[other], first[other + 1]):
                    if parent[j] < 0 or min(top[j], z) <= max(bottom[j], bottom[k]):
                        continue
                    a = find_root(parent, k)
                    c = find_root(parent, j)
                    if a == c:
                        continue
                    pa, pc = peak[a], peak[c]
                    if top[pc] > top[pa] or (top[pc] == top[pa] and pc < pa):
                        a, c = c, a
                    is_point = top[peak[c]] - z > TOUCH_MM
                    for r in (a, c):
                        filled[r] += count[r] * (level[r] - z)
                        level[r] = z
                        # Points that share a saddle, up to rounding, keep
                        # none of each other's air.
                        if is_point and joined[r] - z > TOUCH_MM:
                            joined[r] = z
                            above[r] = filled[r]
                    out_peak[m] = peak[c]
                    out_saddle[m] = z
                    out_filled[m] = above[c] if is_point else filled[c]
                    out_winner[m] = peak[a]
                    out_held[m, 0] = filled[a]
                    out_held[m, 1] = filled[c]
                    # A neighbour that is only a step lower is no point of its own.
                    m += top[peak[c]] - z > min_rise_mm
                    parent[c] = a
                    filled[a] += filled[c]
                    count[a] += count[c]
                    lowest[a] = min(lowest[a], lowest[c])
        else:
            k = by_bottom[b]
            b += 1
            root = find_root(parent, k)
            filled[root] += count[root] * (level[root] - bottom[k])
            level[root] = bottom[k]
            count[root] -= 1
    for k in range(n):
        if parent[k] == k:
            out_peak[m] = peak[k]
            out_saddle[m] = lowest[k]
            out_filled[m] = filled[k]
            out_winner[m] = -1
            out_held[m, 0] = 0.0
            out_held[m, 1] = filled[k]
            m += 1
    return (
        out_peak[:m].copy(),
        out_saddle[:m].copy(),
        out_filled[:m].copy(),
        out_winner[:m].copy(),
        out_held[:m].copy(),
    )


@compiled_within
def _reach(first, bottom, top, column_of, n_x, seed, floor_mm, n_most, is_seen):
    """Intervals joined to a seed above a level, as they are met; `is_seen` is left as it was."""
    is_seen[seed] = True
    found = [np.int64(seed)]
    n_done = 0
    while n_done < len(found) and len(found) < n_most:
        k = found[n_done]
        n_done += 1
        for step in (-1, 1, -n_x, n_x):
            other = column_of[k] + step
            for j in range(first[other], first[other + 1]):
                joined_mm = min(top[j], top[k])
                if (
                    not is_seen[j]
                    and joined_mm >= floor_mm
                    and joined_mm > max(bottom[j], bottom[k])
                ):
                    is_seen[j] = True
                    found.append(np.int64(j))
    for k in found:
        is_seen[k] = False
    return found


@compiled
def spread_level(first, bottom, top, column_of, n_x, seed, floor_mm):
    """Intervals joined to `seed` above a level: (k,) int64, in no order.

    Parameters
    ----------
    first, bottom, top, column_of : arrays of a field
    n_x : int
    seed : int, interval
    floor_mm : float
    """
    is_seen = np.zeros(bottom.size, np.bool_)
    n_most = bottom.size + 1
    found = _reach(first, bottom, top, column_of, n_x, seed, floor_mm, n_most, is_seen)
    return np.array(found)


@compiled
def _reach_all(first, bottom, top, column_of, n_x, seeds, floors_mm, n_most):
    """What each of many seeds reaches, one after the other, and where each ends."""
    is_seen = np.zeros(bottom.size, np.bool_)
    members = [np.int64(0)]
    members.pop()
    ends = np.empty(seeds.size, np.int64)
    for s in range(seeds.size):
        members.extend(
            _reach(first, bottom, top, column_of, n_x, seeds[s], floors_mm[s], n_most, is_seen)
        )
        ends[s] = len(members)
    return np.array(members), ends


def roof_of(field: ColumnField, tree: Tree, row: int, *, depth_mm: float) -> np.ndarray:
    """Intervals joined to a high point no more than a depth under it, (k,) int64.

    Parameters
    ----------
    field : ColumnField
    tree : Tree
    row : int
        Of the tree.
    depth_mm : float
    """
    # A roof is small: looking through all intervals for it took most of the time.
    reached = spread_level(
        field.first,
        field.bottom_mm,
        field.top_mm,
        field.column_of,
        field.n_x,
        int(tree.interval[row]),
        float(tree.top_mm[row]) - depth_mm,
    )
    return np.sort(reached)


def roofs_of(field: ColumnField, tree: Tree, rows, *, depth_mm: float, n_most: int | None = None):
    """`roof_of` for several points at once, one after the other: members, and where each begins.

    Parameters
    ----------
    field : ColumnField
    tree : Tree
    rows : (r,) int64
    depth_mm : float
    n_most : int, optional
        A roof of as many intervals or more is not followed to its end.

    Returns
    -------
    members, begins : (k,), (r,) int64
    """
    seeds = tree.interval[rows]
    members, ends = _reach_all(
        field.first,
        field.bottom_mm,
        field.top_mm,
        field.column_of,
        field.n_x,
        seeds,
        tree.top_mm[rows] - depth_mm,
        field.top_mm.size + 1 if n_most is None else n_most,
    )
    return members, np.concatenate([[0], ends[:-1]])


def level_depth_mm(field: ColumnField) -> float:
    """Points this little under the highest of a roof count as level with it.

    A tenth of a millimetre; on a coarse field what columns miss a ridge by,
    about 0.7 of the pitch on flanks of 45 degrees.
    """
    return max(LEVEL_MM, 0.7 * field.pitch_mm)


def _ends_with_parent(parent, saddle_mm):
    there = np.maximum(parent, 0)
    return (parent >= 0) & (parent[there] >= 0) & (saddle_mm - saddle_mm[there] <= TOUCH_MM)


def from_the_top(heights_mm):
    """Rows of heights (n,), the highest first and of those as high the first, (n,) int64.

    Several times a search: numpy sorts quicker where equal ones may change places, and
    whole numbers tell them apart again.
    """
    falling = -heights_mm
    order = np.argsort(falling)
    step = np.empty(order.size, dtype=np.int64)
    step[:1] = 0
    step[1:] = falling[order[1:]] != falling[order[:-1]]
    step = np.cumsum(step) * order.size
    rows = np.sort(step + order)
    rows -= step
    return rows


def find_peaks(field: ColumnField, *, min_rise_mm: float = 0.0) -> Tree:
    """Merge tree of a field sampled along the upward direction.

    Parameters
    ----------
    field : ColumnField
    min_rise_mm : float
        Leave out points that rise no more than this (level steps between
        neighbouring columns have no rise and are never listed).

    Returns
    -------
    Tree
    """
    by_top = from_the_top(field.top_mm)
    by_bottom = from_the_top(field.bottom_mm)
    peak, saddle, filled, winner, held = _sweep(
        field.first,
        field.bottom_mm,
        field.top_mm,
        field.column_of,
        field.n_x,
        by_top,
        by_bottom,
        min_rise_mm,
    )
    rise = field.top_mm[peak] - saddle
    rows = np.lexsort((peak, -rise))
    row_of_peak = np.full(field.top_mm.size, -1, dtype=np.int64)
    row_of_peak[peak[rows]] = np.arange(rows.size)
    met = np.where(winner[rows] < 0, -1, row_of_peak[np.maximum(winner[rows], 0)])
    parent = met
    # Of points that share a saddle only the highest goes on below it.
    while (ends := _ends_with_parent(parent, saddle[rows])).any():
        parent = np.where(ends, parent[np.maximum(parent, 0)], parent)
    return Tree(
        interval=peak[rows],
        top_mm=field.top_mm[peak[rows]],
        saddle_mm=saddle[rows],
        air_mm3=filled[rows] * field.cell_mm2,
        parent=parent,
        meetings=Meetings(
            order=rows,
            winner=met,
            winner_air_mm3=held[rows, 0] * field.cell_mm2,
            loser_air_mm3=held[rows, 1] * field.cell_mm2,
        ),
    )
