"""Options about the shop and what it works with, and what they make of a job."""

from dataclasses import replace
from pathlib import Path
from typing import Annotated

import typer

from castplan.cli.quantities import read_uses
from castplan.job import Job, Shop

ShopOption = Annotated[
    Path | None,
    typer.Option(
        "--shop",
        metavar="FILE",
        help="Packs, prices, scale, hours and materials of the shop (TOML). Without it "
        "shop.toml in the shop's folder is read, if there is one.",
    ),
]
UsesOption = Annotated[
    str | None,
    typer.Option(
        "--uses",
        metavar="WHAT=NAME,...",
        help="What the work touches: clay, box, release, original, paint, gloves, rubber; as "
        "clay=sulphur-free,original=print-photopolymer.",
    ),
]


def read_shop(path: Path | None, uses: str | None) -> Shop:
    """The shop of its file, with what was typed of it; the job's own where neither says more."""
    from castplan.materials.shop import load_shop

    stated = load_shop(path)
    if uses is not None:
        told = dict(stated.uses) | dict(read_uses(uses))
        stated = replace(stated, uses=tuple(sorted(told.items())))
    return Job.shop if vars(stated) == vars(Job.shop) else stated
