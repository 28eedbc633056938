"""Every conversion of castplan against pint's own definitions."""

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from castplan import units
from castplan.cli.quantities import G_PER_UNIT, ML_PER_UNIT
from castplan.materials.cards import class_cards, split_by_weight

PINT = pint.UnitRegistry()
# How the names on sheets and on the command line are called by pint.
NAMES = {
    "g/ml": "g/milliliter",
    "g/cm3": "g/centimeter**3",
    "kg/l": "kg/liter",
    "kg/m3": "kg/meter**3",
    "lb/in3": "pound/inch**3",
    "lb/gal": "pound/US_liquid_gallon",
    "mPa s": "millipascal*second",
    "cP": "centipoise",
    "cps": "centipoise",
    "Pa s": "pascal*second",
    "P": "poise",
    "min": "minute",
    "s": "second",
    "h": "hour",
    "d": "day",
    "1": "dimensionless",
    "%": "percent",
    "mm/mm": "dimensionless",
    "in/in": "dimensionless",
    "N/mm": "newton/millimeter",
    "kN/m": "kilonewton/meter",
    "N/m": "newton/meter",
    "lbf/in": "force_pound/inch",
    "MPa": "megapascal",
    "N/mm2": "newton/millimeter**2",
    "kPa": "kilopascal",
    "bar": "bar",
    "psi": "psi",
    "kgf/cm2": "force_kilogram/centimeter**2",
    "1/K": "1/kelvin",
    "1/C": "1/delta_degree_Celsius",
    "ppm/K": "1e-6/kelvin",
    "um/(m K)": "micrometer/(meter*kelvin)",
    "mm": "millimeter",
    "cm": "centimeter",
    "in": "inch",
    "g": "gram",
    "kg": "kilogram",
    "oz": "ounce",
    "lb": "pound",
    "kJ/kg": "kilojoule/kilogram",
    "J/g": "joule/gram",
    "J/(kg K)": "joule/kilogram/kelvin",
    "kJ/(kg K)": "kilojoule/kilogram/kelvin",
    "ml": "milliliter",
    "cc": "centimeter**3",
    "cm3": "centimeter**3",
    "l": "liter",
    "usfloz": "US_fluid_ounce",
    "impfloz": "imperial_fluid_ounce",
    "in3": "inch**3",
}


@pytest.mark.parametrize(
    ("unit", "other", "factor"),
    [
        *((unit, other, f) for unit, row in units.SHEET_UNITS.items() for other, f in row.items()),
        *(("ml", name, factor) for name, factor in ML_PER_UNIT.items()),
        *(("g", name, factor) for name, factor in G_PER_UNIT.items()),
    ],
)
def test_factors(unit, other, factor):
    assert PINT(f"1 {NAMES[other]}").to(NAMES[unit]).magnitude == pytest.approx(factor, rel=1e-9)


@given(value=st.floats(-40, 400))
def test_fahrenheit(value):
    celsius = PINT.Quantity(value, "degF").to("degC").magnitude
    assert units.from_sheet_unit(value, unit="F", wanted="C") == pytest.approx(celsius, abs=1e-9)


@given(mass_g=st.floats(0.1, 1e5), volume_mm3=st.floats(1, 1e8), length_mm=st.floats(0.01, 1e4))
def test_what_the_sheets_are_written_with(mass_g, volume_mm3, length_mm):
    assert units.oz_from_g(mass_g) == pytest.approx(PINT(f"{mass_g} g").to("ounce").magnitude)
    assert units.ml_from_mm3(volume_mm3) == pytest.approx(
        PINT(f"{volume_mm3} mm**3").to("milliliter").magnitude
    )
    assert units.in_from_mm(length_mm) == pytest.approx(PINT(f"{length_mm} mm").to("in").magnitude)


@pytest.mark.parametrize("card", class_cards().values(), ids=lambda card: card.card_id)
@given(volume_ml=st.floats(1, 1e4))
def test_grams_of_a_volume_with_its_units_carried(card, volume_ml):
    """Volume, density and ratio as quantities: grams come out, and the parts add up."""
    mass = PINT.Quantity(volume_ml, "milliliter") * PINT.Quantity(
        card.density_g_ml.value, NAMES[card.density_g_ml.unit]
    )
    a_g, b_g = split_by_weight(
        mass.to("g").magnitude, ratio_a=card.ratio_a.value, ratio_b=card.ratio_b.value
    )
    parts = [
        (PINT.Quantity(grams, "g") / PINT.Quantity(number.value, "g/milliliter")).to("milliliter")
        for grams, number in ((a_g, card.density_a_g_ml), (b_g, card.density_b_g_ml))
    ]
    # Ideal mixing; the classes' densities agree to 1 %.
    assert sum(part.magnitude for part in parts) == pytest.approx(volume_ml, rel=0.01)


def test_cubic_inches_per_pound():
    # in3/lb = 27.68 / (g/cm3) : 453.59237 over 16.387064 (closed form).
    water = PINT.Quantity(1, "pound") / PINT.Quantity(1, "g/milliliter")
    assert water.to("inch**3").magnitude == pytest.approx(27.68, abs=0.005)
