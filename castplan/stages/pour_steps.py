"""What the pours add to the steps: how to prop the mould, where to brush, what to stand."""

from dataclasses import replace

from castplan.materials.steps import numbers_text
from castplan.model import (
    AttitudeResult,
    GateResult,
    PoursResult,
    ScheduleResult,
    VentsResult,
)

SIDES = ("right", "back right", "back", "back left", "left", "front left", "front", "front right")


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
        found.append(
            f"Those of {', '.join(grooves)} lie in the parting: press them half into the clay "
            "along it instead."
        )
    found += [
        f"Gate {route.label} is a riser of {route.bore_mm:g} mm: {route.when}, as the air sheet "
        "draws it."
        for route in vents.routes
        if route.route == "riser"
    ]
    found += [
        f"Lean that of {route.label} by {route.slant_deg:.0f} degrees, to where the air sheet says."
        for route in vents.routes
        if route.route == "slanted"
    ]
    return found


def _silicone(pour):
    if pour is None or not pour.caught:
        return []
    n = len(pour.caught)
    places = "the place" if n == 1 else f"the {n} places"
    text = f"Silicone alone leaves air under the part: brush {places} on the air sheet first."
    if pour.tilt_deg:
        text += (
            f" Pour with the box tilted {pour.tilt_deg:.0f} degrees, the side at "
            f"{pour.toward_deg:.0f} degrees raised, then set it level."
        )
    return [text]


def _prop(attitude):
    chosen = attitude.chosen
    if not chosen.tilt_deg:
        return []
    side = SIDES[round(chosen.toward_deg / 45) % 8]
    return [
        f"Prop it on wedges, tilted {chosen.tilt_deg:.0f} degrees with its {side} side raised, at "
        f"{chosen.toward_deg:.0f} degrees of the pour sketch."
    ]


def _straws(vents, gate):
    labels = [route.label for route in vents.routes if route.label != "G" and route.route != "none"]
    if not labels:
        return []
    return [
        f"Put a straw in vent{numbers_text([int(label) for label in labels])}, its mouth above "
        f"the rim of the cup, which stands {gate.cup_high_mm:.0f} mm over the box."
    ]
