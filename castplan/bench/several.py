"""What several parts in one box change in the steps."""

from dataclasses import replace

from castplan.bench.records import ScheduleResult
from castplan.texts.told import tell, together

# What is done to every original and to every casting; the rest is done once a box.
OF_A_PART = frozenset(("inspect", "clean", "seal", "release", "out", "trim"))
# The sentence that these steps get before their own, by kind.
_NOTES = {"inspect": "several.inspect", "mark": "several.mark", "out": "several.out"}


def add_parts(schedule: ScheduleResult, *, n_parts: int) -> ScheduleResult:
    """The same steps for so many originals: minutes of what each asks for, and how to lay them.

    Parameters
    ----------
    schedule : ScheduleResult
        For one.
    n_parts : int

    Returns
    -------
    ScheduleResult
        Waiting stays: they dry and cure side by side.
    """
    if n_parts == 1:
        return schedule
    steps = []
    for step in schedule.steps:
        if step.kind in OF_A_PART:
            step = replace(step, hands_on_min=n_parts * step.hands_on_min)
        if step.kind in _NOTES:
            note = tell(_NOTES[step.kind], n=n_parts)
            step = replace(step, text=together([note, step.text]))
        steps.append(step)
    hands_on_min = sum(step.hands_on_min for step in steps)
    return replace(schedule, steps=tuple(steps), hands_on_min=hands_on_min)
