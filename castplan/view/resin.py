"""The pour for the view: steps of the film, and where resin comes to and air stays."""

import numpy as np

from castplan.columns.field import interval_at
from castplan.columns.flood import Filling, label_joined
from castplan.record import Frame
from castplan.view.records import Film

N_FILM = 41  # steps of the pour, the empty cavity with them
LEAST_SPILL_FRACTION = 0.002  # of the cavity; less runs over unnoticed
MOST_BASINS = 63  # that a picture tells apart, the largest first
NUDGE_MM = 0.01  # off the surface, to tell its two sides apart
# Air under this height is the sampling of a level roof.
LEAST_AIR_MM = 0.1
SAME_MM = 1e-5  # two heights of one edge


def roll_film(filling: Filling, frame: Frame, draw_frame: Frame) -> Film:
    """The pour in even steps of the volume that fills.

    Parameters
    ----------
    filling : Filling
    frame, draw_frame : Frame
        Of the pour and of the draw.
    """
    low = float(filling.field.low_mm[2])
    total_mm3 = _total_mm3(filling)
    spills = _spills(filling)
    named, rest = spills[:MOST_BASINS], spills[MOST_BASINS:]
    high = float(filling.field.high_mm[2])
    steps, basins = [], np.full((N_FILM, len(named) + bool(rest)), low)
    for step, filled_mm3 in enumerate(np.linspace(0.0, total_mm3, N_FILM)):
        level = rising = filling.level_at(fraction=filled_mm3 / total_mm3)
        for spill in spills:
            run_over = filled_mm3 - spill.before_mm3
            if 0 <= run_over < spill.volume_mm3[-1]:
                level = spill.sill_mm
                rising = float(np.interp(run_over, spill.volume_mm3, spill.height_mm))
        steps.append((level, rising, filled_mm3, filling.caught_mm3(level_mm=level)))
        for k, spill in enumerate(named):
            run_over = filled_mm3 - spill.before_mm3
            if run_over > 0:
                basins[step, k] = _height_of(spill, run_over)
        # The small ones are shown together, when the last of them is full: never early.
        if rest and all(filled_mm3 >= one.before_mm3 + one.volume_mm3[-1] for one in rest):
            basins[step, -1] = high
    level, rising, filled, caught = np.array(steps).T
    # The ledge that the first drop falls on is no level.
    rising[0] = rising[:2].min()
    sills = [spill.sill_mm for spill in named] + [high] * bool(rest)
    return Film(
        up=tuple(float(v) for v in draw_frame.to_frame(frame.up)),
        low_mm=low,
        level_mm=np.minimum(level, high) - low,
        rising_mm=np.minimum(rising, high) - low,
        basin_mm=np.minimum(basins, high) - low,
        sill_mm=np.array(sills) - low,
        filled_ml=filled / 1000,
        caught_ml=caught / 1000,
        cavity_ml=filling.field.volume_mm3 / 1000,
    )


def _height_of(spill, run_over_mm3):
    """How high a basin stands when so much has run over into it."""
    if run_over_mm3 >= spill.volume_mm3[-1]:
        return spill.sill_mm
    return float(np.interp(run_over_mm3, spill.volume_mm3, spill.height_mm))


def _total_mm3(filling):
    return filling.filled_mm3(level_mm=float(np.nextafter(filling.high_mm, np.inf)))


def _spills(filling):
    """What runs over edges, the largest first."""
    spills = filling.spills(min_mm3=LEAST_SPILL_FRACTION * filling.field.volume_mm3)
    return sorted(spills, key=lambda spill: (-spill.volume_mm3[-1], spill.sill_mm))


class Resin:
    """When resin comes to a point of the surface, and whether air stays there."""

    def __init__(self, filling, draw_frame, air):
        self.filling = filling
        field = filling.field
        self.turn = field.rotation @ draw_frame.rotation.T
        self.low_mm = float(field.low_mm[2])
        self.spills = _spills(filling)
        self.air_mm = field.top_mm - filling.floor_of_air_mm
        self.peak = self._peaks(air)

    def _peaks(self, air):
        """Number of the high point whose air each interval keeps, 0 for none, (n,)."""
        field = self.filling.field
        label, n = label_joined(
            field.first,
            self.filling.floor_of_air_mm,
            field.top_mm,
            field.column_of,
            field.n_x,
            self.air_mm > LEAST_AIR_MM,
        )
        number = np.zeros(n + 1, dtype=np.int32)  # the last stands for no air
        for peak in reversed(air.peaks):  # of several in one air the first stays
            place = field.rotation @ air.frame.to_part(np.array(peak.place_mm))
            number[label[interval_at(field, place)]] = peak.number
        number[-1] = 0
        return number[label]

    def at(self, centre, normal):
        """What resin does at facets, from the middle and the normal of each.

        Returns
        -------
        is_caught : (m,) bool
        peak : (m,) int32
        basin : (m,) int32
            Which of the film's basins the resin runs over an edge into there, from 1; 0 for
            none. What stands above its edge is wetted from the gate all the same.
        air_floor_mm : (m,)
            Height over the lowest point above which air stays; twice the highest where none
            does.
        cut_off_mm : (m,)
            Level that cuts that air off; the last level elsewhere.
        """
        filling, field = self.filling, self.filling.field
        points, out = centre @ self.turn.T, normal @ self.turn.T
        column = field.columns_at(points[:, :2] - out[:, :2] * field.pitch_mm)
        z = points[:, 2] - out[:, 2] * NUDGE_MM
        n = np.diff(field.first)[column]
        n_under, is_solid = count_under(field, column, z)
        # Outside solid: the one below for what looks up, else the one above.
        at = n_under - (is_solid | (out[:, 2] > 0))
        at = field.first[column] + np.clip(at, 0, np.maximum(n - 1, 0))
        at = np.minimum(at, field.bottom_mm.size - 1)
        is_known = n > 0
        floor = np.where(is_known, filling.floor_of_air_mm[at], np.inf)
        has_air = is_known & (self.air_mm[at] > LEAST_AIR_MM)
        is_caught = (z >= floor) & has_air
        basin = np.zeros(len(centre), dtype=np.int32)
        for k, spill in enumerate(self.spills, start=1):
            is_here = is_known & (np.abs(filling.entry_mm[at] - spill.sill_mm) < SAME_MM)
            basin[is_here] = min(k, MOST_BASINS + 1)
        cut_off = np.where(has_air, filling.cut_off_mm[at], filling.high_mm)
        last = np.clip(cut_off, field.low_mm[2], field.high_mm[2])
        peak = np.where(is_caught, self.peak[at], 0)
        none_mm = 2 * float(field.high_mm[2] - field.low_mm[2])
        floor = np.where(has_air, floor - self.low_mm, none_mm)
        return is_caught, peak, basin, floor, last - self.low_mm


def count_under(field, column, z):
    """Intervals of each point's column that begin under it, and whether one holds it."""
    first, last = field.first[column], field.first[column + 1]
    count = np.zeros(len(z), dtype=np.int64)
    is_solid = np.zeros(len(z), dtype=bool)
    for k in range(int((last - first).max(initial=0))):
        at = np.minimum(first + k, field.bottom_mm.size - 1)
        is_under = (first + k < last) & (field.bottom_mm[at] <= z)
        count += is_under
        is_solid |= is_under & (z <= field.top_mm[at])
    return count, is_solid
