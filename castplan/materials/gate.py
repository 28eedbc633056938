"""Numbers of the gate: how fast it should fill, how high its cup stands, which bores there are."""

import math

import numpy as np

from castplan.materials.said import said_number
from castplan.record import Sourced

# Viscosity climbs while the resin cures, and the card gives a class.
VISCOSITY_SPREAD = 0.5
# Rods and tubes to be had for a gate (common practice, no source); 6 to 10 mm
# are usual (from memory), wider where the resin would not get through in time.
STANDARD_BORES_MM = (6.0, 8.0, 10.0, 12.0, 16.0, 20.0)
# Narrower ones, for a feature that a usual gate would cover, if the resin gets
# through in time (assumed).
NARROW_BORES_MM = (5.0, 4.0, 3.0)
# A feature of which the narrowest usual gate takes two thirds or more is a tip (assumed).
TIP_MM2 = 1.5 * np.pi / 4 * STANDARD_BORES_MM[0] ** 2
TRIED_BORES_MM = np.arange(3.0, 20.5, 0.5)
# Silicone between a vent and the cone of a gate (common practice, no source): as much as
# between a channel and the parting.
BETWEEN_CUP_MM = 2.0
# Between a vent's bore and the inside of the cup: its wall, the straw's, and the clay that
# seals the cup's foot (assumed).
BESIDE_CUP_MM = 4.0
N_LEVELS = 48  # of the cavity, while its level rises against the head
# The highest point keeps the gate unless another place saves more than this (assumed).
PREFER_MIN = 5.0


def fill_within() -> Sourced:
    """Share of the pot life in which the cavity should be full."""
    return said_number("gate_number.fill_within", value=0.25, unit="1")


def head() -> Sourced:
    """Height of the cup's rim over the cavity or the box."""
    return said_number("gate_number.head", value=25.0, unit="mm", basis="from memory")


def standing_cup_mm(*, kept_ml: float, high_mm: float, least_mm: float) -> float:
    """Inside of the cup on the box that holds what is to stay in it, in whole 5 mm [mm].

    Parameters
    ----------
    kept_ml : float
        What must stay in it.
    high_mm : float
        Of its rim over the box.
    least_mm : float
        Mouth of the gate, that it stands on.

    Examples
    --------
    >>> standing_cup_mm(kept_ml=18.0, high_mm=25.0, least_mm=20.0)
    35.0
    """
    needed_mm = math.sqrt(4000 * kept_ml / (math.pi * high_mm))
    return max(least_mm, 5.0 * math.ceil(needed_mm / 5.0 - 1e-9))


def standing_cup_for(shot_ml: float, *, least_mm: float) -> float:
    """The same for a whole shot of resin, in a cup as high as usual [mm].

    Examples
    --------
    >>> standing_cup_for(180.0, least_mm=20.0)
    35.0
    """
    kept_ml = reservoir().value * shot_ml
    return standing_cup_mm(kept_ml=kept_ml, high_mm=head().value, least_mm=least_mm)


def off_cup_mm(cup_mm: float, *, bore_mm: float) -> float:
    """Least distance of a vent of some bore from the middle of a gate with a cup so wide [mm].

    Examples
    --------
    >>> off_cup_mm(20.0, bore_mm=2.5)
    15.25
    """
    return 0.5 * (cup_mm + bore_mm) + BESIDE_CUP_MM


def reservoir() -> Sourced:
    """Share of the shot that stays in the cup."""
    return said_number("gate_number.reservoir", value=0.10, unit="1", basis="from memory")
