"""Rocking: ridges whose bubbles walk to one vent, and posts whose bubbles do not."""

import math

import bodies
import numpy as np
import pytest
import shapes
from pouring import Setup

from castplan.air import rocking
from castplan.air.rocking import TILT_DEG, find_rocking
from castplan.records import Job

SLOPE_DEG = 15.0


def ridges(n, *, slope_deg=SLOPE_DEG, half_mm=15.0):
    """A roof of `n` equal ridges along y, flanks of one slope, on a block 10 mm high."""
    up = half_mm * math.tan(math.radians(slope_deg))
    top = [(half_mm * k, 10 + (up if k % 2 else 0.0)) for k in range(2 * n + 1)]
    return shapes.extruded([(0, 0), (2 * n * half_mm, 0), *top[::-1]], 20.0)


def rock(body, **choices):
    setup = Setup(body, job=Job(**choices))
    return setup.openings, find_rocking(setup.part, setup.attitude, setup.openings, setup.job)


def test_bubbles_run_along_a_roof_that_the_tilt_makes_rise():
    air, found = rock(ridges(3))
    assert len(air.vents) == 2
    # Flanks at 15 degrees all rise one way at a tilt of 30: past every ridge
    # to the end of the block, and level again back to the last ridge.
    assert TILT_DEG > SLOPE_DEG
    assert found.n_saved == 1 and len(found.vents) == 1
    assert found.left_mm3 < 20
    # Without rocking a third of the ridges keeps its air: 15 tan 15 x 15 x 20 mm3.
    one_mm3 = 15 * math.tan(math.radians(SLOPE_DEG)) * 15 * 20
    # Columns at the valley add a pitch of its length.
    assert found.still_mm3 == pytest.approx(one_mm3, rel=0.1)
    (tilt,) = found.tilts
    assert tilt.toward_deg in (0.0, 180.0)


def test_flanks_steeper_than_the_tilt_hold_their_bubbles():
    air, found = rock(ridges(3, slope_deg=40.0))
    assert len(air.vents) == 2
    assert found.tilts == () and found.n_saved == 0
    assert found.vents == air.vents


def test_posts_hold_their_bubbles():
    air, found = rock(bodies.posts((8, 14, 11, 20)))
    assert len(air.vents) == 3
    assert found.tilts == ()


@pytest.mark.parametrize("n", [1, 2])
def test_gate_and_one_vent_are_never_fewer(n):
    air, found = rock(ridges(n))
    assert found.vents == air.vents and found.n_saved == 0
    assert np.isfinite(found.left_mm3)


class Row:
    """Pockets in a row, each a place of its own; a tilt moves bubbles as a table says."""

    def __init__(self, leads):
        self.leads, self.holds_mm3 = leads, np.full(len(leads), 100.0)

    def end_of(self, place):
        """The pocket that a bubble comes to, and a place in it."""
        pocket = self.leads[int(place[0])]
        return pocket, (pocket,)

    def rise(self, bubbles):
        """Bubbles after resting here, none where they got out."""
        ends = [(self.end_of(place), volume) for place, volume in bubbles]
        return [(place, volume) for (pocket, place), volume in ends if pocket >= 0]


def row_of(monkeypatch, *tilts):
    """Level, and the tilts; a bubble of 100 mm3 in every pocket."""
    n = len(tilts[0])
    bubbles = [((k,), 100.0) for k in range(n)]
    monkeypatch.setattr(rocking, "_bubbles", lambda home: bubbles)
    return [Row(list(range(n))), *(Row(leads) for leads in tilts)]


def test_a_zigzag_is_walked_turn_by_turn(monkeypatch):
    """Bubbles that go one way, back, one way, back: no three different tilts do it."""
    # Corner to corner: 0 to 1 and 2 to 3 by the first tilt, 1 to 2 and 3 out by the second.
    states = row_of(monkeypatch, [1, 1, 3, 3], [0, 2, 2, rocking.OUT])
    assert rocking._search(states, 20.0) is None
    sequence, left_mm3, still_mm3 = rocking._walk(states, 20.0)
    assert sequence == (1, 2, 1, 2)
    assert left_mm3 == 0 and still_mm3 == 400


def test_a_group_without_a_way_out_needs_one_vent(monkeypatch):
    # 0 and 1 swap their bubbles for ever, 2 leads into them, 3 keeps its own, 4 gets out.
    states = row_of(monkeypatch, [1, 0, 1, 3, rocking.OUT], [0, 1, 2, 3, 4])
    places = np.array([[k] for k in range(5)], dtype=float)
    assert sorted(rocking._one_in_each(states, places, [1, 0, 2, 3, 4], 20.0)) == [1, 3]
    assert rocking._walk(states, 20.0) is None


def test_vents_in_groups_that_nothing_leads_out_of_are_kept():
    # Three ridges whose bubbles run to one end, and two posts beside them that hold theirs.
    solid = bodies.solid_of(*ridges(3)[:2])
    for x in (10.0, 60.0):
        solid += bodies.cuboid((x, x + 8), (18, 30), (0, 10))
        solid += bodies.cuboid((x, x + 8), (24, 30), (0, 19))
    air, found = rock(bodies.arrays(solid))
    assert found.n_saved >= 1
    kept = [air.peaks[k].place_mm for k in (air.opened[0], *found.vents)]
    for x in (10.0, 60.0):
        assert any(x <= place[0] <= x + 8 and place[1] > 20 for place in kept)
