"""Causes that only a box of several parts knows."""

from castplan.after.boxed import numbered, put_in_box
from castplan.after.case import Case, fact
from castplan.after.records import Cause
from castplan.texts.told import tell

# That one cavity alone came out short speaks for how the mix was shared out; that
# several did for too little of it (assumed).
ALONE_WEIGHT, AMONG_WEIGHT = 0.55, 0.15


def shared_badly(case: Case) -> list[Cause]:
    """A part that got too little because the others were poured first."""
    nest, number = case.plan.nest, case.defect.part
    if nest is None or number is None:
        return []
    part = numbered(nest, number=number)
    defects = [put_in_box(nest, each) for each in case.pour.defects]
    short = {each.part for each in defects if each.kind == case.defect.kind}
    takes = tell("cause_box.takes", number=number, part=part.name)
    return [
        Cause(
            code="shared-badly",
            text=tell("cause_box.shared", number=number, part=part.name),
            evidence=(
                fact(part.volume_ml, "ml", "computed", takes),
                fact(case.mix.net_ml, "ml", "computed", tell("cause_box.all_take")),
            ),
            test=tell("cause_box.shared_test", number=number),
            weight=ALONE_WEIGHT if len(short) == 1 else AMONG_WEIGHT,
        )
    ]
