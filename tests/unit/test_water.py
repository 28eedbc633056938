"""The measured original against the mesh.

Volumes and weights are worked by hand: closed forms.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from output.neutral import filled

from castplan.materials.cards import get_card
from castplan.materials.originals import DENSITIES
from castplan.mould.holddown import weigh_lift
from castplan.mould.water import AGREE_FRACTION, check_water, use_measured
from castplan.records import Job, MouldResult


def mould(part_ml=40.0):
    return filled(MouldResult, box_ml=300.0, part_ml=part_ml, upper_ml=160.0, lower_ml=100.0)


def test_nothing_measured_changes_nothing():
    assert check_water(mould(), Job()) is None
    assert check_water(mould(), Job(original_g=50.0)) is None
    box = mould()
    assert use_measured(box, None) is box


def test_water_comes_before_weight():
    job = Job(water_ml=41.0, original_g=100.0, original_density_g_ml=2.0)
    assert (check_water(mould(), job).method, check_water(mould(), job).measured_ml) == (
        "water",
        41.0,
    )


def test_weight_over_density():
    # Density of aluminium 2.70 g/ml, a handbook value: 108 g are 40 ml.
    water = check_water(mould(), Job(original_g=108.0, original_density_g_ml=2.70))
    assert water.measured_ml == pytest.approx(40.0)
    assert water.difference_fraction == pytest.approx(0, abs=1e-12)
    assert water.causes == ()


@pytest.mark.parametrize(
    ("factor", "words"),
    [
        (25.4, "in inches and was read as millimetres"),
        (1 / 25.4, "in millimetres and was read as inches"),
        (10, "in centimetres and was read as millimetres"),
        (25.4 * 1.02, "in inches and was read as millimetres"),
        (1.02, "every length would be 2.0 % too small"),
        (0.97, "every length would be 3.0 % too large"),
    ],
)
def test_a_wrong_length_shows_as_its_cube(factor, words):
    """Volumes go with the cube of the length, a closed form."""
    water = check_water(mould(), Job(water_ml=40.0 * factor**3))
    assert (1 + water.difference_fraction) ** (1 / 3) == pytest.approx(factor)
    assert words in str(water.causes[0])


def test_hollow_is_among_the_causes_of_less():
    assert any("hollow" in str(cause) for cause in check_water(mould(), Job(water_ml=30.0)).causes)
    job = Job(original_g=30.0, original_density_g_ml=1.0)
    assert any("hollow" in str(cause) for cause in check_water(mould(), job).causes)
    assert not any(
        "hollow" in str(cause) for cause in check_water(mould(), Job(water_ml=50.0)).causes
    )


@given(share=st.floats(-AGREE_FRACTION, AGREE_FRACTION))
def test_within_the_error_of_a_jug_nothing_is_said(share):
    assert check_water(mould(), Job(water_ml=40.0 * (1 + 0.999 * share))).causes == ()


@given(measured_ml=st.floats(40.0 * 0.98, 40.0 * 1.02))
def test_box_halves_and_part_still_add_up(measured_ml):
    after = use_measured(mould(), check_water(mould(), Job(water_ml=measured_ml)))
    assert after.part_ml == measured_ml
    assert after.part_ml + after.upper_ml + after.lower_ml == pytest.approx(300.0)
    assert after.upper_ml / after.lower_ml == pytest.approx(1.6)
    assert after.upper_ml > 0


def test_a_part_larger_than_its_box_leaves_the_mesh_to_be_trusted():
    assert use_measured(mould(), check_water(mould(), Job(water_ml=400.0))).part_ml == 40.0


def used(job, *, part_ml=40.0, **known):
    """The mould after the original was measured."""
    before = mould(part_ml)
    return use_measured(before, check_water(before, job, **known))


def test_a_hollow_print_is_filled_by_volume_and_still_floats():
    # A box of 180 ml printed hollow, 75 g: the cavity takes 180 ml of resin
    # whatever the print weighs. Lift by Archimedes: the silicone pushed aside
    # (the card's density) less 75 g.
    job = Job(original_g=75.0, original_density_g_ml=1.05)
    before = filled(MouldResult, box_ml=600.0, part_ml=180.0, upper_ml=220.0, lower_ml=200.0)
    water = check_water(before, job)
    after = use_measured(before, water)
    assert water.is_contradicted and water.uses == "mesh"
    assert (after.part_ml, after.upper_ml, after.lower_ml) == (180.0, 220.0, 200.0)
    assert str(water.causes[0]).startswith("the original is hollow")
    density = get_card(job.silicone, kind="silicone").density_g_ml.value
    hold = weigh_lift(after, job, part_mm3=180e3)
    assert hold.lift_g == pytest.approx(180.0 * density - 75.0)
    assert hold.is_floating


@given(measured_ml=st.floats(0.5, 290), by_water=st.booleans(), doubt_ml=st.floats(0, 4))
def test_a_contradiction_lowers_no_amount(measured_ml, by_water, doubt_ml):
    job = Job(water_ml=measured_ml)
    if not by_water:
        job = Job(original_g=2 * measured_ml, original_density_g_ml=2.0)
    after = used(job, doubt_ml=doubt_ml)
    # The most that mesh and measurement may differ: the jug's error and the holes'.
    both_ml = AGREE_FRACTION * measured_ml + doubt_ml
    assert after.part_ml >= 40.0 - both_ml - 1e-9
    # Not less silicone than the mesh leaves, but for what both may be off.
    assert after.upper_ml + after.lower_ml >= 260.0 - both_ml - 1e-9
    if measured_ml > 40.0 + both_ml:
        assert after.part_ml == pytest.approx(measured_ml)


def test_less_by_water_leaves_more_room_for_silicone():
    # Into what water ran, silicone runs; a smaller part leaves more of the box.
    after = used(Job(water_ml=30.0))
    assert after.part_ml == 40.0
    assert after.upper_ml + after.lower_ml == pytest.approx(270.0)


def test_holes_that_leave_more_open_leave_the_jug_to_be_trusted():
    assert used(Job(water_ml=36.0), doubt_ml=4.0).part_ml == 36.0
    assert used(Job(water_ml=36.0)).part_ml == 40.0


def test_a_void_closed_all_round_does_not_weigh():
    # 40 ml pushed aside, 10 of them a void: 30 ml of aluminium (2.70 g/ml) weigh 81 g.
    job = Job(original_g=81.0, original_density_g_ml=2.70)
    water = check_water(mould(), job, sealed_ml=10.0)
    assert water.difference_fraction == pytest.approx(0, abs=1e-12)
    assert not water.is_contradicted


def test_a_material_of_any_density_does_not_overrule_a_closed_mesh():
    # A print may be anything between hollow and solid: 20 g are 16 or 50 ml.
    print_ = DENSITIES["pla-print"]
    job = Job(original_g=20.0, original_density_g_ml=print_.value)
    water = check_water(mould(), job)
    assert 20.0 / print_.low * (1 + AGREE_FRACTION) == pytest.approx(water.high_ml)
    assert not water.is_contradicted and water.uses == "mesh"
    assert used(job).part_ml == 40.0
