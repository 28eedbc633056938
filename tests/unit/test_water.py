"""The measured original against the mesh."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from output.neutral import filled

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


@given(measured_ml=st.floats(1, 290))
def test_box_halves_and_part_still_add_up(measured_ml):
    after = use_measured(mould(), check_water(mould(), Job(water_ml=measured_ml)))
    assert after.part_ml == measured_ml
    assert after.part_ml + after.upper_ml + after.lower_ml == pytest.approx(300.0)
    assert after.upper_ml / after.lower_ml == pytest.approx(1.6)
    assert after.upper_ml > 0


def test_a_part_larger_than_its_box_leaves_the_mesh_to_be_trusted():
    assert use_measured(mould(), check_water(mould(), Job(water_ml=400.0))).part_ml == 40.0
