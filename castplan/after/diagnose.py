"""From plan and log to the causes of every defect, first suspect in front.

Each kind of defect has its list of questions. A question looks at the plan's
own numbers and at the log and gives causes with a weight; nothing is taken
from a fixed order. Weights come from three rules: a number against its limit,
a distance against what a told place may miss, and a plain share where neither
plan nor log knows anything (all assumed, kept low).
"""

from castplan.after import (
    air_causes,
    box_causes,
    cure_causes,
    cut_causes,
    loose_causes,
    mould_causes,
    size_causes,
)
from castplan.after.boxed import put_in_box
from castplan.after.case import Case
from castplan.after.cavity import cavity_of
from castplan.after.records import CastLog, Cause, DefectDiagnosis, Diagnosis
from castplan.errors import InputError
from castplan.plan_record import Plan

# Causes that are not worth the bench's time beside the first.
LEAST_WEIGHT = 0.1
MOST_CAUSES = 4

QUESTIONS = {
    "void": (
        air_causes.caught_air,
        air_causes.spill,
        air_causes.off_level,
        air_causes.small_bubbles,
        air_causes.gelled,
    ),
    "dimple": (
        mould_causes.mould_bubbles,
        mould_causes.silicone_air,
        mould_causes.sink,
        air_causes.caught_air,
    ),
    "pinholes": (
        cure_causes.moisture,
        air_causes.small_bubbles,
        cure_causes.fresh_mould,
        cure_causes.same_lot,
    ),
    "short-fill": (
        air_causes.gelled,
        air_causes.ran_short,
        box_causes.shared_badly,
        air_causes.thin_way,
        air_causes.caught_air,
    ),
    "soft": (
        cure_causes.ratio,
        cure_causes.cold,
        cure_causes.moisture,
        cure_causes.small_mix,
        cure_causes.chemistry,
        cure_causes.fresh_mould,
        cure_causes.streaks,
        cure_causes.same_lot,
    ),
    "flash": (
        mould_causes.parted_halves,
        cut_causes.opened_lips,
        loose_causes.round_a_piece,
        mould_causes.age,
    ),
    "step": (
        mould_causes.shifted_halves,
        cut_causes.unmeshed_lips,
        loose_causes.short_of_its_seat,
    ),
    "torn-mould": (mould_causes.pulled_rubber, mould_causes.age, mould_causes.sticking),
    "warp": (cure_causes.cold, size_causes.uneven, size_causes.hot, mould_causes.age),
    "off-size": (
        size_causes.shrunk,
        size_causes.drifting,
        mould_causes.age,
        size_causes.hot,
    ),
}

# The same of a silicone pour, where they differ.
_AIR = (mould_causes.silicone_air, mould_causes.mixing_air, cure_causes.same_lot)
SILICONE_QUESTIONS = QUESTIONS | {
    "void": _AIR,
    "dimple": _AIR,
    "pinholes": _AIR,
    "soft": tuple(q for q in QUESTIONS["soft"] if q is not cure_causes.fresh_mould),
    "short-fill": (air_causes.ran_short, *_AIR),
    "torn-mould": (mould_causes.pulled_rubber, cure_causes.cold),
    "warp": (mould_causes.shifted_halves, cure_causes.cold),
    "off-size": (mould_causes.shifted_halves,),
}


def diagnose(plan: Plan, log: CastLog, *, line: int | None = None) -> Diagnosis:
    """Causes of every defect of the pours that stand.

    Parameters
    ----------
    plan : Plan
    log : CastLog
    line : int, optional
        Of the log, for the defects of one pour only.

    Returns
    -------
    Diagnosis
        Latest pour first; the same plan and log give the same.

    Raises
    ------
    InputError
        No pour stands at that line.
    """
    if line is not None and line not in [pour.number for pour in log.pours]:
        raise InputError(
            "--line",
            found=f"{line}",
            need="the line of a pour that stands",
            do="castplan cast PLAN lists them.",
        )
    cavity = cavity_of(plan)
    found = tuple(
        DefectDiagnosis(
            line=pour.number,
            defect=defect,
            causes=rank_causes(Case(plan=plan, log=log, pour=pour, defect=defect, cavity=cavity)),
        )
        for pour in reversed(log.pours)
        if line in (None, pour.number)
        for defect in (put_in_box(plan.nest, each) for each in pour.defects)
    )
    return Diagnosis(defects=found)


def rank_causes(case: Case) -> tuple[Cause, ...]:
    """Causes of one defect, heaviest first."""
    questions = QUESTIONS if case.pour.pour == "copy" else SILICONE_QUESTIONS
    causes = [cause for question in questions[case.defect.kind] for cause in question(case)]
    causes.sort(key=lambda cause: (-round(cause.weight, 9), cause.code, cause.port or ""))
    kept = [cause for cause in causes if cause.weight >= LEAST_WEIGHT] or causes
    return tuple(kept[:MOST_CAUSES])
