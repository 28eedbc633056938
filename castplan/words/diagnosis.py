"""The diagnosis in words: the same on terminal and sheet."""

from castplan.after.records import CastLog, Cause, DefectDiagnosis, Diagnosis, Drift
from castplan.plan_record import Plan
from castplan.texts import code_key, say
from castplan.words import formats
from castplan.words.cast import cast_number, defect_text, kind_on_part, size_name

_LETTERS = "ABCDEFGH"
_LIVES = {
    "lasts": "diagnosis.life",
    "ends-soon": "diagnosis.life_ends_soon",
    "over": "diagnosis.life_over",
}


def nothing_logged() -> str:
    """That there is nothing to diagnose."""
    return say("diagnosis.nothing_logged")


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
            lines.append(f"     {say('diagnosis.test', test=cause.test)}")
    return lines


def head_text(found: DefectDiagnosis, log: CastLog) -> str:
    """``Line 3, mould 1 copy 2: a void at top:35,20, 3 mm across``."""
    pour = log.lines[found.line - 1]
    told = {"line": found.line, "mould": pour.mould, "defect": defect_text(found.defect)}
    if pour.pour == "copy":
        return say("diagnosis.head_copy", **told, turn=cast_number(log, pour))
    return say(f"diagnosis.head_{pour.pour}", **told)


def kind_title(kind: str) -> str:
    """One of `castplan.records.DEFECTS` as a heading."""
    return say(f"diagnosis.kind_{code_key(kind)}")


def cause_letters(found: DefectDiagnosis) -> list[tuple[str, Cause]]:
    """Causes with their letters, the one to look at first as A."""
    return list(zip(_LETTERS, found.causes, strict=False))


def evidence_texts(cause: Cause) -> list[str]:
    """Each number with unit, basis letter and what it is."""
    return [formats.sourced_text(number) for number in cause.evidence]


def first_suspect(found: DefectDiagnosis) -> str:
    """One line for a pour that was just logged."""
    return say(
        "diagnosis.first_suspect",
        defect=kind_on_part(found.defect),
        cause=found.causes[0].text,
    )


def life_lines(plan: Plan, log: CastLog, *, mould: str | None = None) -> list[str]:
    """How much of each mould's planned life is used; a warning near its end.

    Parameters
    ----------
    plan : Plan
    log : CastLog
    mould : str, optional
        Of this one only.
    """
    moulds = log.moulds if mould is None else [name for name in log.moulds if name == mould]
    return [_life_text(plan, name, copies) for name in moulds if (copies := log.copies_of(name))]


def _life_text(plan, mould, copies):
    life = plan.bench.buy.mould_life_casts
    planned = f"{life.value:g}{formats.behind(life.basis)}"
    if life.low is not None and life.high is not None:
        ends = {"low": f"{life.low:g}", "high": f"{life.high:g}"}
        planned = say("diagnosis.planned_between", planned=planned, **ends)
    told = {"mould": mould, "copies": len(copies), "planned": planned}
    if copies[-1].is_mould_done:
        return say("diagnosis.life_done", **told)
    return say(_LIVES[plan.bench.buy.life_after(len(copies))], **told)


def drift_lines(drifts: tuple[Drift, ...], mould: str) -> list[str]:
    """How each measured size moves from cast to cast."""
    return [_drift_text(drift, mould) for drift in drifts]


def _drift_text(drift, mould):
    per_cast = formats.error_text(drift.per_cast_mm, error_mm=0.5 * (drift.high_mm - drift.low_mm))
    told = {"mould": mould, "name": size_name(drift), "per_cast": per_cast, "copies": drift.n}
    if not drift.is_drifting:
        return say("diagnosis.no_drift", **told)
    if drift.leaves_at_cast is None:
        return say("diagnosis.drifts", **told)
    return say("diagnosis.drifts_out", **told, cast=drift.leaves_at_cast)
