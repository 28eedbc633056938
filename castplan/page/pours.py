"""The log of a job's pours, as the page writes and reads it.

It is the same file that ``castplan cast`` keeps beside a plan, so what holds
there holds here: lines are only ever added, and each is on the disk before it
is called logged.
"""

from dataclasses import fields, replace
from pathlib import Path

from castplan.after.boxed import keep_by_part, numbered
from castplan.after.diagnose import diagnose
from castplan.after.records import DEFECTS, CastLog, LoggedPour, Withdrawal
from castplan.errors import InputError
from castplan.files.cast_file import add_line, read_log
from castplan.files.reading import from_plain
from castplan.nest.records import Nest
from castplan.plan_record import Plan
from castplan.words.boxed import tally_lines
from castplan.words.cast import kind_words, line_sentence, log_csv
from castplan.words.diagnosis import cause_letters, evidence_texts, head_text, life_lines
from castplan.words.nest import named

# What the page asks for; the rest of a pour is for the command line.
ASKED = (
    "date",
    "mould",
    "pour",
    "lots",
    "temperature_c",
    "humidity_fraction",
    "a_g",
    "b_g",
    "poured_min",
    "opened_h",
    "shot_g",
    "pressure_bar",
    "result",
    "parts",
    "defects",
    "sizes",
    "photos",
    "note",
)


def add_pour(folder: Path, told: dict, *, nest: Nest | None = None) -> CastLog:
    """Log a pour.

    Parameters
    ----------
    folder : pathlib.Path
        Of the job's log; made where there is none.
    told : dict
        Fields of `LoggedPour` as JSON has them.
    nest : Nest, optional
        How several parts lie in the box: a place without a part is in its axes.

    Returns
    -------
    CastLog

    Raises
    ------
    InputError
        A field is not known, or its value cannot be.
    """
    try:
        if unknown := sorted(set(told) - set(ASKED)):
            raise ValueError(f"{unknown[0]!r}")
        pour = from_plain(LoggedPour, {**told, "number": 1})
    except (ValueError, TypeError) as error:
        raise InputError(
            "pour",
            found=" ".join(str(error).split())[:200],
            need="what a pour may say",
            do="Change that, or leave it out.",
        ) from error
    if nest is not None:
        for each in (*pour.defects, *pour.sizes, *pour.parts):
            if each.part is not None:
                numbered(nest, number=each.part)
        pour = replace(pour, defects=tuple(_told_by_part(nest, each) for each in pour.defects))
    folder.mkdir(exist_ok=True, mode=0o700)
    values = {entry.name: getattr(pour, entry.name) for entry in fields(pour)}
    del values["number"]
    return add_line(folder, LoggedPour, **values)


def _told_by_part(nest, defect):
    """A defect as it is logged, its place told in the file of the part that it is on."""
    kept = keep_by_part(nest, defect)
    if kept.where_mm is None or kept.told:
        return kept
    return replace(kept, told=",".join(f"{value:.1f}" for value in kept.where_mm))


def withdraw(folder: Path, *, of: int, why: str) -> CastLog:
    """Take a line back; it stays in the log, marked."""
    if not folder.is_dir():
        raise InputError("log", found="no line yet", need="one to take back", do="Log a pour.")
    return add_line(folder, Withdrawal, of=of, why=why)


def log_of(folder: Path) -> CastLog:
    """The job's log; an empty one where nothing was logged yet."""
    return read_log(folder)


def csv_of(folder: Path) -> bytes:
    """The log as CSV."""
    return log_csv(read_log(folder))


def told_log(log: CastLog, plan: Plan) -> dict:
    """The log, what its defects mean, and how much of the mould's life is used.

    Parameters
    ----------
    log : CastLog
    plan : Plan

    Returns
    -------
    dict
        Plain JSON, newest pour first.
    """
    gone = log.withdrawn
    parts = () if plan.nest is None else plan.nest.parts
    return {
        "parts": [{"number": part.number, "says": named(part)} for part in parts],
        "tally": tally_lines(plan, log),
        "kinds": [{"id": kind, "says": kind_words(kind)} for kind in DEFECTS],
        "lines": [
            {
                "number": line.number,
                "is_withdrawn": line.number in gone,
                "says": line_sentence(log, line),
            }
            for line in reversed(log.lines)
        ],
        "life": life_lines(plan, log),
        "defects": [
            {
                "line": found.line,
                "head": head_text(found, log),
                "where_mm": None if found.defect.where_mm is None else list(found.defect.where_mm),
                "causes": [
                    {
                        "letter": letter,
                        "says": str(cause.text),
                        "evidence": evidence_texts(cause),
                        "test": str(cause.test),
                    }
                    for letter, cause in cause_letters(found)
                ],
            }
            for found in diagnose(plan, log).defects
        ],
    }
