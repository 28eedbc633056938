"""``castplan plan``: plan the mould and write the plan folder."""

import inspect
from pathlib import Path
from typing import Annotated

import typer

from castplan.cli.ceiling import LimitOption, MemoryOption, hold
from castplan.cli.first_start import compiling_ahead
from castplan.cli.job_options import ARGUMENTS, option_of, read_options
from castplan.cli.options import (
    EXIT_CODES,
    MeasuredOption,
    PartArgument,
    PlaneOption,
    SizeOption,
    ThicknessOption,
    UnitsOption,
    read_closing,
)
from castplan.cli.progress import Progress
from castplan.cli.shop_options import ShopOption, UsesOption, read_shop
from castplan.errors import InputError
from castplan.job import Job

SOLIDS = ("halves", "bed", "walls", "case")

EPILOG = f"""\b
Examples:
  castplan plan coat_hook.stl --units mm --out plan
  castplan plan coat_hook.stl --units mm --out plan --replace --draw +z --copies 4
  castplan plan bezel.stl --units mm --out bezel --show-face +z --parting following
  castplan plan knob.3mf --out knob --up 0,0.5,1 --paper Letter
  castplan plan hook.stl --with catch.stl --with catch.stl --units mm --out box

{EXIT_CODES}"""

WithOption = Annotated[
    list[Path] | None,
    typer.Option(
        "--with",
        metavar="PART",
        help="Another part to lie in the same box; again for each, up to twelve in all, the "
        "same file for a copy. Units and the like hold for all of them; --draw and --show-face "
        "are in each file's own axes, --up in the box's, whose z is the draw.",
    ),
]
SolidsOption = Annotated[
    str | None,
    typer.Option(
        "--solids",
        metavar="NAMES",
        help="Also write solids as STL and 3MF: halves, bed (a print in place of clay), walls "
        "(the box as prints), case (a rigid case), comma between, or all.",
    ),
]


def plan(
    part: PartArgument,
    out: Annotated[
        Path,
        typer.Option(
            "--out",
            metavar="DIR",
            help="Folder to make for the plan: sheets.pdf, view.html and plan.json.",
        ),
    ],
    others: WithOption = None,
    units: UnitsOption = None,
    measured: MeasuredOption = None,
    thickness: ThicknessOption = None,
    close_to_plane: PlaneOption = False,
    yes: SizeOption = False,
    shop: ShopOption = None,
    uses: UsesOption = None,
    solids: SolidsOption = None,
    replace: Annotated[
        bool,
        typer.Option("--replace", help="Replace the plan at DIR; it is kept as DIR.previous."),
    ] = False,
    limit_s: LimitOption = None,
    memory_mb: MemoryOption = None,
    **told,
):
    """Plan the mould and write the plan folder."""
    hold(limit_s=limit_s, memory_mb=memory_mb, out=out)
    job, wanted = read_job(told | {"shop": shop, "uses": uses, "solids": solids})
    from castplan.files.write import check_target
    from castplan.part.load import Reading, load_part, read_each

    check_target(out, replace=replace)
    with Progress() as progress, compiling_ahead() as is_first:
        progress("load", 0.0)
        reading = Reading(
            unit=units,
            measured=measured,
            closing=read_closing(thickness, close_to_plane),
            is_size_meant=yes,
        )
        loaded, *more = read_each((part, *(others or ())), lambda path: load_part(path, reading))
        if is_first:
            progress.note("first start: compiling, up to 20 s, kept for next time")
        from castplan.door import plan_part

        if "bed" in wanted and job.printer_mm is None:
            progress.note("the bed is left in one piece: say --printer W,D,H to cut it for yours")
        planned = plan_part(loaded, job, others=more, solids=wanted, progress=progress)
        if planned.why_no_solids:
            progress.note(f"no solids written. {planned.why_no_solids}")
        planned.write(out, replace=replace, progress=progress)
    for line in planned.summary():
        typer.echo(line)


def read_job(told: dict):
    """The job that the options of ``castplan plan`` describe, and the solids asked for.

    Parameters
    ----------
    told : dict
        What was typed, by the names of `plan`'s arguments.

    Returns
    -------
    job : Job
    solids : tuple of str

    Raises
    ------
    InputError
        A value cannot be used.
    """
    wanted = read_solids(told["solids"])
    choices = read_options(told)
    if "bed" in wanted:
        choices = {"bed": "printed"} | choices
    return Job(**choices, shop=read_shop(told["shop"], told["uses"])), wanted


def read_solids(text: str | None) -> tuple[str, ...]:
    """Which solids are wanted, in the order they are made."""
    if text is None:
        return ()
    names = [name.strip().lower() for name in text.split(",")]
    if names == ["all"]:
        return SOLIDS
    unknown = sorted(set(names) - set(SOLIDS))
    if unknown:
        raise InputError(
            "--solids",
            found=", ".join(repr(name) for name in unknown),
            need=f"{', '.join(SOLIDS)} or all",
            do="Write for example --solids halves,bed.",
        )
    return tuple(name for name in SOLIDS if name in names)


_LIMITS = ("limit_s", "memory_mb")


def _take_the_jobs_options():
    """Give `plan` an option for every choice of the job that has one."""
    own = inspect.signature(plan)
    fixed = {name: told for name, told in own.parameters.items() if name != "told"}
    asked = {
        argument: inspect.Parameter(
            argument,
            inspect.Parameter.POSITIONAL_OR_KEYWORD,
            default=None,
            annotation=option_of(name),
        )
        for name, argument in ARGUMENTS.items()
    }
    last = [fixed.pop(name) for name in ("shop", "uses", "solids", "replace", *_LIMITS)]
    plan.__signature__ = own.replace(parameters=[*fixed.values(), *asked.values(), *last])
    plan.__annotations__ |= {name: each.annotation for name, each in asked.items()}


_take_the_jobs_options()
