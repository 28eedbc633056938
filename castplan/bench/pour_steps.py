"""What the pours add to the steps: how to prop the mould, where to brush, which straws."""

from dataclasses import replace

from castplan.air.records import AttitudeResult
from castplan.bench.records import ScheduleResult
from castplan.materials.wording import listed, side_text
from castplan.mould.records import Mould
from castplan.texts.told import tell, together


def add_pour_notes(
    schedule: ScheduleResult, attitude: AttitudeResult, mould: Mould
) -> ScheduleResult:
    """The same steps, with a sentence where the pours ask for one.

    Parameters
    ----------
    schedule, attitude, mould : records

    Returns
    -------
    ScheduleResult
        Times are unchanged.
    """
    silicone = iter(mould.pours.pours)
    steps = []
    for step in schedule.steps:
        notes = []
        if step.kind == "pour":
            notes = _silicone(next(silicone, None))
        elif step.kind == "close":
            notes = [*_prop(attitude), *_cups(mould), *_straws(mould.vents)]
        steps.append(replace(step, text=together([step.text, *notes])) if notes else step)
    return replace(schedule, steps=tuple(steps))


def _silicone(pour):
    if pour is None or not pour.caught:
        return []
    found = [tell("pour_step.brush", n=len(pour.caught))]
    if pour.tilt_deg:
        tilt, toward = f"{pour.tilt_deg:.0f}", f"{pour.toward_deg:.0f}"
        key = "pour_step.tilt_whole" if pour.half == "whole" else "pour_step.tilt"
        found.append(tell(key, tilt=tilt, toward=toward))
    return found


def _prop(attitude):
    chosen = attitude.chosen
    if not chosen.is_tilted:
        return []
    return [
        tell(
            "pour_step.prop",
            tilt=f"{chosen.tilt_deg:.0f}",
            side=side_text(chosen.toward_deg),
            toward=f"{chosen.toward_deg:.0f}",
        )
    ]


def _cups(mould):
    """The cups that stand on the gates, as wide as each has to be."""
    gates = [port.label for port in mould.block.ports if port.kind == "gate" and port.cup_mm > 0]
    if not gates or not mould.gate.cup_high_mm:
        return []
    return [
        tell(
            "pour_step.cup",
            n=len(gates),
            gates=listed(gates),
            across=f"{mould.gate.cup_mm:.0f}",
            high=f"{mould.gate.cup_high_mm:.0f}",
        )
    ]


def _straws(vents):
    labels = [
        route.label for route in vents.routes if route.is_open and not route.label.startswith("G")
    ]
    if not labels:
        return []
    return [
        tell(
            "pour_step.straws",
            n=len(labels),
            vents=listed(labels),
        )
    ]
