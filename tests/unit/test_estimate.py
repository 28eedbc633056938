"""Amounts without a mesh, against closed forms."""

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from castplan.bench.estimate import estimate
from castplan.errors import InputError
from castplan.materials.cards import get_card
from castplan.materials.waste import resin_waste, silicone_waste
from castplan.records import Job

IN = 25.4
CM3_PER_IN3 = 16.387064
SILICONE = get_card("silicone-tin-25a", kind="silicone")


@pytest.mark.parametrize(
    ("outer_in", "inner_in", "expected_in3", "error"),
    [
        # Box 10 x 5 x 2 in less part 10 x 5 x 1 in = 50 in3 (closed form). No mould
        # has walls of nothing: 0.1 mm of them add 0.5 % here.
        ((10, 5, 2), (10, 5, 1), 50, 6e-3),
        # 4^3 - 3^3 in = 37 in3 (closed form).
        ((4, 4, 4), (3, 3, 3), 37, 1e-9),
    ],
)
def test_box_less_part(outer_in, inner_in, expected_in3, error):
    wall = max((outer_in[0] - inner_in[0]) / 2 * IN, 0.1)
    height = (outer_in[2] - inner_in[2]) / 2 * IN
    solid_ml = inner_in[0] * inner_in[1] * inner_in[2] * CM3_PER_IN3
    job = Job(
        wall_mm=wall,
        over_mm=height,
        under_mm=height,
        water_ml=solid_ml,
    )
    sides = dict(zip(("length_mm", "width_mm", "height_mm"), inner_in, strict=True))
    result = estimate(**{name: IN * side for name, side in sides.items()}, job=job)
    grams = expected_in3 * CM3_PER_IN3 * 1.08 * (1 + silicone_waste().value)
    assert result.silicone_g.value == pytest.approx(grams, rel=error)
    # A part that fills its bounding box: the usual guess is the answer.
    assert result.bounding_box_g == pytest.approx(grams, rel=error)


def test_cavity_filled_with_water():
    # 67 g of water in the cavity; resin at 1.05 g/ml: mass is volume times density (closed
    # form).
    job = Job(water_ml=67.0)
    result = estimate(length_mm=60.0, width_mm=50.0, height_mm=40.0, job=job)
    # On top 1.2 ml of ports and a tenth of the shot in the cup.
    resin = result.resin_g.value / 1.10 / (1 + resin_waste().value)
    assert resin == pytest.approx((67 + 1.2) * 1.05)


def test_no_copy_takes_less_than_the_smallest_mix():
    # A part of 10 ml: 12 g of resin, but 85 g is the least that cures (the card).
    result = estimate(length_mm=40.0, width_mm=30.0, height_mm=20.0, job=Job(water_ml=10.0))
    least_g = get_card(Job().resin, kind="resin").smallest_mix_g.value
    assert result.resin_g.value == result.resin_g.low == result.resin_g.high == least_g


def test_the_answer_says_how_wide_it_is():
    sides = {"length_mm": 142.0, "width_mm": 61.0, "height_mm": 38.0}
    blind = estimate(**sides, job=Job())
    weighed = estimate(**sides, job=Job(original_g=318.6, original_density_g_ml=2.7))
    wet = estimate(**sides, job=Job(water_ml=118.0))
    widths = [(r.resin_g.high - r.resin_g.low) / r.resin_g.value for r in (blind, weighed, wet)]
    assert widths[0] > widths[1] > widths[2] > 0
    assert wet.resin_g.value == pytest.approx(weighed.resin_g.value)
    assert blind.part_ml.basis == "assumed" and wet.part_ml.basis == "measured"


def test_the_ends_take_every_error_at_its_worst():
    """By hand: 100 x 60 x 40 mm, 12 mm all round, 100 ml by water, 1 mm and 3 % off."""
    job = Job(water_ml=100.0, wall_mm=12.0)
    rubber = estimate(length_mm=100.0, width_mm=60.0, height_mm=40.0, job=job).silicone_g
    assert rubber.low == pytest.approx((123 * 83 * 63 / 1000 - 103) * 1.05 * 1.07)
    assert rubber.high == pytest.approx((125 * 85 * 65 / 1000 - 97) * 1.10 * 1.09)
    assert rubber.value == pytest.approx((124 * 84 * 64 / 1000 - 100) * 1.07 * 1.08)


def test_a_part_larger_than_its_box_is_refused():
    with pytest.raises(InputError, match="less than its bounding box"):
        estimate(length_mm=50.0, width_mm=50.0, height_mm=50.0, job=Job(water_ml=200.0))


@given(
    sides=st.tuples(*[st.floats(10, 400)] * 3),
    fill=st.floats(0.05, 0.9),
    water_error=st.floats(-0.029, 0.029),
    tape=st.tuples(*[st.floats(-0.99, 0.99)] * 3),
    waste=st.floats(0.05, 0.10),
    density=st.floats(1.07, 1.09),
)
def test_the_truth_lies_within(sides, fill, water_error, tape, waste, density):
    """Whatever the tape, the jug and the tin are off by, within what they may be."""
    length, width, height = sides
    part_ml = length * width * height / 1000 * fill
    job = Job(water_ml=part_ml * (1 + water_error), wall_mm=12.0)
    measured = dict(
        zip(
            ("length_mm", "width_mm", "height_mm"),
            (side + off for side, off in zip(sides, tape, strict=True)),
            strict=True,
        )
    )
    # A small block read short all round, and its water read long, is refused as it should be.
    assume(job.water_ml < math.prod(measured.values()) / 1000)
    result = estimate(**measured, job=job)
    box_ml = (length + 24) * (width + 24) * (height + 24) / 1000
    silicone_g = (box_ml - part_ml) * (1 + waste) * density
    # The jug's error is of the true volume here and of the reading there: 3 % of 3 %.
    slack_g = 0.001 * part_ml * 1.2
    assert result.silicone_g.low - slack_g <= silicone_g <= result.silicone_g.high + slack_g
