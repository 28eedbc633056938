"""The cautions that belong to a kind of step, whatever the materials."""

from dataclasses import replace

from castplan.bench.records import ScheduleResult
from castplan.materials.cautions import load_cautions


def add_step_cautions(schedule: ScheduleResult) -> ScheduleResult:
    """The same steps, each with the cautions of its kind behind those of its materials.

    Parameters
    ----------
    schedule : ScheduleResult

    Returns
    -------
    ScheduleResult
    """
    steps = []
    for step in schedule.steps:
        own = [key for key, caution in load_cautions().items() if step.kind in caution.steps]
        keys = tuple(dict.fromkeys((*step.cautions, *own)))
        steps.append(replace(step, cautions=keys))
    return replace(schedule, steps=tuple(steps))
