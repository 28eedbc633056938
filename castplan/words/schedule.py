"""How long steps take, in words."""

from castplan.bench.records import Step
from castplan.plan_record import Plan
from castplan.texts import say
from castplan.words import formats


def step_times(step: Step) -> list[str]:
    """``25 min``, ``wait 16 h``."""
    hands = formats.time_text(step.hands_on_min)
    return (
        [hands, say("steps.wait", time=formats.time_text(step.wait_min))]
        if step.wait_min
        else [hands]
    )


def schedule_sentence(plan: Plan) -> str:
    """Hands-on and waiting time of the whole job, all moulds counted."""
    schedule = plan.bench.schedule
    return say(
        "plan.hands_on_waiting",
        hands_on=formats.time_text(plan.bench.buy.hands_on_min),
        basis=formats.behind(schedule.basis),
        wait=formats.time_text(schedule.wait_min),
    )
