"""Lengths of a text in one unit, by the closed form of the inch: 25.4 mm."""

import re
from fractions import Fraction

import pytest

from castplan.words.lengths import in_unit

MM = (
    "Clay up to 27 mm (1 1/16 in) above the board, "
    "box 120 x 70 x 54 mm (4 23/32 x 2 3/4 x 2 1/8 in)."
)


def test_of_both_units_one_is_left():
    assert in_unit(MM, "mm") == "Clay up to 27 mm above the board, box 120 x 70 x 54 mm."
    assert in_unit(MM, "inch") == (
        "Clay up to 1 1/16 in above the board, box 4 23/32 x 2 3/4 x 2 1/8 in."
    )
    # Three lengths with nothing in brackets are no range.
    assert in_unit("30 x 96 x 46 mm, 25.5 ml", "inch") == ("1 3/16 x 3 25/32 x 1 13/16 in, 25.5 ml")


def test_it_does_not_matter_which_unit_stands_first():
    told = "Size: 1 3/16 x 3 25/32 x 1 13/16 in (30 x 96 x 46 mm)."
    assert in_unit(told, "mm") == "Size: 30 x 96 x 46 mm."
    assert in_unit(told, "inch") == "Size: 1 3/16 x 3 25/32 x 1 13/16 in."


@pytest.mark.parametrize("length_mm", [3.0, 4.0, 12.0, 25.4, 30.0, 96.5, 407.0, 1153.0])
def test_a_length_alone_is_the_same_length_to_a_64th(length_mm):
    told = in_unit(f"It is {length_mm:g} mm long.", "inch")
    (number,) = re.fullmatch(r"It is (.*) in long.", told).groups()
    inches = sum(map(Fraction, number.split()))
    # The nearest 32nd is half a 32nd off at the most.
    assert float(inches) == pytest.approx(length_mm / 25.4, abs=1 / 64)


def test_short_ranges_and_tolerances_keep_their_digits():
    assert in_unit("Bubbles over 0.26 to 0.31 mm escape.", "inch") == (
        "Bubbles over 0.010 to 0.012 in escape."
    )
    assert in_unit("4.2 +- 0.3 mm", "inch") == "5/32 +- 0.012 in"
    assert in_unit("Any height from 19.9 to 34.0 mm is as good.", "inch") == (
        "Any height from 25/32 to 1 11/32 in is as good."
    )


def test_what_is_no_length_stays():
    for told in ("111 cm2, 9 mm2 and 5 mm³", "0.57 kPa", "A 235.6 g", "<svg>12 mm</svg>"):
        assert in_unit(told, "inch") == told
    assert in_unit({"a": [1, None, True, "3 mm"]}, "mm") == {"a": [1, None, True, "3 mm"]}
