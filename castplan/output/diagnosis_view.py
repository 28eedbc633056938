"""The diagnosis in words: the same on terminal and sheet."""

from castplan.model import DEFECTS, CastLog, Cause, DefectDiagnosis, Diagnosis, Drift, Plan
from castplan.output import formats
from castplan.output.cast_view import cast_number, defect_text
from castplan.texts import say

_LETTERS = "ABCDEFGH"


def nothing_logged() -> str:
    """That there is nothing to diagnose."""
    return say("diagnosis.no_defect_is_logged_castplan")


def diagnosis_lines(diagnosis: Diagnosis, log: CastLog) -> list[str]:
    """Every defect with its causes, their evidence and tests."""
    if not diagnosis.defects:
        return [nothing_logged()]
    lines = []
    for found in diagnosis.defects:
        lines += ["", head_text(found, log)] if lines else [head_text(found, log)]
        for letter, cause in zip(_LETTERS, found.causes, strict=False):
            lines.append(f"  {letter}  {cause.text}")
            lines += [f"       {text}" for text in evidence_texts(cause)]
            lines.append(say("diagnosis.test", test=cause.test))
    return lines


def head_text(found: DefectDiagnosis, log: CastLog) -> str:
    """``Line 3, mould 1 copy 2: a void at top:35,20, 3 mm across``."""
    pour = log.lines[found.line - 1]
    turn = cast_number(log, pour)
    what = f"copy {turn}" if turn and pour.pour == "copy" else say("diagnosis.half", pour=pour.pour)
    return say(
        "diagnosis.line_mould",
        line=found.line,
        mould=pour.mould,
        what=what,
        defect=defect_text(found.defect),
    )


def cause_letters(found: DefectDiagnosis) -> list[tuple[str, Cause]]:
    """Causes with their letters, the one to look at first as A."""
    return list(zip(_LETTERS, found.causes, strict=False))


def evidence_texts(cause: Cause) -> list[str]:
    """Each number with unit, basis letter and what it is."""
    return [formats.sourced_text(number) for number in cause.evidence]


def first_suspect(found: DefectDiagnosis) -> str:
    """One line for a pour that was just logged."""
    return say(
        "diagnosis.first_suspect_for", DEFECTS=DEFECTS[found.defect.kind], part=found.causes[0].text
    )


def life_lines(plan: Plan, log: CastLog) -> list[str]:
    """How much of each mould's planned life is used; a warning near its end."""
    life = plan.buy.mould_life_casts
    lines = []
    for mould in log.moulds:
        copies = log.copies_of(mould)
        if not copies:
            continue
        done = copies[-1].is_mould_done
        planned = f"{life.value:g} {formats.mark(life.basis)}"
        if life.low is not None and life.high is not None:
            planned += say("diagnosis.to", low=f"{life.low:g}", high=f"{life.high:g}")
        text = say(
            "diagnosis.mould_of_about_casts_planned",
            mould=mould,
            copies=len(copies),
            planned=planned,
        )
        if done:
            text += say("diagnosis.it_is_done")
        elif len(copies) >= life.value:
            text += say("diagnosis.its_planned_life_is_over")
        elif len(copies) >= 0.75 * life.value:
            text += say("diagnosis.its_planned_life_ends_soon")
        else:
            text += "."
        lines.append(text)
    return lines


def drift_lines(drifts: tuple[Drift, ...], mould: str) -> list[str]:
    """How each measured size moves from cast to cast."""
    return [_drift_text(drift, mould) for drift in drifts]


def _drift_text(drift, mould):
    per_cast = formats.error_text(drift.per_cast_mm, error_mm=0.5 * (drift.high_mm - drift.low_mm))
    text = say(
        "diagnosis.mould_size_a_cast_m",
        mould=mould,
        name=drift.name,
        per_cast=per_cast,
        count=drift.n,
    )
    if not drift.is_drifting:
        return say("diagnosis.no_drift_to_be_told", part=text)
    text += say("diagnosis.it_drifts")
    if drift.leaves_at_cast is not None:
        text += say("diagnosis.and_leaves_its_tolerance_at", leaves_at_cast=drift.leaves_at_cast)
    return f"{text}."
