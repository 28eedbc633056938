"""How the cavity fills: which air gets out, in which order basins take in resin.

Two floods over the intervals of a field, both by priority queue. From the
openings upward-first: the highest level down to which the way to an opening
stays above the resin; what lies higher is caught. From the pour downward-
first: the level at which resin first runs into each interval. Together they
give the state at every level of the rising resin, without time steps.
"""

import heapq
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from castplan.columns.field import ColumnField
from castplan.columns.peaks import spread_level
from castplan.columns.raster import compiled

N_SPILL = 33  # heights at which a spill's volume is told


@compiled
def escape_levels(first, bottom, top, column_of, n_x, openings):
    """Level up to which air of each interval gets out, (n,) float64 [mm].

    The largest, over all ways to an opening, of the lowest roof on the way;
    -inf where no way leads to one.

    Parameters
    ----------
    first, bottom, top, column_of : arrays of a field
    n_x : int
    openings : (k,) int64, intervals that are open at their top
    """
    level = np.full(bottom.size, -np.inf)
    heap = [(0.0, np.int64(0))]
    heap.pop()
    for s in range(openings.size):
        k = openings[s]
        level[k] = top[k]
        heapq.heappush(heap, (-level[k], k))
    while len(heap) > 0:
        key, k = heapq.heappop(heap)
        if -key < level[k]:
            continue
        for step in (-1, 1, -n_x, n_x):
            other = column_of[k] + step
            for j in range(first[other], first[other + 1]):
                roof = min(top[j], top[k])
                if roof <= max(bottom[j], bottom[k]):
                    continue
                reach = min(level[k], roof)
                if reach > level[j]:
                    level[j] = reach
                    heapq.heappush(heap, (-reach, np.int64(j)))
    return level


@compiled
def entry_levels(first, bottom, top, column_of, n_x, source):
    """Level of the resin at which it first runs into each interval, (n,) [mm].

    The least, over all ways from the source, of the highest sill on the way;
    inf where resin never comes. `top` may be lowered by caught air.

    Parameters
    ----------
    first, bottom, top, column_of : arrays of a field
    n_x : int
    source : int, interval that the resin falls into
    """
    level = np.full(bottom.size, np.inf)
    level[source] = bottom[source]
    heap = [(bottom[source], np.int64(source))]
    while len(heap) > 0:
        z, k = heapq.heappop(heap)
        if z > level[k]:
            continue
        for step in (-1, 1, -n_x, n_x):
            other = column_of[k] + step
            for j in range(first[other], first[other + 1]):
                sill = max(bottom[j], bottom[k])
                if min(top[j], top[k]) <= sill:
                    continue
                z_in = max(z, sill)
                if z_in < level[j]:
                    level[j] = z_in
                    heapq.heappush(heap, (z_in, np.int64(j)))
    return level


@compiled
def run_down(first, bottom, top, column_of, n_x, start):
    """Interval in which resin that falls into `start` comes to rest."""
    k = start
    while True:
        lowest = k
        for step in (-1, 1, -n_x, n_x):
            other = column_of[k] + step
            for j in range(first[other], first[other + 1]):
                if min(top[j], top[k]) > bottom[k] and bottom[j] < bottom[lowest]:
                    lowest = j
        if lowest == k:
            return k
        k = lowest


@compiled
def climb(first, bottom, top, column_of, n_x, start, slack_mm):
    """Interval under whose roof a bubble that starts in `start` comes to rest.

    It passes dips of up to `slack_mm`: a ridge that runs askew to the lattice
    shows such dips though it has none.
    """
    k = start
    while True:
        reached = spread_level(first, bottom, top, column_of, n_x, k, top[k] - slack_mm)
        highest = k
        for j in reached:
            # They come in no order: of equals the first interval.
            is_level = highest != k and top[j] == top[highest] and j < highest
            if top[j] > top[highest] or is_level:
                highest = j
        if highest == k:
            return k
        k = highest


@compiled
def label_joined(first, bottom, top, column_of, n_x, is_member):
    """Connected groups of members: (n,) int64 from 0, -1 elsewhere; and their number.

    Parameters
    ----------
    first, bottom, top, column_of : arrays of a field, ends moved as wanted
    n_x : int
    is_member : (n,) bool
    """
    label = np.full(bottom.size, -1, np.int64)
    n = 0
    for seed in range(bottom.size):
        if not is_member[seed] or label[seed] >= 0:
            continue
        label[seed] = n
        stack = [np.int64(seed)]
        while len(stack) > 0:
            k = stack.pop()
            for step in (-1, 1, -n_x, n_x):
                other = column_of[k] + step
                for j in range(first[other], first[other + 1]):
                    if (
                        is_member[j]
                        and label[j] < 0
                        and min(top[j], top[k]) > max(bottom[j], bottom[k])
                    ):
                        label[j] = n
                        stack.append(np.int64(j))
        n += 1
    return label, n


@dataclass(frozen=True, kw_only=True, eq=False)
class Basin:
    """A low part of the cavity that fills by running over an edge."""

    sill_mm: float  # height of the edge
    depth_mm: float  # the resin falls this far
    volume_mm3: float  # below the edge
    interval: int  # its lowest


@dataclass(frozen=True, kw_only=True, eq=False)
class Spill:
    """What fills while the resin stands at one edge and runs over it, lowest first."""

    sill_mm: float
    before_mm3: float  # in the cavity when it begins
    height_mm: np.ndarray  # (k,) ascending
    volume_mm3: np.ndarray  # (k,) run over by then


@dataclass(frozen=True, kw_only=True, eq=False)
class Filling:
    """The cavity's state at every level of the resin.

    Of an interval, resin takes `bottom` to the level, once the level has
    passed `entry`; nothing above `roof_mm` ever fills.
    """

    field: ColumnField
    roof_mm: np.ndarray  # (n,) resin's last level in each interval, at least its bottom
    entry_mm: np.ndarray  # (n,) inf where resin never comes
    source: int

    def wet_mm(self, *, level_mm: float) -> np.ndarray:
        """Length of each interval under resin, (n,)."""
        wet = np.minimum(self.roof_mm, level_mm) - self.field.bottom_mm
        return np.where(self.entry_mm < level_mm, np.maximum(wet, 0.0), 0.0)

    def caught_mm(self, *, level_mm: float) -> np.ndarray:
        """Length of each interval that holds air cut off from every opening, (n,).

        Air is cut off once the resin stands at the roof under which it would
        have to pass; what resin never reaches counts from the end on.
        """
        air = self.field.top_mm - self.floor_of_air_mm
        cut = (air > 0) & (self.cut_off_mm <= level_mm)
        return np.where(cut, air, 0.0)

    def filled_mm3(self, *, level_mm: float) -> float:
        """Resin in the cavity at a level."""
        return float(self.wet_mm(level_mm=level_mm).sum() * self.field.cell_mm2)

    def caught_mm3(self, *, level_mm: float) -> float:
        """Air in the cavity that cannot get out any more, at a level."""
        return float(self.caught_mm(level_mm=level_mm).sum() * self.field.cell_mm2)

    @property
    def low_mm(self) -> float:
        """Where the resin first lies."""
        return float(self.field.bottom_mm[self.source])

    @property
    def high_mm(self) -> float:
        """The level at which all that can fill is full."""
        wet = np.isfinite(self.entry_mm)
        return float(np.maximum(self.roof_mm, self.entry_mm)[wet].max())

    @cached_property
    def floor_of_air_mm(self) -> np.ndarray:
        """Height over which each interval keeps air to the end, (n,); its top where it fills."""
        return np.where(np.isfinite(self.entry_mm), self.roof_mm, self.field.bottom_mm)

    @cached_property
    def cut_off_mm(self) -> np.ndarray:
        """Resin's level at which the caught air of each interval is cut off, (n,)."""
        at = np.where(np.isfinite(self.entry_mm), np.maximum(self.roof_mm, self.entry_mm), np.inf)
        # Intervals of one pocket are cut off together, with the first of them;
        # those that resin never reaches too, and at the latest at the end.
        has_air = self.field.top_mm > self.floor_of_air_mm
        field = self.field
        label, n = label_joined(
            field.first,
            self.floor_of_air_mm,
            field.top_mm,
            field.column_of,
            field.n_x,
            has_air,
        )
        first = np.full(n, self.high_mm)
        np.minimum.at(first, label[has_air], at[has_air])
        at = np.full(at.size, np.inf)
        at[has_air] = first[label[has_air]]
        return at

    def level_at(self, *, fraction: float) -> float:
        """The level at which a share of all that fills is full; just past a spill's jump."""
        low, high = self.low_mm, np.nextafter(self.high_mm, np.inf)
        wanted = fraction * self.filled_mm3(level_mm=high)
        while high - low > 1e-3:
            middle = 0.5 * (low + high)
            if self.filled_mm3(level_mm=middle) < wanted:
                low = middle
            else:
                high = middle
        return high

    def spills(self, *, min_mm3: float) -> list[Spill]:
        """What fills over each edge, above a volume, in the order in which it does."""
        bottom, area = self.field.bottom_mm, self.field.cell_mm2
        high = np.minimum(self.roof_mm, self.entry_mm)
        inside = np.flatnonzero(np.isfinite(self.entry_mm) & (high - bottom > 1e-9))
        sill, group = np.unique(np.round(self.entry_mm[inside], 6), return_inverse=True)
        volume = np.bincount(group, weights=(high - bottom)[inside]) * area
        found = []
        for g in np.flatnonzero(volume >= min_mm3):
            members = inside[group == g]
            low, top = bottom[members], high[members]
            height = np.linspace(low.min(), top.max(), N_SPILL)
            length = [np.clip(z - low, 0.0, top - low).sum() for z in height]
            found.append(
                Spill(
                    sill_mm=float(sill[g]),
                    before_mm3=self.filled_mm3(level_mm=float(sill[g]) - 1e-6),
                    height_mm=height,
                    volume_mm3=np.array(length) * area,
                )
            )
        return found

    def basins(self, *, min_mm3: float) -> list[Basin]:
        """Basins above a volume that fill by running over, in the order they do."""
        field = self.field
        deep = np.minimum(self.roof_mm, self.entry_mm) - field.bottom_mm
        spilled = np.isfinite(self.entry_mm) & (deep > 1e-9)
        label, _ = label_joined(
            field.first, field.bottom_mm, self.roof_mm, field.column_of, field.n_x, spilled
        )
        inside = np.flatnonzero(spilled)
        # Touching basins with different edges are different basins.
        key = np.stack([label[inside].astype(float), np.round(self.entry_mm[inside], 6)], axis=1)
        _, group = np.unique(key, axis=0, return_inverse=True)
        group = group.reshape(-1)
        volume = np.bincount(group, weights=deep[inside]) * field.cell_mm2
        found = []
        for g in np.flatnonzero(volume >= min_mm3):
            members = inside[group == g]
            lowest = int(members[np.argmin(field.bottom_mm[members])])
            sill = float(self.entry_mm[members].max())
            found.append(
                Basin(
                    sill_mm=sill,
                    depth_mm=sill - float(field.bottom_mm[lowest]),
                    volume_mm3=float(volume[g]),
                    interval=lowest,
                )
            )
        return sorted(found, key=lambda basin: (basin.sill_mm, basin.interval))


def fill_field(field: ColumnField, *, source: int, openings, others=()) -> Filling:
    """Fill a cavity by level from one place, air leaving through openings only.

    Quasi-static: levels balance at once, air neither dissolves nor is
    compressed, resin that runs over an edge falls to the lowest place.
    Where it does run over an edge, air may still leave through parts that are
    dry though they lie below the level: the caught air is then at most this.

    Parameters
    ----------
    field : ColumnField
        Sampled along the upward direction.
    source : int
        Interval that the resin enters.
    openings : (k,) int64
        Intervals that are open at their top.
    others : sequence of int
        Intervals that resin enters besides, of cavities which the first does not fill:
        it stands equally high in all.

    Returns
    -------
    Filling
    """
    arrays = (field.first, field.bottom_mm, field.top_mm, field.column_of, field.n_x)
    escape = escape_levels(*arrays, np.asarray(openings, dtype=np.int64))
    roof = np.clip(escape, field.bottom_mm, field.top_mm)
    entry = np.full(roof.size, np.inf)
    sources = []
    for start in (source, *others):
        pool = start if roof[start] > field.bottom_mm[start] else _first_pool(field, start, roof)
        sources.append(run_down(*arrays, pool))
        levels = entry_levels(
            field.first, field.bottom_mm, roof, field.column_of, field.n_x, sources[-1]
        )
        entry = np.minimum(entry, levels)
    return Filling(
        field=field,
        roof_mm=roof,
        entry_mm=entry,
        source=min(sources, key=lambda k: float(field.bottom_mm[k])),
    )


def _first_pool(field, source, roof):
    """Where resin first comes to stand that falls in through a place which keeps its air.

    It falls through that air; what is cut off is only what lies above the
    saddle to the next opening.
    """
    bottom = field.bottom_mm
    entry = entry_levels(field.first, bottom, field.top_mm, field.column_of, field.n_x, source)
    fills = np.flatnonzero((roof > bottom) & np.isfinite(entry))
    if not len(fills):
        return source
    return int(fills[np.lexsort((bottom[fills], entry[fills]))[0]])
