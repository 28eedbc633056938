"""Which steps are done on which day, for the first mould and its first casting."""

from itertools import groupby

from castplan.materials.wording import listed_numbers
from castplan.plan_record import Plan
from castplan.texts import say
from castplan.words import formats
from castplan.words.kinds import day_of
from castplan.words.shop import clock_text

_MIN_PER_DAY = 24 * 60
# A shorter wait is part of the day.
_LEAST_WAIT_MIN = 120.0

# On paper, with widths in mm; None is the rest.
DAY_HEADS = (
    ("days.day", 18.0, True),
    ("days.steps", 34.0),
    ("days.hours", 42.0),
    ("days.sign", 34.0),
    ("days.then", None),
)


def day_rows(plan: Plan) -> list[tuple[str, ...]]:
    """Day, steps, hours of work, steps to sign, and what stands how long after them."""
    steps = {step.number: step for step in plan.bench.schedule.steps}
    rows = []
    for day, tasks in _days(plan):
        holds = [task.step for task in tasks if steps[task.step].is_hold]
        rows.append(
            (
                str(day),
                _numbers(task.step for task in tasks),
                _hours(plan, tasks),
                _numbers(holds) if holds else "",
                _stands(tasks),
            )
        )
    return rows


def days_note(plan: Plan) -> str:
    """When day 1 is, and that more castings follow; empty where neither is to be told."""
    told = []
    if plan.bench.timeline.start is not None:
        told.append(say("days.first", when=clock_text(plan, at_min=0.0)))
    days = _days(plan)
    end = day_of(plan, at_min=plan.bench.timeline.finish_min)
    if days and end > days[-1][0]:
        told.append(say("days.more", day=end))
    return " ".join(told)


def _days(plan):
    """Each day on which hands work, with its tasks in the order of their times."""
    first = [task for task in plan.bench.timeline.tasks if task.mould == 1 and task.copy <= 1]
    first.sort(key=lambda task: (task.start_min, task.step))

    days = groupby(first, key=lambda task: day_of(plan, at_min=task.start_min))
    return [(day, list(tasks)) for day, tasks in days]


def _numbers(steps):
    return str(listed_numbers(sorted(steps)))


def _hours(plan, tasks):
    """From the first to the last touch, by the clock."""
    first_min = round(60 * plan.bench.timeline.first_start_h)
    ends = tasks[0].start_min, max(task.hands_end_min for task in tasks)
    clock = [divmod((first_min + round(at)) % _MIN_PER_DAY, 60) for at in ends]
    start, end = (f"{hour:02d}:{minute:02d}" for hour, minute in clock)
    return say("days.from_to", start=start, end=end)


def _stands(tasks):
    last = max(tasks, key=lambda task: task.end_min)
    wait_min = last.end_min - last.hands_end_min
    if wait_min < _LEAST_WAIT_MIN:
        return ""
    return say("days.stands", wait=formats.time_text(wait_min), step=last.step)
