"""Plans of trim hold when their finished halves are pulled apart.

The plan's numbers against `pull`, which sees the solids alone. Slats, lattices,
hollow panels and pockets that holes run through: where bowl and hole meet, a
plan may believe that a bowl is the upper half's and build a surface that gives
it to the lower one.
"""

import functools
import math

import pull
import pytest
import trim_trial

ALONG_Z = (0.0, 0.0, 1.0)
# The search for draw and pouring position is not in question: few of each do.
QUICK = {"n_directions": 60, "n_attitudes": 60}

# body, choices, and why it is here
CASES = {
    "panel_u_up": {},  # hollow, walls on three sides of each hole, its face given
    "both_sides": {"draw": ALONG_Z},  # hollows above and below, holes between
    "steps_of_holes": {"draw": ALONG_Z},  # pockets of three depths, each met by a hole
    "panel_small": {"draw": ALONG_Z, "show_face": ALONG_Z},
    "slats_7_tilted": {},  # slats in an opening that climbs
    "rib_over_hole": {"draw": ALONG_Z},  # some of it is locked
    "scan_pierced": {"draw": ALONG_Z},  # one side of a sheet with holes, thickened
    "ladder_crowned": {"draw": ALONG_Z},  # eleven plugs, each at a height of its own
    "angle_moulding": {},  # drawn between its legs, so that the parting steps at its ends
}


# Its face given, slats that climb, a sheet thickened: what fails there fails elsewhere too.
SOON = ("panel_small", "slats_7_tilted", "scan_pierced")
NAMES = [pytest.param(name, marks=() if name in SOON else pytest.mark.long) for name in CASES]


@functools.cache
def trial(name):
    """The body of a name through plan, halves and judge."""
    return trim_trial.try_body(name, **(QUICK | CASES[name]))


def noise_mm3(judged: pull.Pull) -> float:
    """How far two samplings of one trapped volume may lie apart, mm3.

    Plan and judge each look at some 300 rays across the box, so each may err by
    what the judge's own two looks differ by; that difference is one draw of a
    random error, hence three times. Gaps of a few rays along edges, where the
    drawn surface follows the part from point to point, come to under 0.1 ml on
    parts of this size; the least volume that is guarded here is 1.6 ml.
    """
    return 3 * judged.sampling_mm3 + 100.0


@pytest.mark.parametrize("name", NAMES)
def test_the_plan_says_what_the_halves_trap(name):
    made = trial(name)
    told_mm3 = made.plan.split.line.trapped_mm3
    assert told_mm3 == pytest.approx(made.pull.trapped_mm3, abs=noise_mm3(made.pull)), (
        f"{made.plan.split.line.kind}: {'; '.join(map(str, made.pull.places[:3]))}"
    )


@pytest.mark.parametrize("name", NAMES)
def test_the_halves_weigh_what_the_plan_pours(name):
    made = trial(name)
    judged, mould = made.pull, made.plan.mould.block
    # The plan pours whole halves: bores are no part of its amounts, and keys take
    # their caps (V = pi h (3 a^2 + h^2) / 6) from one half for the other.
    keys = made.plan.mould.keys
    high, wide = keys.depth_mm, keys.diameter_mm / 2
    caps_ml = len(keys.places_mm) * math.pi * high * (3 * wide**2 + high**2) / 6000
    # Columns across the halves: half a percent.
    silicone_ml = (judged.upper_mm3 + judged.lower_mm3) / 1000
    off_ml = caps_ml + mould.ports_ml + 0.005 * silicone_ml
    assert mould.upper_ml == pytest.approx(judged.upper_mm3 / 1000, abs=off_ml)
    assert mould.lower_ml == pytest.approx(judged.lower_mm3 / 1000, abs=off_ml)


@pytest.mark.parametrize("name", NAMES)
def test_the_halves_are_two_bodies_that_fill_the_box(name):
    judged = trial(name).pull
    assert judged.n_bodies == (1, 1)
    assert judged.is_watertight == (True, True)
    # Cuts in double precision leave nothing twice: a film of FILM_MM over the part's
    # shadow would be a hundred times this.
    assert judged.overlap_mm3 < 1.0
    # Gate, cup and vents, sampled by rays.
    ports_mm3 = 1000 * trial(name).plan.mould.block.ports_ml
    assert judged.open_mm3 == pytest.approx(ports_mm3, abs=0.05 * ports_mm3 + 100)


@pytest.mark.parametrize("name", NAMES)
def test_a_hole_through_a_hollow_costs_nothing(name):
    """No pair of halves traps less than what lies between two surfaces of the part.

    By `pull`, a surface that goes to the part wherever there is part traps just that.
    """
    judged = trial(name).pull
    assert judged.trapped_mm3 >= judged.locked_mm3 - noise_mm3(judged)
    # Half a millilitre, a cube of 8 mm, is what a clay line set by hand may be off
    # (assumed). Bowls on the wrong side come to 1.6 to 150 ml here.
    assert judged.excess_mm3 < 500 + noise_mm3(judged)
