"""``castplan check``: what the mesh file holds."""

from pathlib import Path
from typing import Annotated

import typer

from castplan.cli.ceiling import LimitOption, MemoryOption, hold
from castplan.cli.job_options import option_of, read_options
from castplan.cli.options import (
    EXIT_CODES,
    MeasuredOption,
    PartArgument,
    PlaneOption,
    ThicknessOption,
    UnitsOption,
    read_closing,
)
from castplan.job import Job

EPILOG = f"""\b
Examples:
  castplan check coat_hook.stl --units mm
  castplan check drawer_pull.stl --units mm --measured x=142 --picture mesh.pdf

{EXIT_CODES}"""


def check(
    part: PartArgument,
    units: UnitsOption = None,
    measured: MeasuredOption = None,
    thickness: ThicknessOption = None,
    close_to_plane: PlaneOption = False,
    picture: Annotated[
        Path | None,
        typer.Option(metavar="PDF", help="Draw the part with its holes and loose specks."),
    ] = None,
    paper: option_of("paper", says="Sheet size of the picture.") = None,
    replace: Annotated[
        bool, typer.Option("--replace", help="Write over the picture if it is there.")
    ] = False,
    limit_s: LimitOption = None,
    memory_mb: MemoryOption = None,
):
    """Say what the mesh file holds, how sound it is, and what that does to a plan."""
    hold(limit_s=limit_s, memory_mb=memory_mb, out=picture)
    from castplan.files import new_file
    from castplan.part.health import examine
    from castplan.part.load import Reading, read_part
    from castplan.words import health as health_view
    from castplan.words import mesh as mesh_view
    from castplan.words.options import by_controls

    job = Job(**read_options({"paper": paper}))
    if picture is not None:
        new_file.check_new(picture, suffixes=(".pdf",), replace=replace)
    closing = read_closing(thickness, close_to_plane)
    loaded = read_part(part, Reading(unit=units, measured=measured, closing=closing))
    health = examine(loaded)

    def lines():
        return [
            *mesh_view.check_lines(loaded.check, inches=loaded.check.unit in ("in", "ft")),
            *health_view.health_lines(loaded.check, health),
        ]

    for line in lines():
        typer.echo(line)
    if picture is not None:
        from castplan.paper import sheet_health as health_sheet
        from castplan.part.sketch import draw_file_views

        sketches = draw_file_views(
            loaded, tuple(health_sheet.VIEWS), has_noise=bool(health.noise_mm)
        )
        with by_controls():
            on_paper = lines()
        with new_file.appearing(picture) as draft:
            health_sheet.write_health(
                loaded, health, sketches, on_paper, draft, paper_name=job.paper
            )
