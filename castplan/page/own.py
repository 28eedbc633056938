"""What castplan offers where the shop has chosen: listed still, so that one can go back."""

from dataclasses import dataclass, replace

from castplan.air.records import AttitudeOption
from castplan.plan_record import Plan
from castplan.split.draw import find_draw
from castplan.split.records import DrawCandidate


@dataclass(frozen=True)
class Own:
    """Draws and pouring positions of castplan's own; none where the plan's are they."""

    draws: tuple[DrawCandidate, ...] = ()
    stands: tuple[AttitudeOption, ...] = ()


NO_OWN = Own()


def own_draws(plan: Plan) -> tuple[DrawCandidate, ...]:
    """The draws that the search lists; at once where a memory at work has them.

    Parameters
    ----------
    plan : Plan
        Of a chosen draw.
    """
    return find_draw(plan.part, replace(plan.job, draw=None)).candidates


def own_stands(plan: Plan) -> tuple:
    """The draw, and the pouring positions that go with it; to be kept for another plan of it."""
    return plan.split.draw.direction, plan.air.attitude.options
