"""What a silicone of a given hardness gives: stiffness, and undercuts forgiven."""

import numpy as np

from castplan.materials.cards import Card
from castplan.materials.said import said_number
from castplan.record import Sourced

# Undercut over neck that a mould usually forgives, by Shore A (from memory).
_FORGIVEN = ((10.0, 0.40), (20.0, 0.25), (30.0, 0.15), (40.0, 0.075))
GENT_VALID_SHORE_A = (20.0, 80.0)
TORN_FRACTION = 4.0  # about the elongation at break: more only says that it tears
JUDGED_WALL_MM = (6.0, 20.0)  # walls over which the stretches below were fitted


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

    H. J. Qi, K. Joyce and M. C. Boyce, Durometer hardness and the stress-strain
    behavior of elastomeric materials, Rubber Chemistry and Technology 76 (2003)
    419, for 20 to 80 Shore A; it is here for the spread between published
    relations, which is the uncertainty.
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


def stretch_at_fraction(*, stress_mpa: float, modulus_mpa: float) -> float:
    """Stretch at which rubber pulled one way carries a stress on its first section.

    Neo-Hookean, sigma = E/3 (s - 1/s^2) at a length of s times the first, solved
    for s - 1.

    Parameters
    ----------
    stress_mpa, modulus_mpa : float
        [MPa]
    """
    roots = np.roots([1.0, -3 * stress_mpa / modulus_mpa, 0.0, -1.0])
    return float(max(root.real for root in roots if abs(root.imag) < 1e-9)) - 1.0


def working_limit_fraction(card: Card) -> float:
    """Stretch that a silicone may take in work: what breaks it over the safety factor.

    The elongation at break, or where the card says the tensile strength (both as of
    ISO 37) the stretch that this strength allows, whichever is less. Tear strength
    (ISO 34-1, ASTM D624) sets no limit of its own: it counts once there is a nick.
    """
    factor = safety_factor().value
    limit = card.elongation_fraction.value / factor
    if card.tensile_mpa is None:
        return limit
    _, stiff_mpa = modulus_range_mpa(card)
    by_strength = stretch_at_fraction(
        stress_mpa=card.tensile_mpa.value / factor, modulus_mpa=stiff_mpa
    )
    return min(limit, by_strength)


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


def core_stretch_fraction(*, wide_mm: float, narrow_mm: float) -> float:
    """Stretch of a core of rubber that leaves through a narrower mouth: (wide / narrow)^2 - 1.

    It is drawn long until it is thin enough; rubber keeps its volume.
    """
    return (wide_mm / narrow_mm) ** 2 - 1


def core_allowed_fraction(*, allowed_fraction: float) -> float:
    """What a core may stretch: the usual undercut over neck, as its stretch."""
    return (1 + allowed_fraction) ** 2 - 1


def eased_stretch_fraction(
    *, depth_mm: float, thick_mm: float, wall_mm: float, slope: float
) -> float:
    """Largest stretch where the wall of rubber is eased aside until the tongue is out.

    The wall bends, the more the deeper the tongue and the thicker the wall; a
    short tongue is pressed into the wall as well. Fitted to a finite-element
    model (rubber_pull.py and bench_rubber.py among the tests): within 1.5
    times, or 0.06, where 15 mm of wall on either side may bend. A wall that
    bends over 8 mm only needs twice as much, one that bends over 30 mm a third.

    Parameters
    ----------
    depth_mm : float
        [mm]
    thick_mm : float
        Of the tongue along the draw [mm].
    wall_mm : float
        Rubber from the part to the outside [mm]; held within `JUDGED_WALL_MM`.
    slope : float
        How far the face that holds the tongue falls away from it, mm per mm of depth.
    """
    if depth_mm <= 0 or thick_mm <= 0:
        return 0.0
    bend = depth_mm * min(max(wall_mm, JUDGED_WALL_MM[0]), JUDGED_WALL_MM[1])
    pressed = min(0.08 * (depth_mm / thick_mm) ** 2, 0.16)
    moved = bend / 120 / (1 + bend / 300) + pressed
    return moved * (1 - 0.5 * min(max(slope, 0.0), 0.5))


def pressed_stretch_fraction(*, depth_mm: float, across_mm: float, room_mm: float) -> float:
    """Largest stretch of rubber that cannot move aside, because part stands across from it.

    It must grow thinner by its depth, and by that of the tongue on its other
    side. Fitted as `eased_stretch_fraction`, within 1.5 times; `TORN_FRACTION` at
    most.

    Parameters
    ----------
    depth_mm, across_mm : float
        Of the tongue and of the one across [mm].
    room_mm : float
        Of the void between them [mm].
    """
    return min((depth_mm + across_mm) / room_mm + 0.12 * depth_mm, TORN_FRACTION)


def squeezed_stretch_fraction(*, belly_over_neck: float) -> float:
    """What is added where the tongue is higher behind its neck, by the ratio of both heights.

    Fitted as `eased_stretch_fraction`, within 1.5 times.
    """
    # Less than this is the sampling of the sections.
    return 1.7 * (belly_over_neck - 1) if belly_over_neck > 1.15 else 0.0


def pulled_stretch_fraction(
    *, depth_mm: float, wall_mm: float, slope: float, is_held_round: bool
) -> float:
    """Largest stretch, mean over 0.5 mm of rubber, where the half is pulled straight off.

    The tongue's edge catches on the part's sharp edge and is drawn out until
    the wall moves aside; a ring or core of rubber cannot move aside. Fitted as
    `eased_stretch_fraction`, within 1.5 times; `TORN_FRACTION` stands for more.
    In a sharp corner stretch has no bound; what tears rubber is its mean over
    a length of about the work of tearing over the work of breaking, some
    tenths of a millimetre (from memory).

    Parameters
    ----------
    depth_mm, wall_mm, slope
        As of `eased_stretch_fraction`.
    is_held_round : bool
        It cannot move aside: a ring, a core, or part on its other side.
    """
    if depth_mm <= 0:
        return 0.0
    wall_mm = min(max(wall_mm, JUDGED_WALL_MM[0]), JUDGED_WALL_MM[1])
    caught = 0.8 + (1.3 * depth_mm if is_held_round else 0.045 * depth_mm * wall_mm)
    # What falls away steeply slips; what leans over holds the more.
    caught *= 1 - 0.5 * slope if is_held_round else max(1 - 1.5 * slope, 0.15)
    # A patch of 0.5 mm is not filled by what is shallower.
    return min(caught, 2.5 * depth_mm, TORN_FRACTION)
