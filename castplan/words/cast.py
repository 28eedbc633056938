"""The log of pours in words, and as a table for other programs."""

import csv
import io

from castplan.after.records import CastLog, Defect, Drift, LoggedPour, Size, Withdrawal
from castplan.texts import code_key, say
from castplan.words.csv_cells import cell
from castplan.words.formats import time_text

# By whether a place and a size were told.
_ON_A_PART = {
    (False, False): "boxed.on",
    (False, True): "boxed.on_wide",
    (True, False): "boxed.on_at",
    (True, True): "boxed.on_at_wide",
}
COLUMNS = (
    "line",
    "stands",
    "date",
    "mould",
    "pour",
    "cast_of_mould",
    "material",
    "lots",
    "temperature_c",
    "humidity_percent",
    "a_g",
    "b_g",
    "scale_step_g",
    "poured_min",
    "thick_min",
    "opened_h",
    "shot_g",
    "pressure_bar",
    "degassed",
    "force_n",
    "result",
    "part_results",
    "mould_done",
    "defects",
    "sizes_mm",
    "photos",
    "note",
    "withdraws_line",
)


def log_lines(log: CastLog) -> list[str]:
    """Every line of the log in order, withdrawn ones marked."""
    gone = log.withdrawn
    texts = [_line_text(log, line, is_gone=line.number in gone) for line in log.lines]
    if log.is_torn:
        texts.append(say("logged.torn"))
    return texts or [say("logged.nothing")]


def _line_text(log, line, *, is_gone):
    number = say("logged.withdrawn", number=line.number) if is_gone else line.number
    return f"{number}  {line_sentence(log, line)}"


def line_sentence(log: CastLog, line: LoggedPour | Withdrawal) -> str:
    """A pour, or that another line is taken back."""
    if isinstance(line, LoggedPour):
        return pour_sentence(log, line)
    if not line.why:
        return say("logged.takes_back", line=line.of)
    return say("logged.takes_back_because", line=line.of, why=line.why)


def pour_sentence(log: CastLog, line: LoggedPour) -> str:
    """One pour: ``2026-12-01 mould 1 copy 3, usable; void at top 35,20; 31.6 g [m]``."""
    turn = cast_number(log, line) if line.pour == "copy" else None
    told = {"date": line.date, "mould": line.mould, "result": say(f"logged.result_{line.result}")}
    parts = [
        say("logged.numbered_copy", **told, turn=turn)
        if turn
        else say(f"logged.pour_{line.pour}", **told)
    ]
    parts += [
        say("boxed.part_result", part=each.part, result=say(f"logged.result_{each.result}"))
        for each in line.parts
    ]
    parts += [defect_text(defect) for defect in line.defects]
    parts += [f"{size_name(size)} {size.length_mm:g} mm" for size in line.sizes]
    if line.shot_g is not None:
        parts.append(f"{line.shot_g:g} g")
    if line.temperature_c is not None:
        parts.append(f"{line.temperature_c:g} C")
    if line.opened_h is not None:
        parts.append(say("logged.opened", time=time_text(60 * line.opened_h)))
    if line.is_mould_done:
        parts.append(say("logged.mould_done"))
    if line.note:
        parts.append(line.note)
    return "; ".join(parts)


def cast_number(log: CastLog, line: LoggedPour) -> int | None:
    """Which cast of its mould a copy is, from 1; None for a line that does not stand."""
    copies = [copy.number for copy in log.copies_of(line.mould)]
    return copies.index(line.number) + 1 if line.number in copies else None


def defect_text(defect: Defect) -> str:
    """``a void at top:35,20, 3 mm across``; of several parts in a box ``on part 2`` besides."""
    told = {"defect": kind_words(defect.kind)}
    if defect.part is not None:
        told["part"] = defect.part
    if defect.told:
        told["place"] = defect.told
    if defect.size_mm is not None:
        told["size"] = f"{defect.size_mm:g} mm"
    if "part" in told:
        return say(_ON_A_PART["place" in told, "size" in told], **told)
    if "place" in told:
        return say("logged.at_wide", **told) if "size" in told else say("logged.at", **told)
    return say("logged.wide", **told) if "size" in told else told["defect"]


def kind_on_part(defect: Defect) -> str:
    """``a void``, of several parts in a box ``a void on part 2``."""
    words = kind_words(defect.kind)
    return words if defect.part is None else say("boxed.on", defect=words, part=defect.part)


def size_name(size: Size | Drift) -> str:
    """Name of a size, with the part of the box that it was measured on."""
    if size.part is None:
        return size.name
    return say("boxed.size", name=size.name, part=size.part)


def kind_words(kind: str) -> str:
    """One of `castplan.records.DEFECTS` in words: ``a short fill``."""
    return say(f"logged.kind_{code_key(kind)}")


def log_csv(log: CastLog) -> bytes:
    """The whole log as CSV (RFC 4180): one row a line, withdrawn ones too.

    Parameters
    ----------
    log : CastLog

    Returns
    -------
    bytes
        UTF-8. Lengths in mm, weights in g; several values in one cell stand
        apart by semicolons. Text that a table program would run as a formula has an
        apostrophe before it.
    """
    text = io.StringIO()
    table = csv.DictWriter(text, COLUMNS, restval="", lineterminator="\r\n")
    table.writeheader()
    for line in log.lines:
        stands = "no" if line.number in log.withdrawn else "yes"
        row = {"line": line.number, "stands": stands, **_row(log, line)}
        table.writerow({name: cell(value) for name, value in row.items()})
    return text.getvalue().encode("utf-8")


def _row(log, line):
    if isinstance(line, Withdrawal):
        return {"withdraws_line": line.of, "note": line.why}
    row = {name: getattr(line, name) for name in COLUMNS if hasattr(line, name)}
    switches = {None: "", True: "yes", False: "no"}
    humidity = line.humidity_fraction
    row = {name: "" if value is None else value for name, value in row.items()}
    return row | {
        "cast_of_mould": (cast_number(log, line) or "") if line.pour == "copy" else "",
        "lots": "; ".join(line.lots),
        "humidity_percent": "" if humidity is None else f"{100 * humidity:g}",
        "degassed": switches[line.is_degassed],
        "mould_done": switches[line.is_mould_done],
        "part_results": "; ".join(f"{each.part}={each.result}" for each in line.parts),
        "defects": "; ".join(_defect_cell(defect) for defect in line.defects),
        "sizes_mm": "; ".join(
            f"{_of_part(size.part, size.name)}={size.length_mm:g}+-{size.error_mm:g}"
            for size in line.sizes
        ),
        "photos": "; ".join(line.photos),
    }


def _defect_cell(defect):
    """``void@35,20,18=3``, the place in the part's axes; on part 2 ``void@2/35,20,18=3``."""
    place = None
    if defect.where_mm is not None:
        place = ",".join(f"{value:.4g}" for value in defect.where_mm)
    place = _of_part(defect.part, place)
    text = defect.kind if place is None else f"{defect.kind}@{place}"
    return text if defect.size_mm is None else f"{text}={defect.size_mm:g}"


def _of_part(part, text):
    """What was told, behind the number of a part of the box."""
    if part is None:
        return text
    return f"{part}" if text is None else f"{part}/{text}"
