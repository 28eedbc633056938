"""What the pours add to the steps: how to prop the mould, where to brush, what to stand."""

from dataclasses import replace

from castplan.air.records import AttitudeResult, GateResult, VentsResult
from castplan.bench.records import ScheduleResult
from castplan.materials.wording import listed, side_text
from castplan.mould.records import PoursResult
from castplan.texts import say


def add_pour_notes(
    schedule: ScheduleResult,
    attitude: AttitudeResult,
    vents: VentsResult,
    gate: GateResult,
    pours: PoursResult,
) -> ScheduleResult:
    """The same steps, with a sentence where the pours ask for one.

    Parameters
    ----------
    schedule, attitude, vents, gate, pours : records

    Returns
    -------
    ScheduleResult
        Times are unchanged.
    """
    silicone = iter(pours.pours)
    steps = []
    for step in schedule.steps:
        notes = []
        if step.kind == "sticks":
            notes = _sticks(vents)
        elif step.kind == "pour":
            notes = _silicone(next(silicone, None))
        elif step.kind == "close":
            notes = [*_prop(attitude), *_straws(vents, gate)]
        steps.append(replace(step, text=" ".join([step.text, *notes])) if notes else step)
    return replace(schedule, steps=tuple(steps))


def _sticks(vents):
    found = []
    grooves = [route.label for route in vents.routes if route.route in ("groove", "sideways")]
    if grooves:
        found.append(say("pour_step.grooves", ports=", ".join(grooves)))
    found += [
        say("pour_step.riser", port=route.label, bore=f"{route.bore_mm:g}", when=route.when)
        for route in vents.routes
        if route.route == "riser"
    ]
    found += [
        say("pour_step.slanted", port=route.label, slant=f"{route.slant_deg:.0f}")
        for route in vents.routes
        if route.route == "slanted"
    ]
    return found


def _silicone(pour):
    if pour is None or not pour.caught:
        return []
    found = [say("pour_step.brush", n=len(pour.caught))]
    if pour.tilt_deg:
        tilt, toward = f"{pour.tilt_deg:.0f}", f"{pour.toward_deg:.0f}"
        found.append(say("pour_step.tilt", tilt=tilt, toward=toward))
    return found


def _prop(attitude):
    chosen = attitude.chosen
    if not chosen.tilt_deg:
        return []
    return [
        say(
            "pour_step.prop",
            tilt=f"{chosen.tilt_deg:.0f}",
            side=side_text(chosen.toward_deg),
            toward=f"{chosen.toward_deg:.0f}",
        )
    ]


def _straws(vents, gate):
    out = [route for route in vents.routes if route.route != "none"]
    labels = [route.label for route in out if not route.label.startswith("G")]
    if not labels:
        return []
    return [
        say(
            "pour_step.straws",
            n=len(labels),
            vents=listed(labels),
            rim=f"{gate.cup_high_mm:.0f}",
        )
    ]
