"""``castplan picture``: one picture of a plan as a file."""

from pathlib import Path
from typing import Annotated

import typer

from castplan.cli.cast import PlanArgument
from castplan.cli.options import EXIT_CODES
from castplan.errors import InputError
from castplan.pictures import NAMES, STEP

EPILOG = f"""\b
Examples:
  castplan picture plan split --out split.png
  castplan picture plan vents --out vents.pdf
  castplan picture plan times --out times.svg --replace
  castplan picture plan step_overview --out mould.png

\b
NAME is one of:
  split       part with parting line and undercuts, from the front
  heights     trapped silicone against the height of a flat parting
  directions  map of the draw directions
  positions   map of the pouring positions
  vents       gate and vents from above; at true size, print at 100 %
  fill        how the cavity fills
  times       when hands are busy, and what cures meanwhile
  sizes       size of the casting, with its interval
  step_NAME   one step of making the mould, in the order of the work: overview,
              lie, bed, box, keys, pour_first, turn, coats, sticks, pour_second,
              open, cast, out (those that the plan has)

{EXIT_CODES}"""


def picture(
    plan: PlanArgument,
    name: Annotated[str, typer.Argument(metavar="NAME", help="Which picture; see below.")],
    out: Annotated[
        Path, typer.Option("--out", metavar="FILE", help="Where to: FILE.png, .svg or .pdf.")
    ],
    replace: Annotated[
        bool, typer.Option("--replace", help="Write over FILE if it is there.")
    ] = False,
):
    """Draw one picture of a plan, for a page or a slide."""
    if name not in NAMES and not name.startswith(STEP):
        raise InputError(
            "NAME",
            found=repr(name),
            need=f"one of {', '.join(NAMES)} or {STEP}NAME",
            do="castplan picture --help says what each shows.",
        )
    from castplan.files.new_file import appearing, check_new
    from castplan.files.plan_folder import read_plan

    # As SUFFIXES of pictures.write, which takes matplotlib to import.
    check_new(out, suffixes=(".png", ".svg", ".pdf"), replace=replace)
    planned = read_plan(plan)
    from castplan.pictures.write import write_picture

    with appearing(out) as draft:
        write_picture(planned, name, draft)
    typer.echo(f"Wrote {out}")
