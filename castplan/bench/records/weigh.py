"""Cups at the scale."""

import math

from castplan.record import Sourced, record
from castplan.texts.told import Told

# A cup that is made up to what the scale just weighs well is not too small for it.
_ROUNDING = 1e-9
# What scales for a bench read at their finest (common practice, no source).
FINEST_G = 0.01


@record
class Cup:
    """One cup: what goes in, what the scale then shows, and how far it can be off.

    `mass_g` is A, B and filler together; pigment comes on top. `made_up_g` is the part
    of it that only brings a small cup up to the smallest sensible mix. The
    readings are running totals, tare included: A, then the filler, B, pigment.
    """

    name: Told
    pour: str  # name of the `Mix` it belongs to
    card: str
    is_brush_coat: bool
    times: int
    volume_ml: float
    mass_g: float
    made_up_g: float
    a_g: float
    b_g: float
    filler_g: float
    pigment_g: float
    tare_g: float
    reading_a_g: float
    reading_filler_g: float
    reading_b_g: float
    reading_pigment_g: float
    step_g: float
    ratio_error_fraction: float
    tolerance_fraction: float
    vacuum_cup_ml: float
    mix_and_pour_min: float
    pour_by_min: float

    @property
    def is_too_coarse(self) -> bool:
        """Whether the scale can put the ratio further off than the material takes."""
        return self.ratio_error_fraction > self.tolerance_fraction * (1 + _ROUNDING)

    @property
    def aim_step_g(self) -> float:
        """To what weights are told: the scale's step, or that of one fine enough for the ratio."""
        if not self.is_too_coarse:
            return self.step_g
        finer = math.ceil(math.log10(self.ratio_error_fraction / self.tolerance_fraction))
        return max(self.step_g / 10**finer, min(self.step_g, FINEST_G))


@record
class Limit:
    """The largest cup of one pour, and what sets it."""

    pour: str
    largest_g: float
    reason: Told


@record
class WeighResult:
    """Every cup of the job in the order of the work."""

    cups: tuple[Cup, ...]
    limits: tuple[Limit, ...]
    brush_g: tuple[tuple[str, float], ...]  # pour, silicone a first coat takes
    assumptions: tuple[Sourced, ...]

    def alike(self, pour: str, *, is_brush_coat: bool = False) -> tuple[Cup, ...]:
        """The cups of one pour, all of one size: its brush coat, or what is poured."""
        return tuple(
            cup for cup in self.cups if cup.pour == pour and cup.is_brush_coat is is_brush_coat
        )
