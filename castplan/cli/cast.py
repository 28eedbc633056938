"""``castplan cast``: log each pour beside its plan, list it, take back a wrong line."""

import sys
from pathlib import Path
from typing import Annotated

import typer

from castplan.cli.cast_options import read_defect, read_parts, read_size, read_weighed
from castplan.cli.options import EXIT_CODES, read_number
from castplan.errors import InputError

EPILOG = f"""\b
Examples:
  castplan cast plan --date 2026-12-01 --result good --shot 31.6 --temperature 21
  castplan cast plan --date 2026-12-02 --result usable --defect void@top:35,20=3
  castplan cast plan --date 2026-12-02 --result scrap --defect soft@12,30,4 \\
      --weighed 44.7,38.9 --lot A117 --lot B090 --opened-after 0.5 --photo back.jpg
  castplan cast plan --date 2026-12-03 --result good --size x=141.6 --size shaft=12.65+-0.02
  castplan cast plan --withdraw 3 --note "wrong mould"
  castplan cast box --date 2026-12-04 --result good --part 2=scrap \
      --defect void@2/12,30,4=3 --defect warp@3 --size 3/x=75.9
  castplan cast plan --csv casts.csv

A place is x,y,z in the part's axes, or a face of the box as it rests (top,
bottom, front, back, left, right) with two lengths from its lower left corner
seen from outside, and the depth under it if you know it; mm, or inches with
"in" behind it. In a box of several parts put the number of the part and a slash
before a place, or the number alone: x,y,z are then in that part's own file.

{EXIT_CODES}"""

PlanArgument = Annotated[Path, typer.Argument(metavar="PLAN", help="The plan's folder.")]


def _text(flag, metavar, text):
    return typer.Option(flag, metavar=metavar, help=text)


def cast(
    plan: PlanArgument,
    date: Annotated[str | None, _text("--date", "YYYY-MM-DD", "Day of the pour.")] = None,
    result: Annotated[
        str | None, _text("--result", "HOW", "How it came out: good, usable or scrap.")
    ] = None,
    part: Annotated[
        list[str] | None,
        _text(
            "--part",
            "NUMBER=HOW",
            "How one part of a box of several came out, where that is not as --result says.",
        ),
    ] = None,
    mould: Annotated[str | None, _text("--mould", "NAME", "Which mould. Default 1.")] = None,
    pour: Annotated[
        str | None,
        _text(
            "--pour",
            "WHAT",
            "copy (a casting), or the silicone's upper or lower half. Default copy.",
        ),
    ] = None,
    material: Annotated[
        str | None, _text("--material", "ID", "Card of the material. Without it the plan's.")
    ] = None,
    lot: Annotated[
        list[str] | None,
        _text("--lot", "TEXT", "Lot number on a tin; give it as often as you like."),
    ] = None,
    temperature: Annotated[
        float | None, _text("--temperature", "C", "Temperature of shop and material.")
    ] = None,
    humidity: Annotated[
        float | None, _text("--humidity", "PERCENT", "Relative humidity of the air.")
    ] = None,
    weighed: Annotated[
        str | None, _text("--weighed", "A,B", "Grams of A and B as they went in.")
    ] = None,
    scale_step: Annotated[
        float | None,
        _text("--scale-step", "G", "Smallest step that the scale reads. Without it the plan's."),
    ] = None,
    poured_after: Annotated[
        float | None,
        _text("--poured-after", "MIN", "Minutes from the start of mixing until it was poured."),
    ] = None,
    thick_after: Annotated[
        float | None,
        _text(
            "--thick-after",
            "MIN",
            "Minutes from the start of mixing until it was too thick to pour.",
        ),
    ] = None,
    opened_after: Annotated[
        float | None, _text("--opened-after", "H", "Hours from the pour to opening.")
    ] = None,
    shot: Annotated[
        float | None,
        _text("--shot", "G", "Weight of what came out, with gate and vents still on it."),
    ] = None,
    pressure: Annotated[
        float | None, _text("--pressure", "BAR", "Gauge pressure it cured under; 0 for none.")
    ] = None,
    degassed: Annotated[
        bool | None,
        typer.Option(
            "--degassed/--not-degassed", help="Whether the mix was put under vacuum before pouring."
        ),
    ] = None,
    force: Annotated[
        float | None, _text("--force", "N", "Force that opened the mould, by spring scale.")
    ] = None,
    mould_done: Annotated[
        bool, typer.Option("--mould-done", help="This was the mould's last casting.")
    ] = False,
    defect: Annotated[
        list[str] | None,
        _text(
            "--defect",
            "KIND[@PLACE][=SIZE]",
            "void, dimple, pinholes, short-fill, soft, flash, step, torn-mould, warp or "
            "off-size; where it is, and how wide. Give it as often as you like.",
        ),
    ] = None,
    size: Annotated[
        list[str] | None,
        _text(
            "--size",
            "NAME=LENGTH[+-ERROR]",
            "A length of the casting: x, y or z of the file, or a gauge of the plan. The error is "
            "0.05 mm if none is given. In a box of several parts: 2/x for the x of part 2.",
        ),
    ] = None,
    photo: Annotated[
        list[str] | None, _text("--photo", "FILE", "Name of a picture; the file stays put.")
    ] = None,
    note: Annotated[str | None, _text("--note", "TEXT", "Anything else.")] = None,
    withdraw: Annotated[
        int | None,
        _text(
            "--withdraw",
            "LINE",
            "Take a line back; it stays in the log, marked. Withdrawing that line again undoes it.",
        ),
    ] = None,
    csv: Annotated[Path | None, _text("--csv", "FILE", "Write the whole log as a table.")] = None,
    replace: Annotated[
        bool, typer.Option("--replace", help="Write over FILE of --csv if it is there.")
    ] = False,
):
    """Log a pour, list the log, or take back a line.

    Without options it lists what was logged. The log is part of the plan's
    folder; lines are only ever added.
    """
    a_g, b_g = read_weighed(weighed)
    told = {
        "mould": mould,
        "pour": pour,
        "material": material,
        "lots": tuple(lot) if lot else None,
        "temperature_c": read_number("--temperature", temperature, unit="C"),
        "humidity_fraction": _share("--humidity", humidity),
        "a_g": a_g,
        "b_g": b_g,
        "scale_step_g": read_number("--scale-step", scale_step, above=0.0, unit="g"),
        "poured_min": read_number("--poured-after", poured_after, above=0.0, unit="minutes"),
        "thick_min": read_number("--thick-after", thick_after, above=0.0, unit="minutes"),
        "opened_h": read_number("--opened-after", opened_after, above=0.0, unit="hours"),
        "shot_g": read_number("--shot", shot, above=0.0, unit="g"),
        "pressure_bar": read_number("--pressure", pressure, least=0.0, unit="bar"),
        "is_degassed": degassed,
        "force_n": read_number("--force", force, above=0.0, unit="N"),
        "is_mould_done": mould_done or None,
        "photos": tuple(photo) if photo else None,
    }
    told = {name: value for name, value in told.items() if value is not None}
    is_logging = bool(
        told or date or result or part or defect or size or (note and withdraw is None)
    )
    if is_logging and withdraw is not None:
        raise InputError(
            "--withdraw",
            found="a pour beside it",
            need="one of them",
            do="Take the line back first, then log the right one.",
        )
    from castplan.files.cast_file import add_line, read_log
    from castplan.files.plan_folder import read_plan
    from castplan.words import cast as cast_view

    planned = read_plan(plan)
    if is_logging:
        from castplan.after.records import LoggedPour
        from castplan.materials.cards import any_card

        told |= _asked(date, result)
        told.setdefault("material", _material(planned, told.get("pour", "copy")))
        any_card(told["material"])
        told["defects"] = tuple(read_defect(text, planned) for text in defect or ())
        told["parts"] = read_parts(part or (), planned)
        told["sizes"] = tuple(read_size(text, planned) for text in size or ())
        log = add_line(plan, LoggedPour, note=note or "", **told)
        typer.echo(
            f"Logged as line {len(log.lines)}. Take it back with: castplan cast {plan} "
            f"--withdraw {len(log.lines)}"
        )
        typer.echo(cast_view.pour_sentence(log, log.lines[-1]))
        _tell_after(planned, log)
    elif withdraw is not None:
        from castplan.after.records import Withdrawal

        log = add_line(plan, Withdrawal, of=withdraw, why=note or "")
        typer.echo(f"Line {withdraw} is withdrawn by line {len(log.lines)}; both stay in the log.")
    else:
        log = read_log(plan)
        if csv is None:
            from castplan.words.boxed import tally_lines
            from castplan.words.diagnosis import life_lines

            ends = (*life_lines(planned, log), *tally_lines(planned, log))
            for line in (*cast_view.log_lines(log), *ends):
                typer.echo(line)
    if csv is not None:
        _write_csv(csv, cast_view.log_csv(log), replace=replace)


def _tell_after(planned, log):
    """First suspects of the pour just logged, and how old its mould is."""
    from castplan.words import diagnosis as diagnosis_view

    line = log.lines[-1]
    if line.defects:
        from castplan.after.diagnose import diagnose

        for found in diagnose(planned, log, line=line.number).defects:
            typer.echo(diagnosis_view.first_suspect(found))
        typer.echo("castplan diagnose tells the evidence and the next test.")
    for text in diagnosis_view.life_lines(planned, log, mould=line.mould):
        typer.echo(text)


def _write_csv(path, data, *, replace):
    from castplan.files.new_file import appearing, check_new

    check_new(path, suffixes=(".csv",), replace=replace)
    with appearing(path) as draft:
        draft.write_bytes(data)
    typer.echo(f"Wrote {path}")


def _asked(date, result):
    """Day and result; asked for on a terminal where they are missing."""
    answers = {"date": date, "result": result}
    for name, words in (("date", "Day of the pour, YYYY-MM-DD"), ("result", "good, usable, scrap")):
        if answers[name] is None:
            if not sys.stdin.isatty():
                raise InputError(
                    f"--{name}", found="nothing", need=words, do="castplan cast --help shows how."
                )
            answers[name] = typer.prompt(words)
    return answers


def _share(option, percent):
    if percent is None or 0 <= percent <= 100:
        return None if percent is None else percent / 100
    raise InputError(option, found=f"{percent:g}", need="0 to 100 percent", do="Write 55 for 55 %.")


def _material(planned, pour):
    return planned.job.resin if pour == "copy" else planned.job.silicone
