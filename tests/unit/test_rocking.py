"""Rocking: ridges whose bubbles walk to one vent, and posts whose bubbles do not."""

import math

import bodies
import numpy as np
import pytest
import shapes
from pouring import Setup

from castplan.model import Job
from castplan.stages.rocking import TILT_DEG, find_rocking

SLOPE_DEG = 15.0


def ridges(n, *, slope_deg=SLOPE_DEG, half_mm=15.0):
    """A roof of `n` equal ridges along y, flanks of one slope, on a block 10 mm high."""
    up = half_mm * math.tan(math.radians(slope_deg))
    top = [(half_mm * k, 10 + (up if k % 2 else 0.0)) for k in range(2 * n + 1)]
    return shapes.extruded([(0, 0), (2 * n * half_mm, 0), *top[::-1]], 20.0)


def rock(body, **choices):
    setup = Setup(body, job=Job(**choices))
    return setup.air, find_rocking(setup.part, setup.attitude, setup.air, setup.job)


def test_bubbles_run_along_a_roof_that_the_tilt_makes_rise():
    air, rocking = rock(ridges(3))
    assert len(air.vents) == 2
    # Flanks at 15 degrees all rise one way at a tilt of 30: past every ridge
    # to the end of the block, and level again back to the last ridge.
    assert TILT_DEG > SLOPE_DEG
    assert rocking.n_saved == 1 and len(rocking.vents) == 1
    assert rocking.left_mm3 < 20
    # Without rocking a third of the ridges keeps its air: 15 tan 15 x 15 x 20 mm3.
    one_mm3 = 15 * math.tan(math.radians(SLOPE_DEG)) * 15 * 20
    # Columns at the valley add a pitch of its length.
    assert rocking.still_mm3 == pytest.approx(one_mm3, rel=0.1)
    (tilt,) = rocking.tilts
    assert tilt.toward_deg in (0.0, 180.0)


def test_flanks_steeper_than_the_tilt_hold_their_bubbles():
    air, rocking = rock(ridges(3, slope_deg=40.0))
    assert len(air.vents) == 2
    assert rocking.tilts == () and rocking.n_saved == 0
    assert rocking.vents == air.vents


def test_posts_hold_their_bubbles():
    air, rocking = rock(bodies.posts((8, 14, 11, 20)))
    assert len(air.vents) == 3
    assert rocking.tilts == ()


@pytest.mark.parametrize("n", [1, 2])
def test_gate_and_one_vent_are_never_fewer(n):
    air, rocking = rock(ridges(n))
    assert rocking.vents == air.vents and rocking.n_saved == 0
    assert np.isfinite(rocking.left_mm3)
