"""The only place where castplan converts units.

Lengths inside the program are millimetres, volumes mm3 in geometry and
millilitres in amounts, masses grams, temperatures degrees Celsius.
"""

import math
from fractions import Fraction

# Exact by definition: the international inch (1959) and avoirdupois pound.
MM_PER_INCH = 25.4
G_PER_OUNCE = 28.349523125
MM3_PER_ML = 1000.0
ML_PER_US_FL_OZ = 29.5735295625
ML_PER_IMP_FL_OZ = 28.4130625
CM3_PER_IN3 = 16.387064
LEAST_ML = 0.005  # less reads as nothing

MM_PER_UNIT = {
    "mm": 1.0,
    "cm": 10.0,
    "m": 1000.0,
    "um": 0.001,
    "in": MM_PER_INCH,
    "ft": 12 * MM_PER_INCH,
}

# What other programs and files call the same units.
UNIT_NAMES = {
    "micron": "um",
    "micrometer": "um",
    "millimeter": "mm",
    "millimeters": "mm",
    "millimetre": "mm",
    "centimeter": "cm",
    "centimeters": "cm",
    "meter": "m",
    "meters": "m",
    "inch": "in",
    "inches": "in",
    "foot": "ft",
    "feet": "ft",
}


def mm_per_unit(name: str) -> float | None:
    """Millimetres in one `name`, or None for a unit castplan does not know."""
    key = name.strip().lower()
    return MM_PER_UNIT.get(UNIT_NAMES.get(key, key))


def digits(value: float, n_digits: int) -> str:
    """A number to so many digits, never with an exponent.

    Examples
    --------
    >>> digits(123.4, 2), digits(0.01234, 2), digits(3.0, 2)
    ('120', '0.012', '3')
    """
    number = float(f"{value:.{n_digits}g}") + 0.0  # adding 0.0 turns -0.0 into 0.0
    if not math.isfinite(number) or number == 0.0:
        return f"{number:g}"
    decimals = n_digits - 1 - math.floor(math.log10(abs(number)))
    text = f"{number:.{max(decimals, 0)}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def is_nothing(volume_mm3: float) -> bool:
    """Whether a volume is too small to matter: less than half of 0.01 ml."""
    return ml_from_mm3(volume_mm3) < LEAST_ML


def ml_from_mm3(volume_mm3: float) -> float:
    """Millilitres from mm3."""
    return volume_mm3 / MM3_PER_ML


def in_from_mm(length_mm: float) -> float:
    """Inches from millimetres."""
    return length_mm / MM_PER_INCH


def oz_from_g(mass_g: float) -> float:
    """Avoirdupois ounces from grams."""
    return mass_g / G_PER_OUNCE


# What suppliers' sheets call the units of a material card: unit of the card ->
# other name -> how many of the card's unit one of it is. The pound-force is
# exact by definition (standard gravity), the US gallon is 231 in3.
SHEET_UNITS = {
    "g/ml": {
        "g/cm3": 1.0,
        "kg/l": 1.0,
        "kg/m3": 0.001,
        "lb/in3": 16 * G_PER_OUNCE / CM3_PER_IN3,
        "lb/gal": 16 * G_PER_OUNCE / (231 * CM3_PER_IN3),
    },
    "mPa s": {"cP": 1.0, "cps": 1.0, "Pa s": 1000.0, "P": 100.0},
    "min": {"s": 1 / 60, "h": 60.0},
    "h": {"min": 1 / 60, "d": 24.0},
    "1": {"%": 0.01, "mm/mm": 1.0, "in/in": 1.0},
    "N/mm": {"kN/m": 1.0, "N/m": 0.001, "lbf/in": 4.4482216152605 / MM_PER_INCH},
    "MPa": {
        "N/mm2": 1.0,
        "kPa": 0.001,
        "bar": 0.1,
        "psi": 4.4482216152605 / MM_PER_INCH**2,
        "kgf/cm2": 0.0980665,
    },
    "1/K": {"1/C": 1.0, "ppm/K": 1e-6, "um/(m K)": 1e-6},
    "mm": {"cm": 10.0, "in": MM_PER_INCH},
    "g": {"kg": 1000.0, "oz": G_PER_OUNCE, "lb": 16 * G_PER_OUNCE},
    "kJ/kg": {"J/g": 1.0},
    "J/(kg K)": {"kJ/(kg K)": 1000.0},
}


def from_sheet_unit(value: float, *, unit: str, wanted: str) -> float | None:
    """A number of a supplier's sheet in the unit of the card; None for an unknown unit.

    Examples
    --------
    >>> from_sheet_unit(1080, unit="kg/m3", wanted="g/ml")
    1.08
    """
    if unit == wanted:
        return value
    if wanted == "C" and unit == "F":
        return (value - 32) * 5 / 9
    factor = SHEET_UNITS.get(wanted, {}).get(unit)
    return None if factor is None else value * factor


def inch_fraction(length_mm: float, *, denominator: int = 32) -> str:
    """A length as the trade writes inches: ``1 5/16``; nearest `denominator`-th."""
    parts = Fraction(round(in_from_mm(length_mm) * denominator), denominator)
    whole, rest = divmod(parts, 1)
    if not rest:
        return f"{whole}"
    return f"{whole} {rest}" if whole else f"{rest}"


# Everyday objects by the longest side that they are named for, for saying a size.
# Rough by nature: adult hand breadth 85 mm, forearm-and-hand 450 mm
# (common practice, no source).
_SIZE_OBJECTS = (
    (3, "rice_grain"),
    (12, "fingernail"),
    (30, "thumb"),
    (60, "matchbox"),
    (100, "hand_breadth"),
    (200, "hand_length"),
    (350, "forearm"),
    (700, "arm"),
    (1300, "table"),
    (2500, "door"),
)


def size_object(longest_mm: float) -> str:
    """Everyday object that is about as long: a code, which the texts have words for.

    Examples
    --------
    >>> size_object(95)
    'hand_breadth'
    """
    fitting = (name for limit_mm, name in _SIZE_OBJECTS if longest_mm <= limit_mm)
    return next(fitting, "over_door")


def extent_text(extent, *, unit: str) -> str:
    """``142 x 61 x 38 mm`` from three lengths already in `unit`; three digits."""
    digits = max(0, 2 - math.floor(math.log10(max(extent)))) if max(extent) > 0 else 0
    return " x ".join(f"{side:.{digits}f}" for side in extent) + f" {unit}"
