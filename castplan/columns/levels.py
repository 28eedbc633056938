"""Level splits: how much silicone a flat parting traps, for every height at once.

Silicone of the lower half is trapped where part lies below it, silicone of
the upper half where part lies above it. Between surfaces of the part it is
trapped whatever the height. Above the part it is trapped only where the clay
bed would really lie: clay is laid outside the outline, so a bowl that the
level does not yet overflow belongs to the upper half and is free.
"""

import heapq
import math
from dataclasses import dataclass

import numpy as np

from castplan.columns.field import ColumnField
from castplan.columns.raster import compiled, compiled_within

# Clay that would lie thinner than this over the part is none: a bed laid by hand is no
# truer, and a flat at its level, or the rim of a bowl, must not flood (assumed).
LEAK_MM = 0.05


@compiled
def reach_outside(is_part, n_x, n_y):
    """Empty columns joined to the grid's border, side to side: (n_x * n_y,) bool."""
    is_outside = np.zeros(n_x * n_y, np.bool_)
    is_outside[0] = True
    stack = [np.int64(0)]
    while len(stack) > 0:
        c = stack.pop()
        i, row = c % n_x, c // n_x
        for side in range(4):
            if side == 0 and i > 0:
                other = c - 1
            elif side == 1 and i < n_x - 1:
                other = c + 1
            elif side == 2 and row > 0:
                other = c - n_x
            elif side == 3 and row < n_y - 1:
                other = c + n_x
            else:
                continue
            if not is_part[other] and not is_outside[other]:
                is_outside[other] = True
                stack.append(np.int64(other))
    return is_outside


@compiled
def overflow(height, is_part, n_x, n_y):
    """Level at which water outside the outline reaches each column.

    Priority flood from the grid's border (Barnes, Lehman and Mulla,
    Computers and Geosciences 62 (2014) 117-127). Holes through the part are
    plugged at their own height and let nothing through.

    Parameters
    ----------
    height : (n,) float64 [mm], of the part's columns
    is_part : (n,) bool
    n_x, n_y : int

    Returns
    -------
    level : (n,) float64 [mm]; >= height on the part, +inf elsewhere
    """
    level = np.full(n_x * n_y, np.inf)
    is_outside = reach_outside(is_part, n_x, n_y)
    heap = [(0.0, np.int64(0))]
    heap.pop()
    for c in range(n_x * n_y):
        if not is_part[c]:
            continue
        # The margin of empty columns keeps every neighbour on the grid.
        if is_outside[c - 1] or is_outside[c + 1] or is_outside[c - n_x] or is_outside[c + n_x]:
            level[c] = height[c]
            heapq.heappush(heap, (height[c], np.int64(c)))
    while len(heap) > 0:
        z, c = heapq.heappop(heap)
        for step in (-1, 1, -n_x, n_x):
            other = c + step
            if is_part[other] and level[other] == np.inf:
                level[other] = max(z, height[other])
                heapq.heappush(heap, (level[other], np.int64(other)))
    return level


@compiled_within
def _overflow_numbers(number, is_part, is_outside, n_x, n_numbers):
    """`overflow` of heights that are told as whole numbers from 0 on; -1 where nothing comes."""
    n = number.size
    level = np.full(n, -1, np.int64)
    # What waits at each number, as a chain of columns.
    head = np.full(n_numbers, -1, np.int64)
    after = np.empty(n, np.int64)
    for c in range(n):
        if is_part[c] and (
            is_outside[c - 1] or is_outside[c + 1] or is_outside[c - n_x] or is_outside[c + n_x]
        ):
            level[c] = number[c]
            after[c] = head[level[c]]
            head[level[c]] = c
    for k in range(n_numbers):
        while head[k] >= 0:
            c = head[k]
            head[k] = after[c]
            for step in (-1, 1, -n_x, n_x):
                other = c + step
                if is_part[other] and level[other] < 0:
                    level[other] = max(k, number[other])
                    after[other] = head[level[other]]
                    head[level[other]] = other
    return level


@compiled
def void_and_least_trapped(first, bottom, top, n_x, n_y, low_mm, high_mm, n_heights):
    """Length of void between surfaces, and the least a level split lays over or under.

    Parameters
    ----------
    first, bottom, top : arrays of a field along the draw
    n_x, n_y : int
    low_mm, high_mm : float
        Heights between which the split is tried, evenly.
    n_heights : int

    Returns
    -------
    void, least : float [mm], both times the area of a column the volume
    """
    n = n_x * n_y
    is_part = np.zeros(n, np.bool_)
    sky = np.full(n, -np.inf)
    ground = np.full(n, -np.inf)  # the lowest solid, seen from below
    void = 0.0
    for c in range(n):
        a, b = first[c], first[c + 1]
        if b == a:
            continue
        is_part[c] = True
        sky[c] = top[b - 1]
        ground[c] = -bottom[a]
        void += top[b - 1] - bottom[a]
        for k in range(a, b):
            void -= top[k] - bottom[k]
    step = (high_mm - low_mm) / (n_heights - 1)
    trapped = np.zeros(n_heights)
    is_outside = reach_outside(is_part, n_x, n_y)
    number = np.empty(n, np.int64)
    for side in range(2):
        height = sky if side == 0 else ground
        # Numbered by the height from which on it is reached, a level needs no finer telling.
        for c in range(n):
            if is_part[c]:
                start = low_mm if side == 0 else -high_mm
                k = math.floor((height[c] + LEAK_MM - start) / step) + 1
                number[c] = min(max(k, 0), n_heights)
        level = _overflow_numbers(number, is_part, is_outside, n_x, n_heights + 1)
        # Columns reached below a height weigh in from there on.
        count = np.zeros(n_heights + 1)
        base = np.zeros(n_heights + 1)
        for c in range(n):
            if not is_part[c] or level[c] < 0:
                continue
            k = level[c]
            count[k] += 1
            base[k] += height[c]
        n_reached = total = 0.0
        for k in range(n_heights):
            n_reached += count[k]
            total += base[k]
            if side == 0:
                trapped[k] += n_reached * (low_mm + k * step) - total
            else:
                trapped[n_heights - 1 - k] += n_reached * (k * step - high_mm) - total
    least = np.inf
    for k in range(n_heights):
        least = min(least, trapped[k])
    return void, least


@compiled
def spill(height, is_part, n_x, seeds, level):
    """Depth of clay that a plug of one level lays over the part, summed over columns.

    Parameters
    ----------
    height : (n,) float64 [mm], of the part's columns
    is_part : (n,) bool
    n_x : int
    seeds : (k,) int64, columns of the hole
    level : float [mm]

    Returns
    -------
    float [mm], times the area of a column the volume
    """
    is_seen = np.zeros(height.size, np.bool_)
    stack = [np.int64(0)]
    stack.pop()
    for s in range(seeds.size):
        is_seen[seeds[s]] = True
        stack.append(seeds[s])
    total = 0.0
    while len(stack) > 0:
        c = stack.pop()
        for step in (-1, 1, -n_x, n_x):
            other = c + step
            # A seed may stand at the grid's border.
            if other < 0 or other >= height.size:
                continue
            if not is_seen[other] and is_part[other] and level - height[other] > LEAK_MM:
                is_seen[other] = True
                total += level - height[other]
                stack.append(np.int64(other))
    return total


@dataclass(frozen=True, kw_only=True, eq=False)
class LevelSweep:
    """What any level split traps besides the gaps: sums ready for all heights."""

    _reach_mm: np.ndarray  # ascending overflow levels seen from above
    _reach_base: np.ndarray  # running sum of the heights in that order
    _sink_mm: np.ndarray  # the same seen from below, heights negated
    _sink_base: np.ndarray
    cell_mm2: float

    def trapped_mm3(self, heights_mm) -> np.ndarray:
        """Volume trapped over and under the part by level splits, (k,)."""
        over, under = self._both(np.asarray(heights_mm, dtype=float))
        return over + under

    def split_mm3(self, *, height_mm: float) -> tuple[float, float]:
        """Volume trapped over the part and under it, by one level split."""
        over, under = self._both(height_mm)
        return float(over), float(under)

    def _both(self, z):
        over = _above_base(self._reach_mm, self._reach_base, z)
        under = _above_base(self._sink_mm, self._sink_base, -z)
        return over * self.cell_mm2, under * self.cell_mm2

    def breakpoints_mm(self) -> np.ndarray:
        """Heights at which the trapped volume steps or bends, ascending and unique."""
        return np.unique(np.concatenate([self._reach_mm, -self._sink_mm]))


def _above_base(level, base, z):
    """Sum of (z - height) over columns whose overflow level lies below z."""
    n = np.searchsorted(level, z, side="left")
    return n * z - base[n]


def sweep_levels(field: ColumnField) -> LevelSweep:
    """Prepare the sweep over all split heights of a field along the draw."""
    is_part = np.diff(field.first) > 0
    pairs = []
    for height in (field.highest_mm, -field.lowest_mm):
        level = overflow(height, is_part, field.n_x, field.n_y)
        reached = np.isfinite(level)
        order = np.argsort(level[reached], kind="stable")
        heights = height[reached][order]
        pairs.append((level[reached][order] + LEAK_MM, np.concatenate([[0.0], np.cumsum(heights)])))
    (reach, reach_base), (sink, sink_base) = pairs
    return LevelSweep(
        _reach_mm=reach,
        _reach_base=reach_base,
        _sink_mm=sink,
        _sink_base=sink_base,
        cell_mm2=field.cell_mm2,
    )


def trapped_beside_mm3(field: ColumnField, seeds, base_mm) -> tuple[float, float]:
    """Volume that a parting surface lays over the part and under it.

    Parameters
    ----------
    field : ColumnField
    seeds : (k,) int64
        Columns of void that the surface comes from: outside, or a hole.
    base_mm : float or (n_columns,) float64
        Height of the surface over each column.
    """
    is_part = np.diff(field.first) > 0
    over = spill(field.highest_mm - base_mm, is_part, field.n_x, seeds, 0.0)
    under = spill(base_mm - field.lowest_mm, is_part, field.n_x, seeds, 0.0)
    return over * field.cell_mm2, under * field.cell_mm2
