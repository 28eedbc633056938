"""From plan and log to the next version of the plan, for the mould that is there."""

from dataclasses import replace

import numpy as np

from castplan import units
from castplan.after.boxed import put_in_box
from castplan.after.case import PLACE_MM
from castplan.after.cavity import Cavity, cavity_of
from castplan.after.diagnose import diagnose
from castplan.after.mend import patch_text, use_text
from castplan.after.records import CastLog, Change, Revision
from castplan.after.remedy import Wanted, best_tilt, new_vent, rock
from castplan.air.stand_findings import list_stand_findings
from castplan.bench.buy import plan_buying
from castplan.bench.room import list_steps
from castplan.bench.steps import Cups
from castplan.bench.timeline import set_times
from castplan.errors import InputError
from castplan.mould.fill import Pouring, fill_cavity
from castplan.mould.opening_findings import list_opening_findings
from castplan.mould.pour_findings import list_pour_findings
from castplan.nest.shared import with_openings
from castplan.plan_record import Plan
from castplan.record import SEVERITIES
from castplan.texts.told import tell

# A vent that let no air out is opened up by this (assumed; drills come in halves).
WIDER_MM = 1.0


def revise(plan: Plan, log: CastLog, *, progress=None) -> Plan:
    """The plan with what its log asks for changed, the mould kept.

    Every high point that a logged defect shows to be without an opening gets a
    vent to drill; every opening that let no air out is opened up. Fill, sheet,
    steps and findings on air are worked out anew. Box, split, halves and amounts
    stay: the mould is there.

    Parameters
    ----------
    plan : Plan
    log : CastLog
    progress : callable, optional
        Called as ``progress(stage, fraction)``.

    Returns
    -------
    Plan
        With its `revision`.

    Raises
    ------
    InputError
        The log shows nothing that a change to the mould or its stand would mend.
    """
    report = progress or (lambda stage, fraction: None)
    report("diagnose", 0.0)
    found, cavity = diagnose(plan, log), cavity_of(plan)
    work = _Work(plan, cavity)
    for one in found.defects:
        cause = one.causes[0]
        if cause.code == "no-opening":
            work.open_up(one.defect, cause)
        elif cause.code == "opening-shut":
            work.widen(cause.port)
    if not work.changes:
        raise InputError(
            "the log",
            found="no defect that a change to this mould would mend",
            need="a void or short fill where air stays",
            do="castplan diagnose tells what else to try.",
        )
    report("tilt", 0.0)
    is_drilling = bool(work.drillings) or work.n_without_way > 0
    tilt = best_tilt(plan) if is_drilling else None
    tilts, left_ml = rock(plan) if is_drilling else ((), None)
    report("fill", 0.0)
    revised = work.plan()
    left_after_ml = _left_ml(cavity_of(revised))
    latest = next(pour for pour in reversed(log.pours) if pour.defects)
    defects = [put_in_box(plan.nest, defect) for defect in latest.defects]
    patches = (patch_text(plan, latest, defect, cavity) for defect in defects)
    kinds = dict.fromkeys(defect.kind for defect in defects)
    return replace(
        revised,
        revision=Revision(
            number=plan.revision.number + 1 if plan.revision else 2,
            changes=tuple(work.changes),
            drillings=tuple(work.drillings),
            tilt=tilt,
            rocking=tilts,
            rocking_left_ml=left_ml,
            caught_before_ml=_left_ml(cavity, shut=work.shut),
            caught_after_ml=left_after_ml,
            is_air_left=left_after_ml > plan.job.air_left_ml,
            pitch_mm=cavity.field.pitch_mm,
            patches=tuple(text for text in patches if text),
            uses=tuple(use_text(kind) for kind in kinds),
        ),
    )


def _left_ml(cavity: Cavity, *, shut=()):
    is_open = cavity.lets_air & ~np.isin(cavity.labels, list(shut))
    return cavity.caught_mm3(cavity.openings[is_open]) / 1000


class _Work:
    """The changes so far, and the records they make."""

    def __init__(self, plan, cavity):
        self.old, self.cavity = plan, cavity
        self.ports, self.routes = list(plan.mould.block.ports), list(plan.mould.vents.routes)
        self.extra = list(plan.air.openings.extra_vents_mm)
        self.changes, self.drillings = [], []
        self.shut, self.done = [], []
        self.n_without_way = 0

    def open_up(self, defect, cause):
        """A vent for the air that stays where a defect lies."""
        here = defect.where_mm
        pockets = self.cavity.planned
        if here is not None:
            pockets = sorted(pockets, key=lambda pocket: pocket.away_mm(np.array(here)))
        pocket = pockets[0]
        if any(np.linalg.norm(np.subtract(pocket.top_mm, top)) < PLACE_MM for top in self.done):
            return
        self.done.append(pocket.top_mm)
        peak = next((p for p in self.old.air.openings.peaks if p.number == cause.peak), None)
        label = str(sum(port.kind == "vent" for port in self.ports) + 1)
        port, route, drilling = new_vent(
            self.old, self.cavity, Wanted(pocket=pocket, peak=peak, label=label)
        )
        if drilling is None:
            self.n_without_way += 1
            self.changes.append(
                Change(
                    what=tell("change.high_point", peak=cause.peak),
                    before=tell("change.no_opening"),
                    after=tell("change.no_way"),
                    why=cause.text,
                )
            )
            return
        self.ports.append(port)
        self.routes.append(replace(route, pour="", when=tell("change.drill_it")))
        self.extra.append(port.place_mm)
        self.drillings.append(drilling)
        before, after = drilling.caught_before_ml, drilling.caught_after_ml
        bore = f"{port.diameter_mm:g} mm"
        self.changes.append(
            Change(
                what=tell("change.vent_at", label=label, peak=cause.peak),
                before=tell("change.none_stays", volume=f"{units.digits(before, 2)} ml"),
                after=tell("change.drilled_nothing", bore=bore)
                if units.is_nothing(1000 * after)
                else tell("change.drilled", bore=bore, volume=f"{units.digits(after, 2)} ml"),
                why=cause.text,
            )
        )

    def widen(self, label):
        """Open up a vent that let no air out."""
        if label in self.shut:
            return
        self.shut.append(label)
        k = next(k for k, port in enumerate(self.ports) if port.label == label)
        port = self.ports[k]
        wide_mm = port.diameter_mm + WIDER_MM
        without = sum(pocket.volume_mm3 for pocket in self.cavity.without(label)) / 1000
        self.ports[k] = replace(port, diameter_mm=wide_mm)
        self.routes = [
            replace(route, bore_mm=wide_mm) if route.label == label else route
            for route in self.routes
        ]
        self.changes.append(
            Change(
                what=tell(f"change.opened_{port.kind}", label=label),
                before=tell(
                    "change.shut",
                    bore=f"{port.diameter_mm:g} mm",
                    volume=f"{units.digits(without, 2)} ml",
                ),
                after=tell("change.cleared", bore=f"{wide_mm:g} mm"),
                why=tell("change.why_shut"),
            )
        )

    def plan(self):
        """The plan with these openings, its fill and findings worked out anew."""
        old = self.old
        drilled = sum(drilling.caught_before_ml for drilling in self.drillings)
        openings = replace(
            old.air.openings,
            extra_vents_mm=tuple(self.extra),
            left_mm3=max(old.air.openings.left_mm3 - 1000 * drilled, 0.0),
        )
        air, frame = replace(old.air, openings=openings), old.split.draw.frame
        pouring = Pouring(air=air, gate=old.mould.gate)
        mould = replace(
            old.mould,
            block=replace(old.mould.block, ports=tuple(self.ports)),
            vents=replace(old.mould.vents, routes=tuple(self.routes)),
            fill=fill_cavity(old.part, pouring, frame, old.job),
        )
        bench = old.bench
        cups = Cups(
            amounts=bench.amounts,
            weigh=bench.weigh,
            job=old.job,
            n_parts=old.part.check.n_parts,
        )
        schedule = list_steps(old.split, air, mould, cups)
        bench = replace(
            bench,
            schedule=schedule,
            timeline=set_times(schedule, old.job),
            buy=plan_buying(bench.weigh, schedule, old.job),
        )
        kept = tuple(finding for finding in old.findings if finding.stage != "air")
        # What stays is told by the fill; the tree's count of vents is of the plan before.
        told = (
            *list_stand_findings(air),
            *list_pour_findings(frame, air, mould, old.job),
            *list_opening_findings(frame, openings, mould, old.job),
        )
        told = tuple(finding for finding in told if finding.code != "air-left")
        findings = sorted((*kept, *told), key=lambda one: SEVERITIES.index(one.severity))
        nest = old.nest and with_openings(old.nest, self.ports, openings.frame)
        return replace(old, air=air, mould=mould, bench=bench, findings=tuple(findings), nest=nest)
