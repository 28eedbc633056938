"""The diagnosis in words: the same on terminal and sheet."""

from castplan.model import DEFECTS, CastLog, Cause, DefectDiagnosis, Diagnosis, Drift, Plan
from castplan.output import formats
from castplan.output.cast_view import cast_number, defect_text

NOTHING = "No defect is logged. castplan cast --help shows how to log one."
_LETTERS = "ABCDEFGH"


def diagnosis_lines(diagnosis: Diagnosis, log: CastLog) -> list[str]:
    """Every defect with its causes, their evidence and tests."""
    if not diagnosis.defects:
        return [NOTHING]
    lines = []
    for found in diagnosis.defects:
        lines += ["", head_text(found, log)] if lines else [head_text(found, log)]
        for letter, cause in zip(_LETTERS, found.causes, strict=False):
            lines.append(f"  {letter}  {cause.text}")
            lines += [f"       {text}" for text in evidence_texts(cause)]
            lines.append(f"     Test: {cause.test}")
    return lines


def head_text(found: DefectDiagnosis, log: CastLog) -> str:
    """``Line 3, mould 1 copy 2: a void at top:35,20, 3 mm across``."""
    pour = log.lines[found.line - 1]
    turn = cast_number(log, pour)
    what = f"copy {turn}" if turn and pour.pour == "copy" else f"{pour.pour} half"
    return f"Line {found.line}, mould {pour.mould} {what}: {defect_text(found.defect)}"


def cause_letters(found: DefectDiagnosis) -> list[tuple[str, Cause]]:
    """Causes with their letters, the one to look at first as A."""
    return list(zip(_LETTERS, found.causes, strict=False))


def evidence_texts(cause: Cause) -> list[str]:
    """Each number with unit, basis letter and what it is."""
    return [formats.sourced_text(number) for number in cause.evidence]


def first_suspect(found: DefectDiagnosis) -> str:
    """One line for a pour that was just logged."""
    return f"First suspect for {DEFECTS[found.defect.kind]}: {found.causes[0].text}"


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
            planned += f" ({life.low:g} to {life.high:g})"
        text = f"Mould {mould}: {len(copies)} of about {planned} casts planned"
        if done:
            text += "; it is done."
        elif len(copies) >= life.value:
            text += ". Its planned life is over: measure every copy, and pour a new mould."
        elif len(copies) >= 0.75 * life.value:
            text += ". Its planned life ends soon: measure every copy, and plan the next mould."
        else:
            text += "."
        lines.append(text)
    return lines


def drift_lines(drifts: tuple[Drift, ...], mould: str) -> list[str]:
    """How each measured size moves from cast to cast."""
    return [_drift_text(drift, mould) for drift in drifts]


def _drift_text(drift, mould):
    per_cast = formats.error_text(drift.per_cast_mm, error_mm=0.5 * (drift.high_mm - drift.low_mm))
    text = f"Mould {mould}, size {drift.name}: {per_cast} a cast [m] over {drift.n} copies"
    if not drift.is_drifting:
        return f"{text}; no drift to be told from the scatter."
    text += "; it drifts"
    if drift.leaves_at_cast is not None:
        text += f" and leaves its tolerance at about cast {drift.leaves_at_cast}"
    return f"{text}."
