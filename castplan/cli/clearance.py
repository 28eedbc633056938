"""``castplan clearance``: an insert set into the casting."""

import re
from pathlib import Path
from typing import Annotated

import typer

from castplan.cli.cast import PlanArgument
from castplan.cli.options import EXIT_CODES, UnitsOption, read_number
from castplan.errors import InputError

EPILOG = f"""\b
Examples:
  castplan clearance plan --insert mount.stl --units mm --at 12,30,4
  castplan clearance plan --insert mount.stl --units mm --at 12,30,4,0,0,90 --bed 1 \\
      --keep teeth=0,0,0,10,40,8 --sheet mount.pdf

{EXIT_CODES}"""


def clearance(
    plan: PlanArgument,
    insert: Annotated[
        Path,
        typer.Option("--insert", metavar="MESH", help="The insert: a closed mesh."),
    ],
    at: Annotated[
        str,
        typer.Option(
            "--at",
            metavar="X,Y,Z[,RX,RY,RZ]",
            help="Where its origin goes in the part's axes, in mm; turned before by so many "
            "degrees about x, then y, then z.",
        ),
    ],
    units: UnitsOption = None,
    bed: Annotated[
        float | None,
        typer.Option("--bed", metavar="MM", help="Gap round it, filled with resin. Default 0."),
    ] = None,
    keep: Annotated[
        list[str] | None,
        typer.Option(
            "--keep",
            metavar="NAME=X0,Y0,Z0,X1,Y1,Z1",
            help="A box in the part's axes that must stay untouched; give it as often as you like.",
        ),
    ] = None,
    sheet: Annotated[
        Path | None,
        typer.Option("--sheet", metavar="FILE", help="The same as a PDF, with the walls as a map."),
    ] = None,
    replace: Annotated[
        bool, typer.Option("--replace", help="Write over FILE of --sheet if it is there.")
    ] = False,
):
    """Show where an insert breaks through the casting and what wall is left round it."""
    numbers = _numbers("--at", at, (3, 6))
    keeps = [_keep(text) for text in keep or ()]
    bed_mm = read_number("--bed", bed, least=0.0, unit="mm") or 0.0
    from castplan.after.clearance import Setting, set_insert
    from castplan.files.new_file import appearing, check_new
    from castplan.files.plan_folder import read_plan
    from castplan.part.load import Reading, load_part
    from castplan.words import clearance as clearance_view
    from castplan.words.cautions import after_cautions
    from castplan.words.plan import caution_short

    if sheet is not None:
        check_new(sheet, suffixes=(".pdf",), replace=replace)
    planned = read_plan(plan)
    device = load_part(insert, Reading(unit=units, is_size_meant=True))
    setting = Setting(
        at_mm=numbers[:3],
        turn_deg=numbers[3:] or (0.0, 0.0, 0.0),
        bed_mm=bed_mm,
        keeps=tuple(keeps),
    )
    found = set_insert(planned, device, setting)
    for line in clearance_view.clearance_lines(found, planned):
        typer.echo(line)
    for caution in after_cautions(planned):
        typer.echo(f"Take care. {caution_short(caution)}")
    if sheet is not None:
        from castplan.paper.sheet_clearance import write_clearance

        with appearing(sheet) as draft:
            write_clearance(planned, found, draft)
        typer.echo(f"Wrote {sheet}")


def _numbers(option, text, counts):
    pieces = text.split(",")
    if len(pieces) in counts and all(
        re.fullmatch(r"\s*[-+]?(\d+(\.\d*)?|\.\d+)\s*", piece) for piece in pieces
    ):
        return tuple(float(piece) for piece in pieces)
    raise InputError(
        option,
        found=repr(text),
        need=f"{' or '.join(str(n) for n in counts)} numbers with commas between",
        do=f"Write for example {option} 12,30,4.",
    )


def _keep(text):
    name, sign, box = text.partition("=")
    x0, y0, z0, x1, y1, z1 = _numbers("--keep", box, (6,)) if sign else _numbers("--keep", "", (6,))
    low, high = (x0, y0, z0), (x1, y1, z1)
    if not all(a < b for a, b in zip(low, high, strict=True)):
        raise InputError(
            "--keep",
            found=repr(text),
            need="the lower corner first, then the upper one",
            do="Write for example --keep teeth=0,0,0,10,40,8.",
        )
    return name.strip(), low, high
