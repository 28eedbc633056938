"""``castplan estimate``: amounts from a tape and a jug, without a mesh."""

from typing import Annotated

import typer

from castplan.cli.job_options import option_of, read_options
from castplan.cli.options import EXIT_CODES
from castplan.cli.quantities import read_length
from castplan.cli.shop_options import read_shop
from castplan.job import Job

EPILOG = f"""\b
Examples:
  castplan estimate --length 142 --width 61 --height 38 --water 118ml
  castplan estimate --length 5.6in --width 2.4in --height 1.5in --copies 4
  castplan estimate --length 96 --width 46 --height 30 --original-weight 70g \\
      --original-density 2.7

{EXIT_CODES}"""


def estimate(
    length: Annotated[
        str,
        typer.Option(
            "--length", metavar="LENGTH", help="Longest side in mm, or with in behind it."
        ),
    ],
    width: Annotated[str, typer.Option("--width", metavar="LENGTH", help="Side across it.")],
    height: Annotated[
        str,
        typer.Option(
            "--height", metavar="LENGTH", help="Height of the part as it lies in the mould."
        ),
    ],
    water: option_of("water_ml") = None,
    original_weight: option_of("original_g") = None,
    original_density: option_of("original_density_g_ml") = None,
    wall: option_of("wall_mm") = None,
    over: option_of("over_mm") = None,
    under: option_of("under_mm") = None,
    silicone: option_of("silicone") = None,
    resin: option_of("resin") = None,
    copies: option_of("copies") = None,
):
    """Say about how much silicone and resin a part of this size takes, and how sure that is."""
    told = locals()
    sides_mm = {
        "length_mm": read_length("--length", length),
        "width_mm": read_length("--width", width),
        "height_mm": read_length("--height", height),
    }
    from castplan.bench import estimate as stage
    from castplan.materials.cards import get_card
    from castplan.words.estimate import estimate_lines

    job = Job(**read_options(told), shop=read_shop(None, None))
    result = stage.estimate(**sides_mm, job=job)
    lines = estimate_lines(
        result,
        get_card(job.silicone, kind="silicone"),
        get_card(job.resin, kind="resin"),
        copies=job.copies,
    )
    for line in lines:
        typer.echo(line)
