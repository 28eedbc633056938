"""Options about the original, the shop and the copies, and what they make of a job."""

from dataclasses import replace
from pathlib import Path
from typing import Annotated

import typer

from castplan.cli.options import read_choice, words_of
from castplan.cli.quantities import read_gauge, read_uses, read_volume, read_weight
from castplan.errors import InputError

Place = words_of("Place", "place")


WaterOption = Annotated[
    str | None,
    typer.Option(
        "--water",
        metavar="VOLUME",
        help="What the original pushes aside in water, with its unit, as 143ml. The plan then "
        "weighs out by it.",
    ),
]
OriginalOption = Annotated[
    str | None,
    typer.Option(
        "--original-weight",
        metavar="WEIGHT",
        help="What the original weighs, with its unit, as 160g. Needs --original-density.",
    ),
]
DensityOption = Annotated[
    str | None,
    typer.Option(
        "--original-density",
        metavar="G/ML",
        help="Density of the original's material, or its name: aluminium, brass, steel, phenolic, "
        "abs, hardwood and others.",
    ),
]
BrushOption = Annotated[
    float | None,
    typer.Option(
        "--brush-coat",
        metavar="MM",
        help="Weigh a brush coat of this thickness as a cup of its own; 0 brushes from the pour's "
        "cup. Default 0.",
    ),
]
PigmentOption = Annotated[
    float | None,
    typer.Option("--pigment", metavar="PERCENT", help="Of A and B together, by weight. Default 0."),
]
GaugeOption = Annotated[
    list[str] | None,
    typer.Option(
        "--gauge",
        metavar="NAME=LENGTH[:TOL]",
        help="A length of the original that must fit, as shaft=12.7mm:m (a class of ISO 2768-1: "
        "f, m, c, v) or slot=40:+-0.3. Give it as often as you like.",
    ),
]
PlaceOption = Annotated[
    Place | None,
    typer.Option("--place", case_sensitive=False, help="Where the part will live."),
]
StartOption = Annotated[
    str | None,
    typer.Option(
        "--start", metavar="DATE TIME", help='When the work starts, as "2026-12-01 08:00".'
    ),
]
ShopOption = Annotated[
    Path | None,
    typer.Option(
        "--shop",
        metavar="FILE",
        help="Packs, prices, scale, hours and materials of the shop (TOML). Without it shop.toml "
        "in the shop's folder, if there is one.",
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


def bench_choices(
    *,
    water,
    original,
    density,
    brush=None,
    pigment=None,
    gauge=None,
    place=None,
    start=None,
    shop=None,
    uses=None,
) -> dict:
    """Fields of the job from what was typed; None where nothing was."""
    if (original is None) != (density is None):
        raise InputError(
            "--original-weight",
            found="one of weight and density",
            need="both, or neither",
            do="Give --original-weight and --original-density together.",
        )
    choices = {
        "water_ml": read_volume("--water", water),
        "original_g": read_weight("--original-weight", original),
        "original_density_g_ml": _density(density),
        "brush_mm": read_choice("--brush-coat", "brush_mm", brush),
        "pigment_fraction": read_percent("--pigment", pigment),
        "gauges": tuple(read_gauge(text) for text in gauge) if gauge else None,
        "place": None if place is None else place.value,
        "start": start,
    }
    from castplan.job import Job
    from castplan.materials.shop import load_shop

    stated = load_shop(shop)
    if uses is not None:
        told = dict(stated.uses) | dict(read_uses(uses))
        stated = replace(stated, uses=tuple(sorted(told.items())))
    # A shop that said nothing is the job's own default.
    if any(getattr(stated, name) != value for name, value in vars(Job.shop).items()):
        choices["shop"] = stated
    return choices


def _density(text):
    if text is None:
        return None
    from castplan.materials.originals import density_of

    return density_of(text)


def read_percent(option, value):
    """A share from 0 to below 1, typed in percent."""
    if value is None:
        return None
    if not 0 <= value < 100:
        raise InputError(
            option, found=f"{value:g}", need="0 to below 100 percent", do="Write 2 for 2 %."
        )
    return value / 100
