"""``castplan estimate``: amounts from a tape and a jug, without a mesh."""

from typing import Annotated

import typer

from castplan.cli.bench_options import DensityOption, OriginalOption, WaterOption, bench_choices
from castplan.cli.options import EXIT_CODES, read_choice
from castplan.cli.quantities import read_length

EPILOG = f"""\b
Examples:
  castplan estimate --length 142 --width 61 --height 38 --water 118ml
  castplan estimate --length 5.6in --width 2.4in --height 1.5in --copies 4
  castplan estimate --length 96 --width 46 --height 30 --original-weight 70g \\
      --original-density 2.7

{EXIT_CODES}"""


def estimate(
    length: Annotated[
        str, typer.Option("--length", metavar="LENGTH", help="Longest side, mm or with in behind.")
    ],
    width: Annotated[str, typer.Option("--width", metavar="LENGTH", help="Across it.")],
    height: Annotated[
        str, typer.Option("--height", metavar="LENGTH", help="As it stands in the mould.")
    ],
    water: WaterOption = None,
    original: OriginalOption = None,
    density: DensityOption = None,
    wall: Annotated[
        float | None,
        typer.Option(
            "--wall", metavar="MM", help="Silicone beside the part. Without it by the part's size."
        ),
    ] = None,
    over: Annotated[
        float | None,
        typer.Option("--over", metavar="MM", help="Silicone above the part. Default 12."),
    ] = None,
    under: Annotated[
        float | None,
        typer.Option("--under", metavar="MM", help="Silicone below the part. Default 12."),
    ] = None,
    silicone: Annotated[
        str | None,
        typer.Option("--silicone", metavar="ID", help="Silicone. Default silicone-tin-25a."),
    ] = None,
    resin: Annotated[
        str | None,
        typer.Option("--resin", metavar="ID", help="Resin. Default polyurethane-fast-70d."),
    ] = None,
    copies: Annotated[
        int | None, typer.Option("--copies", metavar="N", help="Castings wanted. Default 1.")
    ] = None,
):
    """Say about how much silicone and resin a part of this size takes, and how sure that is."""
    sides_mm = {
        "length_mm": read_length("--length", length),
        "width_mm": read_length("--width", width),
        "height_mm": read_length("--height", height),
    }
    choices = {
        "wall_mm": read_choice("--wall", "wall_mm", wall),
        "over_mm": read_choice("--over", "over_mm", over),
        "under_mm": read_choice("--under", "under_mm", under),
        "silicone": silicone,
        "resin": resin,
        "copies": read_choice("--copies", "copies", copies),
        **bench_choices(water=water, original=original, density=density),
    }
    from castplan.bench import estimate as stage
    from castplan.job import Job
    from castplan.materials.cards import get_card
    from castplan.words.bench import estimate_lines

    job = Job(**{name: value for name, value in choices.items() if value is not None})
    result = stage.estimate(**sides_mm, job=job)
    lines = estimate_lines(
        result,
        get_card(job.silicone, kind="silicone"),
        get_card(job.resin, kind="resin"),
        copies=job.copies,
    )
    for line in lines:
        typer.echo(line)
