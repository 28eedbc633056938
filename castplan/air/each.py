"""Openings and gates cavity by cavity, put together for the box that holds them all."""

from dataclasses import replace

import numpy as np

from castplan.air.along import spread_gates
from castplan.air.feed import plan_gate
from castplan.air.high_points import GateAt, PourView, find_air
from castplan.air.long_part import long_part
from castplan.air.records import AirResult, FurtherGate, GatePlan
from castplan.air.site import GateSite
from castplan.columns.field import ColumnField
from castplan.geometry.guard import SHOWN_SHARE
from castplan.job import Job
from castplan.memory import remembered
from castplan.part.cavities import Cavities, each_of, label_field, only, part_of
from castplan.part.records import Part
from castplan.record import record

# Ways of a gate that the resin would not climb down by itself.
NO_WAYS = ("sideways", "none")


@record
class Poured:
    """The part at the pour, and which cavities it has."""

    part: Part
    field: ColumnField  # along true up
    view: PourView
    cavities: Cavities | None  # None for one

    def each(self) -> tuple[ColumnField, ...]:
        """The cavities one by one, in their order."""
        return each_of(self.part, self.cavities, self.field)


def open_each(site: GateSite, poured: Poured, job: Job) -> tuple[AirResult, GatePlan]:
    """The openings and the gate; of several cavities those of each, in their order.

    Parameters
    ----------
    site : GateSite
        Of all of them.
    poured : Poured
    job : Job
        Its number of vents is for each cavity.

    Returns
    -------
    AirResult
    GatePlan
        Of the first cavity, the gates of the others among its further ones.
    """
    cavities = poured.cavities
    if cavities is None:
        return _open_one(site, poured.field, poured.view, job)
    labels = label_field(poured.part, cavities, site.rested)
    found = []
    for k, (share, field) in enumerate(zip(cavities.shares, poured.each(), strict=True)):
        own = replace(
            site,
            cavity=only(site.rested, labels == k),
            share=share,
            part_mm3=site.part_mm3 * share,
            long=long_part(part_of(poured.part, cavities, k=k)),
            rims=_rims_of(site, labels, k),
        )
        found.append(_open_one(own, field, poured.view, job))
    return merged([air for air, _ in found]), fed([feed for _, feed in found])


@remembered
def _open_one(site, poured, view, job):
    """The openings, and the gate; where that stands on another point than first, vents anew."""
    openings = find_air(poured, job, view)
    feed = spread_gates(plan_gate(site, openings, job), site, openings, job)
    gate = feed.chosen
    if gate.peak != openings.gate or gate.further:
        along = gate.further if gate.peak is not None else (gate, *gate.further)
        places_mm = tuple(each.place_mm for each in along)
        fed_at = GateAt(peak=gate.peak, places_mm=places_mm)
        openings = find_air(poured, job, view, fed_at=fed_at)
    return openings, feed


def _rims_of(site, labels, k):
    """Outlines of the parting that go round one cavity."""
    centre = site.rested.centre_mm(site.rested.column_of)
    middle = 0.5 * (site.rested.bottom_mm + site.rested.top_mm)
    inside = np.column_stack([centre, middle])[labels == k] @ site.rested.rotation
    drawn = inside @ site.draw_frame.rotation.T
    low, high = drawn.min(axis=0)[:2], drawn.max(axis=0)[:2]
    slack_mm = 2 * site.rested.pitch_mm
    kept = []
    for rim in site.line.outlines:
        middle = 0.5 * (rim.points_mm.min(axis=0) + rim.points_mm.max(axis=0))
        if not ((middle > low) & (middle < high)).all():
            continue
        if np.linalg.norm(drawn[:, :2] - rim.points_mm[0], axis=1).min() <= 3 * slack_mm:
            kept.append(rim)
    return tuple(kept)


def merged(airs: list[AirResult]) -> AirResult:
    """High points and openings of all cavities in one list; the first one's gate is the gate."""
    first = airs[0]
    n_vents = [len(air.vents) for air in airs]
    n_extra = [len(air.extra_vents_mm) for air in airs]
    peaks, vents, gates_too, kept_off, harms = [], [], [], [], []
    for k, air in enumerate(airs):
        start = len(peaks)
        peaks += [replace(peak, number=start + peak.number, cavity=k + 1) for peak in air.peaks]
        vents += [start + row for row in air.vents]
        kept_off += [start + row for row in air.kept_off]
        if k and air.gate is not None:
            gates_too.append(start + air.gate)
        for harm in air.harms:
            n = int(harm.label)
            n += sum(n_vents[:k])
            if int(harm.label) > n_vents[k]:  # one along a roof: they stand behind the others
                n += sum(n_vents[k + 1 :]) + sum(n_extra[:k])
            harms.append(replace(harm, label=str(n)))
    return replace(
        first,
        peaks=tuple(peaks),
        vents=tuple(vents),
        gates_too=tuple(gates_too),
        extra_vents_mm=tuple(place for air in airs for place in air.extra_vents_mm),
        extra_cavities=tuple(k for k, n in enumerate(n_extra, start=1) for _ in range(n)),
        left_mm3=sum(air.left_mm3 for air in airs),
        n_wanted=sum(air.n_wanted for air in airs) - sum(air.gate is not None for air in airs[1:]),
        n_small=sum(air.n_small for air in airs),
        small_mm3=sum(air.small_mm3 for air in airs),
        kept_off=tuple(kept_off),
        harms=tuple(sorted(harms, key=lambda harm: int(harm.label))),
    )


def fed(plans: list[GatePlan]) -> GatePlan:
    """The first cavity's plan, with the gates of the others behind its own."""
    first, *others = plans
    further = list(first.chosen.further)
    for k, plan in enumerate(others, start=2):
        own, n = plan.chosen, len(plan.chosen.further)
        further.append(_as_further(own))
        further += own.further
        further[-n - 1 :] = [replace(gate, cavity=k) for gate in further[-n - 1 :]]
    chosen = replace(first.chosen, further=tuple(further))
    runs = [
        replace(plan.run, cavity=k) for k, plan in enumerate(plans, start=1) if plan.run is not None
    ]
    worst = max(runs, key=lambda run: run.high_s / run.pot_life_s, default=None)
    return replace(first, options=(chosen, *first.options[1:]), run=worst)


def _as_further(option):
    harms = {
        "show": option.show_up_fraction > SHOWN_SHARE,
        "tip": option.is_on_tip,
        "worked": option.is_on_worked,
        "marked": option.is_marked,
    }
    return FurtherGate(
        place_mm=option.place_mm,
        path_mm=option.path_mm,
        bore_mm=option.bore_mm,
        cup_mm=option.cup_mm,
        harms=tuple(name for name, applies in harms.items() if applies),
        feed=option.feed,
        least_bore_mm=option.least_bore_mm,
    )


def in_the_way_min(site: GateSite, air: AirResult, feed: GatePlan, job: Job) -> float:
    """What it costs that parts stand over each other's openings, minutes.

    A slanted bore costs its making. One that leaves by a side of the box needs that side
    open and a cup hung there, as dear as a cradle (assumed). A gate that resin would not
    run down costs cutting the cast open and mending it, a vent the air that stays.
    """
    block, weights = site.block(air), job.air_weights
    gates = [
        (gate.place_mm, gate.bore_mm, 10 * weights.cradle_min)
        for gate in (feed.chosen, *feed.chosen.further)
        if gate.feed == "top"
    ]
    vents = [(air.peaks[k].place_mm, air.peaks[k].bore_mm) for k in air.vents]
    vents += [(place_mm, job.vent_mm) for place_mm in air.extra_vents_mm]
    cost_min = 0.0
    for place_mm, bore_mm, none_min in (*gates, *((*vent, weights.cradle_min) for vent in vents)):
        name, path = block.way_out(np.asarray(place_mm), bore_mm=bore_mm)
        if name in NO_WAYS:
            cost_min += none_min
            continue
        cost_min += weights.slant_min if name == "slanted" else 0.0
        if block.leave(path[-2], path[-1] - path[-2])[1] != "top":
            cost_min += weights.cradle_min
    return float(cost_min)
