"""The cautions of work after the pour: what the plan's copies take, and what the tests add."""

from castplan.materials.cautions import Caution, load_cautions
from castplan.plan_record import Plan


def after_cautions(plan: Plan, more: tuple[str, ...] = ()) -> list[Caution]:
    """Cautions of casting and trimming a copy, and those named besides.

    Parameters
    ----------
    plan : Plan
    more : tuple of str
        Keys of cautions.
    """
    wanted = {
        key for step in plan.bench.schedule.steps if step.is_per_copy for key in step.cautions
    }
    wanted |= {"dust", *more}
    return [caution for key, caution in load_cautions().items() if key in wanted]
