"""A defect with all that is known of it: plan, log, pour, and the weights of evidence."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from castplan.after.boxed import put_in_box
from castplan.after.cavity import Cavity
from castplan.after.records import CastLog, Defect, LoggedPour
from castplan.materials.cards import (
    SHOP_HIGH_C,
    SHOP_LOW_C,
    Card,
    any_card,
    demould_at,
    pot_life_at,
)
from castplan.nest.shared import part_at
from castplan.plan_record import Plan
from castplan.record import Sourced
from castplan.texts.told import Told, tell

# Of a cause that the log itself proves by its times and weights: before any
# that only lies at the right place.
LOGGED_WEIGHT = 0.98
# How far a place told by hand may miss (assumed: a ruler held against a copy).
PLACE_MM = 3.0


def fact(value, unit, basis, source) -> Sourced:
    """A number, or one with its low and high end, for the evidence: three digits of it."""
    told = value if isinstance(value, tuple) else (value,)
    names = ("value", "low", "high")[: len(told)]
    digits = {n: float(f"{v:.3g}") for n, v in zip(names, told, strict=True) if v is not None}
    return Sourced(unit=unit, basis=basis, source=source, **digits)


def told_distance(away_mm: float, source: Told) -> Sourced:
    """A distance from a place told by hand, to whole millimetres: it is not known better."""
    return fact(round(away_mm), "mm", "computed", source)


def over(value: float, *, limit: float) -> float:
    """Weight of a number against its limit: a half at the limit, 0.8 at twice, 0.2 at half."""
    if value <= 0:
        return 0.0
    return value**2 / (value**2 + limit**2) if limit > 0 else 1.0


def near(distance_mm: float, *, reach_mm: float) -> float:
    """Weight of a distance: 1 at the place, 0.6 at the reach, nothing beyond three of it."""
    return float(np.exp(-0.5 * (distance_mm / reach_mm) ** 2))


@dataclass(frozen=True, kw_only=True, eq=False)
class Case:
    """One defect of one pour, its place in the axes of the plan's part."""

    plan: Plan
    log: CastLog
    pour: LoggedPour
    defect: Defect
    cavity: Cavity

    @cached_property
    def card(self) -> Card:
        """Of what was poured."""
        is_copy = self.pour.pour == "copy"
        named = self.pour.material or (self.plan.job.resin if is_copy else self.plan.job.silicone)
        return any_card(named)

    @property
    def mix(self):
        """The plan's mix for this pour."""
        half = None if self.pour.pour == "copy" else self.pour.pour
        return next(
            mix for mix in self.plan.bench.amounts.mixes if mix.half in (half, "open", "whole")
        )

    @property
    def cup(self):
        """The first cup of that mix, or None."""
        cups = (cup for cup in self.plan.bench.weigh.cups if cup.pour == self.mix.name)
        return next((cup for cup in cups if not cup.is_brush_coat), None)

    @property
    def temperature(self) -> Sourced:
        """Of shop and material: as logged, else the plan's."""
        if self.pour.temperature_c is not None:
            return fact(self.pour.temperature_c, "C", "measured", tell("case.shop_logged"))
        planned = self.plan.job.shop_temperature_c
        return fact(planned, "C", "assumed", tell("case.shop_planned"))

    @property
    def pot_life_min(self) -> tuple[float, float, float]:
        """At the temperature: nominal, low, high."""
        return pot_life_at(self.card, temperature_c=self._within)

    @property
    def demould_h(self) -> tuple[float, float, float]:
        """At the temperature: nominal, low, high."""
        return demould_at(self.card, temperature_c=self._within)

    @property
    def _within(self):
        """The temperature, held in the range of the rule of thumb."""
        return float(np.clip(self.temperature.value, SHOP_LOW_C, SHOP_HIGH_C))

    @property
    def vacuum_sentence(self) -> Told:
        """Whether the mix was put under vacuum, where the log tells it."""
        return tell("case.degassed") if self.pour.is_degassed else tell("case.not_degassed")

    @property
    def turn(self) -> int:
        """Which cast of its mould it is, from 1."""
        numbers = [line.number for line in self.log.copies_of(self.pour.mould)]
        return numbers.index(self.pour.number) + 1 if self.pour.number in numbers else 0

    @property
    def where_draw_mm(self) -> np.ndarray | None:
        """The place in the draw frame."""
        if self.defect.where_mm is None:
            return None
        return self.plan.split.draw.frame.to_frame(np.array(self.defect.where_mm))

    @property
    def reach_mm(self) -> float:
        """How far a told place may miss what it tells."""
        return max(PLACE_MM, 0.5 * (self.defect.size_mm or 0.0), 2 * self.cavity.field.pitch_mm)

    def is_elsewhere(self, place_mm) -> bool:
        """Whether a place of the part frame is on another part of the box than the defect."""
        nest, number = self.plan.nest, self.defect.part
        if nest is None or number is None:
            return False
        return part_at(nest, place_mm).number != number

    def unplaced(self, place_mm, *, weight: float) -> float:
        """The weight of a place of the part frame for a defect whose own was not told."""
        return 0.0 if self.is_elsewhere(place_mm) else weight

    def nearness(self, place_mm, *, frame, spread_mm: float = 0.0) -> float:
        """How near the defect lies to a place of a frame; a third where no place was told."""
        if self.defect.where_mm is None:
            return self.unplaced(frame.to_part(np.asarray(place_mm)), weight=1 / 3)
        here = frame.to_frame(np.array(self.defect.where_mm))
        away = float(np.linalg.norm(here - np.asarray(place_mm)))
        return near(max(0.0, away - spread_mm), reach_mm=self.reach_mm)

    @cached_property
    def n_before(self) -> int:
        """Earlier copies of this mould with the same defect at the same place."""
        found = 0
        for line in self.log.copies_of(self.pour.mould):
            if line.number >= self.pour.number:
                break
            found += any(self._is_same(other) for other in line.defects)
        return found

    def _is_same(self, other):
        other = put_in_box(self.plan.nest, other)
        if other.kind != self.defect.kind or other.part != self.defect.part:
            return False
        if None in (other.where_mm, self.defect.where_mm):
            return other.part is not None and other.where_mm is self.defect.where_mm
        away = np.subtract(other.where_mm, self.defect.where_mm)
        return bool(np.linalg.norm(away) <= 2 * self.reach_mm)

    def repeated(self) -> tuple[Sourced, ...]:
        """That it came before at the same place, which speaks for the mould."""
        if not self.n_before:
            return ()
        told = tell("case.repeated", n=self.n_before)
        return (fact(self.n_before, "copies", "measured", told),)
