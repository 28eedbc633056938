"""``castplan repair``: a closed, lighter copy of a mesh."""

from pathlib import Path
from typing import Annotated

import typer

from castplan.cli.ceiling import LimitOption, MemoryOption, hold
from castplan.cli.options import (
    EXIT_CODES,
    MeasuredOption,
    PartArgument,
    PlaneOption,
    ThicknessOption,
    UnitsOption,
    read_closing,
)

EPILOG = f"""\b
Examples:
  castplan repair scan.ply --units mm --out repaired.3mf
  castplan repair heavy.stl --units mm --triangles 500000 --out lighter.stl

{EXIT_CODES}"""


def repair(
    part: PartArgument,
    out: Annotated[
        Path,
        typer.Option(
            metavar="FILE",
            help="The repaired mesh, .stl or .3mf, in mm. What was done is written beside it as "
            "FILE.txt. Never the file that is repaired.",
        ),
    ],
    units: UnitsOption = None,
    measured: MeasuredOption = None,
    thickness: ThicknessOption = None,
    close_to_plane: PlaneOption = False,
    triangles: Annotated[
        int | None, typer.Option(metavar="N", help="Make it lighter: about this many triangles.")
    ] = None,
    keep_specks: Annotated[
        bool, typer.Option("--keep-specks", help="Keep loose bodies under 1 % of the largest.")
    ] = False,
    replace: Annotated[
        bool, typer.Option("--replace", help="Write over an earlier result.")
    ] = False,
    limit_s: LimitOption = None,
    memory_mb: MemoryOption = None,
):
    """Write a closed mesh of a damaged one, and a list of what was done to it."""
    hold(limit_s=limit_s, memory_mb=memory_mb, out=out)
    from castplan.errors import InputError
    from castplan.files import mesh_file, new_file
    from castplan.part.load import Reading, read_part
    from castplan.part.repair import repair as repair_part
    from castplan.units import digits

    listing = out.with_name(out.name + ".txt")
    if out.exists() and part.exists() and out.samefile(part):
        raise InputError(
            str(out),
            found="the original itself",
            need="another file",
            do="Give --out a name of its own.",
        )
    new_file.check_new(out, suffixes=mesh_file.SUFFIXES, replace=replace)
    new_file.check_new(listing, suffixes=(".txt",), replace=replace)
    reading = Reading(
        unit=units,
        measured=measured,
        closing=read_closing(thickness, close_to_plane),
        n_triangles=triangles,
    )
    loaded = read_part(part, reading)
    repaired = repair_part(loaded, n_triangles=triangles, keeps_specks=keep_specks)
    before, after = loaded.check, repaired.part.check
    lines = [
        f"{part.name} -> {out.name}, in mm",
        *(f"- {change}" for change in repaired.done or ("nothing: it was sound",)),
        f"Volume {digits(before.volume_mm3 / 1000, 4)} ml before (holes closed flat), "
        f"{digits(after.volume_mm3 / 1000, 4)} ml after; {after.n_triangles:,} triangles; "
        f"{'closed' if after.is_watertight else 'still open'}.",
    ]
    with new_file.appearing(out) as draft:
        mesh_file.write_mesh(repaired.part, draft)
    with new_file.appearing(listing) as draft:
        draft.write_text("\n".join(lines) + "\n", encoding="utf-8")
    for line in lines:
        typer.echo(line)
