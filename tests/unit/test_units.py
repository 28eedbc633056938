"""Conversions against the definitions of the units.

All of them exact, by definition.
"""

import pytest

from castplan import texts, units

# Exact definitions: NIST Special Publication 811 (2008), appendix B, and NIST
# Handbook 44, appendix C (from memory): 1 in = 25.4 mm, 1 lb = 0.45359237 kg =
# 16 oz, 1 US gallon = 231 in3 = 128 fl oz.


def test_the_constants_follow_from_the_exact_definitions():
    assert units.MM_PER_INCH == 25.4
    assert pytest.approx(453.59237 / 16, rel=1e-15) == units.G_PER_OUNCE
    assert pytest.approx(2.54**3, rel=1e-15) == units.CM3_PER_IN3
    assert pytest.approx(231 * 2.54**3 / 128, rel=1e-15) == units.ML_PER_US_FL_OZ
    assert units.MM3_PER_ML == 1000.0
    assert units.MM_PER_UNIT["ft"] == pytest.approx(304.8, rel=1e-15)


@pytest.mark.parametrize(
    ("name", "length_mm"),
    # The six units of the 3MF Core Specification, attribute "unit" of "model".
    [
        ("micron", 0.001),
        ("millimeter", 1.0),
        ("centimeter", 10.0),
        ("inch", 25.4),
        ("foot", 304.8),
        ("meter", 1000.0),
    ],
)
def test_every_unit_of_3mf_is_known(name, length_mm):
    assert units.mm_per_unit(name) == pytest.approx(length_mm, rel=1e-15)
    assert units.mm_per_unit(f" {name.upper()} ") == units.mm_per_unit(name)


def test_an_unknown_unit_is_none():
    assert units.mm_per_unit("furlong") is None


def test_conversions_of_worked_values():
    # US cup = 8 fl oz = 236.588 mL (NIST Handbook 44, appendix C, from memory).
    assert pytest.approx(236.588, abs=5e-4) == 8 * units.ML_PER_US_FL_OZ  # printed digits
    assert units.in_from_mm(304.8) == pytest.approx(12.0, rel=1e-15)
    assert units.oz_from_g(453.59237) == pytest.approx(16.0, rel=1e-15)
    assert units.ml_from_mm3(10.0**3) == 1.0


@pytest.mark.parametrize(
    ("length_mm", "text"),
    # Closed form: k/32 in times 25.4 mm.
    [
        (0.0, "0"),
        (25.4, "1"),
        (25.4 * 21 / 16, "1 5/16"),
        (25.4 / 32, "1/32"),
        (25.4 * 0.98, "31/32"),
        (25.4 * 0.99, "1"),
        (25.4 * 12.5, "12 1/2"),
    ],
)
def test_inch_fractions_are_reduced_and_nearest(length_mm, text):
    assert units.inch_fraction(length_mm) == text


def test_the_denominator_of_inch_fractions_is_a_choice():
    assert units.inch_fraction(25.4 * 0.3, denominator=8) == "1/4"


def test_size_objects_cover_every_size_and_grow():
    sizes_mm = [2, 10, 20, 50, 95, 150, 300, 600, 1000, 2000, 9000]
    objects = [units.size_object(size_mm) for size_mm in sizes_mm]
    assert len(set(objects)) == len(objects)
    words = [texts.english()[f"size_object.{name}"] for name in objects]
    assert words[4] == "about a hand's breadth"
    assert words[-1] == "larger than a door"


@pytest.mark.parametrize(
    ("extent", "text"),
    [
        ((142.2, 61.4, 38.1), "142 x 61 x 38 mm"),
        ((14.22, 6.14, 3.81), "14.2 x 6.1 x 3.8 mm"),
        ((1.422, 0.614, 0.381), "1.42 x 0.61 x 0.38 mm"),
        ((1422.0, 614.0, 381.0), "1422 x 614 x 381 mm"),
    ],
)
def test_extents_show_three_digits_of_the_longest_side(extent, text):
    assert units.extent_text(extent, unit="mm") == text
