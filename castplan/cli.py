"""The command line: the only place that prints and that ends the program.

Nothing heavy is imported before a command runs, so that help answers at once.
"""

import enum
import importlib.util
import math
import os
import sys
import time
from pathlib import Path
from typing import Annotated

import typer

from castplan import __version__
from castplan.errors import CastplanError, InputError, ResourceError

AXES = {
    f"{sign}{axis}": tuple(
        (-1.0 if sign == "-" else 1.0) if place == axis else 0.0 for place in "xyz"
    )
    for sign in ("", "+", "-")
    for axis in "xyz"
}

EXIT_CODES = """\b
Exit codes:
  0  done
  2  the file or an option cannot be used
  3  the mesh holds no body that could be cast
  4  memory, disk or permission is missing
A part that will cast badly is not an error: the plan says what to watch."""

app = typer.Typer(
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    add_completion=False,
    no_args_is_help=True,
    epilog=f"""\b
Examples:
  castplan check coat_hook.stl --units mm
  castplan plan coat_hook.stl --units mm --out plan

{EXIT_CODES}""",
)


class Paper(enum.StrEnum):
    """The sheets that a shop's printer takes."""

    A4 = "A4"
    LETTER = "Letter"


PartArgument = Annotated[
    Path, typer.Argument(metavar="PART", help="The part's mesh: STL, OBJ, PLY, 3MF or OFF.")
]
UnitsOption = Annotated[
    str | None,
    typer.Option(
        "--units",
        metavar="UNIT",
        help="Unit of the file's coordinates: mm, cm, m, um, in or ft. "
        "Needed unless the file states it (3MF does).",
    ),
]


def _show_version(wanted: bool):
    if wanted:
        typer.echo(f"castplan {__version__}")
        raise typer.Exit


@app.callback()
def castplan(
    version: Annotated[
        bool,
        typer.Option("--version", callback=_show_version, is_eager=True, help="Say the version."),
    ] = False,
):
    """Plan a two-part silicone block mould from a part's mesh.

    castplan finds how to pull the halves, where to part them, what would stay
    locked, where to pour and vent, and what to weigh out; and prints it at 1:1.
    """


@app.command(
    epilog=f"""\b
Examples:
  castplan plan coat_hook.stl --units mm --out plan
  castplan plan coat_hook.stl --units mm --out plan --replace --draw +z --copies 4
  castplan plan knob.3mf --out knob --up 0,0.5,1 --paper Letter

{EXIT_CODES}"""
)
def plan(
    part: PartArgument,
    out: Annotated[
        Path,
        typer.Option(
            "--out", metavar="DIR", help="Folder to make for the plan: sheets.pdf and plan.json."
        ),
    ],
    units: UnitsOption = None,
    draw: Annotated[
        str | None,
        typer.Option(
            metavar="X,Y,Z",
            help="The way the upper half leaves the part, in the file's axes: 0,0,1 or +z. "
            "Without it the best of many directions.",
        ),
    ] = None,
    up: Annotated[
        str | None,
        typer.Option(
            metavar="X,Y,Z",
            help="What is up while the resin is poured. Without it castplan chooses.",
        ),
    ] = None,
    pitch: Annotated[
        float | None,
        typer.Option(metavar="MM", help="Spacing of the sampling. Without it as fine as fits."),
    ] = None,
    wall: Annotated[
        float | None,
        typer.Option(
            metavar="MM",
            help="Silicone beside the part. Without it by the part's size.",
        ),
    ] = None,
    over: Annotated[
        float | None, typer.Option(metavar="MM", help="Silicone above the part. Default 12.")
    ] = None,
    under: Annotated[
        float | None, typer.Option(metavar="MM", help="Silicone below the part. Default 12.")
    ] = None,
    silicone: Annotated[
        str | None,
        typer.Option(metavar="ID", help="Silicone class. Default silicone-tin-25a."),
    ] = None,
    resin: Annotated[
        str | None,
        typer.Option(metavar="ID", help="Resin class. Default polyurethane-fast-70d."),
    ] = None,
    copies: Annotated[
        int | None, typer.Option(metavar="N", help="Castings wanted. Default 1.")
    ] = None,
    vent_height: Annotated[
        float | None,
        typer.Option(metavar="MM", help="Leave high points unvented below this rise. Default 0.5."),
    ] = None,
    vent_air: Annotated[
        float | None,
        typer.Option(metavar="ML", help="Leave high points unvented below this air. Default 0.02."),
    ] = None,
    temperature: Annotated[
        float | None, typer.Option(metavar="C", help="Of the shop, Celsius. Default 23.")
    ] = None,
    paper: Annotated[
        Paper | None, typer.Option(case_sensitive=False, help="Sheet size. Default A4.")
    ] = None,
    replace: Annotated[
        bool,
        typer.Option("--replace", help="Replace the plan at DIR; it is kept as DIR.previous."),
    ] = False,
):
    """Plan the mould and write the plan folder."""
    choices = {
        "draw": _direction("--draw", draw),
        "up": _direction("--up", up),
        "pitch_mm": _number("--pitch", pitch, above=0.0, unit="mm"),
        "wall_mm": _number("--wall", wall, above=0.0, unit="mm"),
        "over_mm": _number("--over", over, above=0.0, unit="mm"),
        "under_mm": _number("--under", under, above=0.0, unit="mm"),
        "silicone": silicone,
        "resin": resin,
        "copies": _number("--copies", copies, above=0, unit="castings"),
        "vent_min_height_mm": _number("--vent-height", vent_height, least=0.0, unit="mm"),
        "vent_min_air_ml": _number("--vent-air", vent_air, least=0.0, unit="ml"),
        "shop_temperature_c": temperature,
        "paper": None if paper is None else paper.value,
    }
    from castplan.mesh.load import load_part
    from castplan.model import Job
    from castplan.output.write import check_target, write_plan

    check_target(out, replace=replace)
    job = Job(**{name: value for name, value in choices.items() if value is not None})
    with _Progress() as progress:
        progress("load", 0.0)
        loaded = load_part(part, unit=units)
        if not _is_compiled():
            progress.note("first start: compiling, up to 20 s, kept for next time")
        from castplan.output import view
        from castplan.plan import build_plan

        built = build_plan(loaded, job, progress=progress)
        write_plan(built, out, replace=replace, progress=progress)
    for line in view.summary_lines(built):
        typer.echo(line)


@app.command(
    epilog=f"""\b
Example:
  castplan check coat_hook.stl --units mm

{EXIT_CODES}"""
)
def check(part: PartArgument, units: UnitsOption = None):
    """Say what the mesh file holds: size, bodies, holes, volume."""
    from castplan.mesh.load import load_part
    from castplan.output import view

    loaded = load_part(part, unit=units)
    for line in view.check_lines(loaded.check, inches=loaded.check.unit in ("in", "ft")):
        typer.echo(line)


def _direction(option, text):
    """Three numbers, or the name of an axis, as a direction."""
    if text is None:
        return None
    key = text.strip().lower()
    if key in AXES:
        return AXES[key]
    try:
        numbers = tuple(float(number) for number in key.split(","))
    except ValueError:
        numbers = ()
    if len(numbers) != 3 or not all(map(math.isfinite, numbers)) or not any(numbers):
        raise InputError(
            option,
            found=repr(text),
            need="three numbers that are not all zero, as 0,0,1, or an axis, as +z",
            do=f"Write for example {option} 0,0,1.",
        )
    return numbers


def _number(option, value, *, unit, above=-math.inf, least=-math.inf):
    """A finite number within its limits."""
    if value is None or (math.isfinite(value) and value > above and value >= least):
        return value
    limit = f"above {above:g}" if above > -math.inf else f"of at least {least:g}"
    raise InputError(
        option,
        found=f"{value:g}",
        need=f"a number of {unit} {limit}",
        do=f"Change it, or leave {option} away.",
    )


def _is_compiled():
    """Whether the compiled kernels of an earlier start are still kept.

    Told by the cache files of this Python, without importing the compiler.
    """
    version = f"py{sys.version_info.major}{sys.version_info.minor}"
    folders = [
        Path(place) for place in importlib.util.find_spec("castplan").submodule_search_locations
    ]
    if os.environ.get("NUMBA_CACHE_DIR"):
        folders = [Path(os.environ["NUMBA_CACHE_DIR"])]
    return any(next(folder.rglob(f"*{version}*.nbi"), None) for folder in folders)


class _Progress:
    """Stages and their seconds on standard error.

    On a terminal one line is written over; elsewhere each stage that ends is a
    line, so that a log stays readable.
    """

    def __init__(self):
        self._is_terminal = sys.stderr.isatty()
        self._stage = None
        self._start_s = 0.0

    def __enter__(self):
        return self

    def __exit__(self, *error):
        self._end_stage()

    def __call__(self, stage_name, fraction):
        if stage_name != self._stage:
            self._end_stage()
            self._stage, self._start_s = stage_name, time.monotonic()
        if self._is_terminal:
            self._show(f"\r{stage_name} {100 * fraction:3.0f} %", end="")

    def note(self, text):
        """A line of its own."""
        self._end_stage()
        self._show(text)

    def _end_stage(self):
        if self._stage is not None:
            lead, tail = ("\r", "  ") if self._is_terminal else ("", "")
            self._show(f"{lead}{self._stage} {time.monotonic() - self._start_s:.1f} s{tail}")
            self._stage = None

    def _show(self, text, *, end="\n"):
        print(text, end=end, file=sys.stderr, flush=True)


def main() -> None:
    """Run the command line and end the program with its exit code."""
    for stream in (sys.stdout, sys.stderr):
        # A log in a code page without some sign should not stop a plan.
        stream.reconfigure(errors="replace")
    try:
        app(prog_name="castplan")
    except CastplanError as error:
        _stop(error)
    except MemoryError:
        _stop(
            ResourceError(
                "castplan",
                found="too little memory",
                need="more",
                do="Close other programs, or give a coarser --pitch.",
            )
        )


def _stop(error):
    print(error, file=sys.stderr)
    raise SystemExit(error.exit_code)
