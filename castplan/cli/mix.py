"""``castplan mix``: a mix sheet for one cup, without a mould."""

from dataclasses import replace
from pathlib import Path
from typing import Annotated

import typer

from castplan.cli.job_options import default_words, option_of, read_options
from castplan.cli.options import EXIT_CODES, read_number, read_percent
from castplan.cli.quantities import read_volume, read_weight
from castplan.cli.shop_options import ShopOption
from castplan.errors import InputError

EPILOG = f"""\b
Examples:
  castplan mix --card silicone-tin-25a --volume 240ml
  castplan mix --card polyurethane-fast-70d --weight 120g --temperature 18
  castplan mix --plan plan --pour "Second half" --scale-step 0.1

{EXIT_CODES}"""


def mix(
    card: Annotated[
        str | None, typer.Option("--card", metavar="ID", help="Which material.")
    ] = None,
    volume: Annotated[
        str | None,
        typer.Option(
            "--volume",
            metavar="VOLUME",
            help="How much: ml, l, usfloz, impfloz, in3 or cm3.",
        ),
    ] = None,
    weight: Annotated[
        str | None,
        typer.Option("--weight", metavar="WEIGHT", help="Or how much by weight: g, kg, oz or lb."),
    ] = None,
    plan: Annotated[
        Path | None,
        typer.Option("--plan", metavar="DIR", help="Or a plan folder: its material and amounts."),
    ] = None,
    pour: Annotated[
        str | None,
        typer.Option("--pour", metavar="NAME", help="Which pour of the plan. Without it all."),
    ] = None,
    temperature: Annotated[
        float | None,
        typer.Option(
            "--temperature",
            metavar="C",
            help="Of the shop. Without it the plan's own." + default_words("shop_temperature_c"),
        ),
    ] = None,
    scale_step: Annotated[
        float | None,
        typer.Option("--scale-step", metavar="G", help="Smallest step that your scale reads."),
    ] = None,
    tare: Annotated[
        float | None,
        typer.Option("--tare", metavar="G", help="The empty cup, if the scale counts it in."),
    ] = None,
    pigment: option_of("pigment_fraction") = None,
    filler: option_of("filler_fraction") = None,
    filler_kind: option_of("filler") = None,
    least: Annotated[
        str | None,
        typer.Option(
            "--least",
            metavar="WORD",
            help="Raise a small mix to the least of its card (card) or of the scale (scale), or "
            "not (none).",
        ),
    ] = None,
    shop: ShopOption = None,
):
    """Print what to weigh: A, B and pigment, readings, error, times, cautions."""
    millilitres, grams = read_volume("--volume", volume), read_weight("--weight", weight)
    step_g = read_number("--scale-step", scale_step, above=0.0, unit="g")
    tare_g = read_number("--tare", tare, least=0.0, unit="g")
    pigment_fraction = read_percent("--pigment", pigment)
    stirred = read_options({"filler": filler, "filler_kind": filler_kind})
    from castplan.files.plan_folder import read_plan
    from castplan.job import LEAST_MIXES, Job
    from castplan.materials.shop import load_shop

    planned = None if plan is None else read_plan(plan)
    stated = load_shop(shop)
    if planned is not None and shop is None:
        # The plan's cups were sized for the shop it was made for.
        stated = planned.job.shop
    if step_g is not None:
        stated = replace(stated, scale_step_g=step_g)
    if least is not None:
        if least not in LEAST_MIXES:
            known = ", ".join(LEAST_MIXES)
            raise InputError("--least", found=repr(least), need=f"one of {known}", do="Name one.")
        stated = replace(stated, least_mix=least)
    if tare_g is not None:
        stated = replace(stated, tare_g=tare_g)
    wanted = []
    if planned is not None:
        from castplan.texts.names import pour_name
        from castplan.texts.told import in_a_row

        # A pour may be called as the record has it, or as the sheets do.
        mixes = planned.bench.amounts.mixes
        codes = [entry.name for entry in mixes]
        called = {code: code for code in codes} | {str(pour_name(code)): code for code in codes}
        if pour is not None and pour not in called:
            known = in_a_row(map(pour_name, codes))
            raise InputError("--pour", found=repr(pour), need=f"one of {known}", do="Name it so.")
        if temperature is None:
            temperature = planned.job.shop_temperature_c
        if pigment_fraction is None:
            pigment_fraction = planned.job.pigment_fraction
        own = {"filler": planned.job.filler, "filler_fraction": planned.job.filler_fraction}
        stirred = own | stirred
        for entry in mixes:
            if pour is None or called[pour] == entry.name:
                wanted.append((str(pour_name(entry.name)), entry.card, entry.volume_ml, None))
    if (len([x for x in (millilitres, grams, plan) if x is not None]) != 1) or (
        (plan is None) != (card is not None)
    ):
        raise InputError(
            "castplan mix",
            found="another number of amounts",
            need="--card with --volume or --weight, or --plan",
            do="castplan mix --help shows examples.",
        )
    if plan is None:
        wanted.append(("Mix", card, millilitres, grams))
    asked = {"pigment_fraction": pigment_fraction, "shop_temperature_c": temperature}
    asked = {name: told for name, told in asked.items() if told is not None}
    job = Job(shop=stated, **asked, **stirred)
    for number, (name, card_id, volume_ml, mass_g) in enumerate(wanted):
        if number:
            typer.echo("")
        for line in _mix_sheet(name, card_id, volume_ml, mass_g, job):
            typer.echo(line)


def _mix_sheet(name, card_id, volume_ml, mass_g, job):
    from castplan.bench.amounts import Pour, size_mix
    from castplan.bench.weigh import share_out
    from castplan.materials.cards import any_card
    from castplan.materials.fillers import stir_in
    from castplan.words.bench import mix_lines

    card = any_card(card_id)
    if card.kind == "resin":
        card = stir_in(card, job)
    net_ml = mass_g / card.density_g_ml.value if volume_ml is None else volume_ml
    pour = Pour(name=name, net_ml=net_ml, waste_fraction=0.0)
    mix = size_mix(card, pour, temperature_c=job.shop_temperature_c)
    cups, limit = share_out(mix, card, job)
    head = [] if name == "Mix" else [f"{name}:"]
    return head + mix_lines(mix, cups, limit, card, temperature_c=job.shop_temperature_c)
