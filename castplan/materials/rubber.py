"""What a silicone of a given hardness gives: stiffness, and undercuts forgiven."""

import math

import numpy as np

from castplan.materials.cards import Card
from castplan.model import Sourced
from castplan.model.said import said_number

# Undercut over neck that a mould usually forgives, by Shore A (from memory).
_FORGIVEN = ((10.0, 0.40), (20.0, 0.25), (30.0, 0.15), (40.0, 0.075))
GENT_VALID_SHORE_A = (20.0, 80.0)


def safety_factor() -> Sourced:
    """Elongation at break over the working limit."""
    return said_number("rubber_number.safety_factor", value=3.0, unit="times")


def gent_modulus_mpa(*, shore_a: float) -> float:
    """Young's modulus from Shore A hardness.

    A. N. Gent, On the relation between indentation hardness and Young's
    modulus, Rubber Chemistry and Technology 31 (1958) 896: E [MPa] =
    0.0981 (56 + 7.62336 S) / (0.137505 (254 - 2.54 S)). Good for about 20 to
    80 Shore A; softer rubber is extrapolated, harder than 95 refused.

    Raises
    ------
    ValueError
        Outside 0 to 95, where the relation runs away.
    """
    if not 0 <= shore_a <= 95:
        raise ValueError(f"shore_a: {shore_a}, need 0 to 95")
    return 0.0981 * (56 + 7.62336 * shore_a) / (0.137505 * (254 - 2.54 * shore_a))


def log_modulus_mpa(*, shore_a: float) -> float:
    """Young's modulus by the logarithmic relation log10 E = 0.0235 S - 0.6403 [MPa].

    Stated for 30 to 60 Shore A (josephborrello.com/shore-a-to-modulus); it is
    here for the spread between published relations, which is the uncertainty.
    """
    return 10 ** (0.0235 * shore_a - 0.6403)


def modulus_range_mpa(card: Card) -> tuple[float, float]:
    """Lowest and highest modulus of a card: both relations over its hardness range."""
    low = card.shore.low if card.shore.low is not None else card.shore.value
    high = card.shore.high if card.shore.high is not None else card.shore.value
    values = [
        relation(shore_a=s) for relation in (gent_modulus_mpa, log_modulus_mpa) for s in (low, high)
    ]
    return min(values), max(values)


def stretch_stress_mpa(*, modulus_mpa: float, stretch_fraction: float) -> float:
    """Nominal stress of stretched rubber, neo-Hookean: E/3 (l - l^-2), l = 1 + stretch."""
    ratio = 1 + stretch_fraction
    return modulus_mpa / 3 * (ratio - ratio**-2)


def forgiven_fraction(*, shore_a: float) -> float:
    """Undercut over neck that rubber of this hardness usually forgives.

    Linear between the tabled hardnesses, the ends held beyond them.
    """
    hardness, fraction = zip(*_FORGIVEN, strict=True)
    return float(np.interp(shore_a, hardness, fraction))


def lip_stretch_fraction(*, wide_mm: float, narrow_mm: float) -> float:
    """Stretch of a ring of rubber over a lip all round: (wide - narrow) / narrow.

    The measure that plastics handbooks give for undercuts that are stripped
    off a core.
    """
    return (wide_mm - narrow_mm) / narrow_mm


def tongue_stretch_fraction(*, depth_mm: float, thick_mm: float) -> float:
    """Strain of a tongue of rubber drawn sideways out of a slot.

    A short thick tongue shears by depth over thickness; a long thin one bends
    a quarter turn at its root, strain pi/4 times thickness over depth. It
    takes the easier way. Derived here, untested on rubber.
    """
    if depth_mm <= 0 or thick_mm <= 0:
        return 0.0
    return min(depth_mm / thick_mm, math.pi / 4 * thick_mm / depth_mm)
