"""Cups and cards in words, for the sheets and the terminal."""

from dataclasses import replace

from castplan import units
from castplan.bench.records import Cup, Limit, Mix
from castplan.bench.weigh import least_weighable_g
from castplan.materials.cards import Card, demould_at, load_cards, pot_life_at
from castplan.materials.cautions import load_cautions
from castplan.materials.wording import (
    chemistry_text,
    grams_text,
    limit_text,
    vessel_text,
    volume_text,
    wait_text,
    weight_text,
)
from castplan.plan_record import Plan
from castplan.record import Sourced
from castplan.texts import say
from castplan.texts.names import pour_name
from castplan.words import formats


def number_text(number: Sourced) -> str:
    """``45 (20 to 75) min [p]``."""
    ends = (
        ""
        if number.low is None
        else say("bench.to", low=units.digits(number.low, 4), high=units.digits(number.high, 4))
    )
    unit = "" if number.unit == "1" else f" {formats.unit_text(number.unit, value=number.value)}"
    return f"{units.digits(number.value, 4)}{ends}{unit}{formats.behind(number.basis)}"


def part_volumes(card: Card, cup: Cup) -> tuple[str, str]:
    """A and B by volume, where the card has their densities; else empty."""
    densities = card.density_a_g_ml, card.density_b_g_ml
    if None in densities:
        return "", ""
    return tuple(
        volume_text(mass_g / density.value)
        for mass_g, density in zip((cup.a_g, cup.b_g), densities, strict=True)
    )


def reading_texts(cup: Cup) -> tuple[str, str]:
    """What the scale shows after A and after B, the cup counted in where the shop says so."""
    after_a_g = cup.tare_g + _to_step(cup.a_g, cup)
    after_b_g = after_a_g + _to_step(cup.filler_g, cup) + _to_step(cup.b_g, cup)
    return tuple(grams_text(mass_g, step_g=cup.step_g) for mass_g in (after_a_g, after_b_g))


def filler_reading(cup: Cup) -> str:
    """What the scale shows once the filler is on A, before B."""
    after_g = cup.tare_g + _to_step(cup.a_g, cup) + _to_step(cup.filler_g, cup)
    return grams_text(after_g, step_g=cup.step_g)


def parts_text(cup: Cup) -> str:
    """``A 44.7 g + B 40.3 g``: what goes into a cup, in its order."""
    told = {
        name: grams_text(mass_g, step_g=cup.aim_step_g)
        for name, mass_g in (("a", cup.a_g), ("filler", cup.filler_g), ("b", cup.b_g))
        if mass_g
    }
    return say("bench.parts_filled" if cup.filler_g else "bench.parts", **told)


def casting_rows(plan: Plan) -> list[tuple[str, str]]:
    """What is mixed for one casting, and how much of it one needs where that is less."""
    cups = [(mix, cup) for mix, cup in cups_as_mixes(plan) if not mix.half]
    if not cups:
        return []
    mixed = [both_text(cup) for mix, cup in cups for _ in range(mix.times // plan.job.copies)]
    if not any(cup.made_up_g for _, cup in cups):
        return [(say("bench.resin_shot"), formats.summed(*mixed))]
    return [
        (say("bench.resin_mixed"), formats.summed(*mixed)),
        (say("bench.resin_needed"), weight_text(plan.bench.amounts.mixes[-1].mass_g)),
    ]


def both_text(cup: Cup) -> str:
    """A, B and any filler together, each as it was weighed."""
    weighed_g = (cup.a_g, cup.filler_g, cup.b_g)
    return grams_text(sum(_to_step(mass_g, cup) for mass_g in weighed_g), step_g=cup.aim_step_g)


def _to_step(mass_g, cup):
    """A weight as it is to be aimed at [g]."""
    return round(mass_g / cup.aim_step_g) * cup.aim_step_g


def cup_rows(card: Card, cup: Cup) -> list[tuple[str, str, str, str, str]]:
    """What goes in, in order: name, grams, ounces, volume, what the scale then shows."""
    volumes = part_volumes(card, cup)
    shown = reading_texts(cup)
    rows = [
        (
            name,
            grams_text(mass_g, step_g=cup.aim_step_g),
            formats.ounce_text(mass_g),
            volume,
            reading,
        )
        for name, mass_g, volume, reading in zip(
            ("A", "B"), (cup.a_g, cup.b_g), volumes, shown, strict=True
        )
    ]
    if cup.filler_g:
        grams = grams_text(cup.filler_g, step_g=cup.aim_step_g)
        ounces = formats.ounce_text(cup.filler_g)
        rows.insert(1, (say("bench.filler"), grams, ounces, "", filler_reading(cup)))
    if cup.pigment_g:
        grams = grams_text(cup.pigment_g, step_g=cup.step_g)
        reading = grams_text(cup.reading_pigment_g, step_g=cup.step_g)
        rows.append((say("bench.pigment"), grams, formats.ounce_text(cup.pigment_g), "", reading))
    total = cup.mass_g + cup.pigment_g
    grams = grams_text(total, step_g=cup.step_g)
    rows.append(
        (say("bench.all"), grams, formats.ounce_text(total), volume_text(cup.volume_ml), "")
    )
    return rows


def ratio_sentence(cup: Cup) -> str:
    """How far the scale can put the ratio off, against what the material takes."""
    error, allowed = (
        formats.percent_text(share) for share in (cup.ratio_error_fraction, cup.tolerance_fraction)
    )
    card = load_cards().get(cup.card)
    stated = card.ratio_tolerance_fraction if card else None
    basis = formats.behind(stated.basis if stated else "assumed")
    return say(
        "bench.too_coarse" if cup.is_too_coarse else "bench.fine_enough",
        step=f"{cup.step_g:g}",
        error=error,
        allowed=allowed,
        basis=basis,
    )


def cup_sentence(cup: Cup) -> str:
    """The cup for degassing; empty for resin."""
    if not cup.vacuum_cup_ml:
        return ""
    return say("bench.cup_of_or_more_if", vessel=vessel_text(cup.vacuum_cup_ml))


def cups_as_mixes(plan: Plan) -> list[tuple[Mix, Cup]]:
    """What the mix sheet has a card for: cups that are alike share one.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    list of (Mix, Cup)
        The mix holds one cup's amounts and its name in words; its `times` counts all
        that are alike.
    """
    cards = []
    for mix in plan.bench.amounts.mixes:
        for is_coat in (True, False):
            cups = plan.bench.weigh.alike(mix.name, is_brush_coat=is_coat)
            if not cups:
                continue
            cup = cups[0]
            name = str(pour_name(mix.name))
            if is_coat:
                name = say("bench.brush_coat", name=name)
            elif len(cups) > 1:
                name = say("bench.cups", name=name, cups=len(cups))
            alike = replace(
                mix,
                name=name,
                volume_ml=cup.volume_ml,
                mass_g=cup.mass_g,
                a_g=cup.a_g,
                b_g=cup.b_g,
                filler_g=cup.filler_g,
                times=cup.times * len(cups),
            )
            cards.append((alike, cup))
    return cards


def cup_notes(cup: Cup) -> list[str]:
    """Sentences under a cup's targets: scale, cup, pigment, tare, making up."""
    notes = [ratio_sentence(cup), cup_sentence(cup)]
    if cup.made_up_g:
        notes.append(say("bench.made_up_by_to_the", made_up=weight_text(cup.made_up_g)))
    if cup.pigment_g:
        notes.append(
            say("bench.pigment_on_top", pigment=grams_text(cup.pigment_g, step_g=cup.step_g))
        )
    if cup.tare_g:
        after_filler = (cup.reading_filler_g,) if cup.filler_g else ()
        shown = (cup.reading_a_g, *after_filler, cup.reading_b_g, cup.reading_pigment_g)
        texts = [grams_text(mass_g, step_g=cup.step_g) for mass_g in dict.fromkeys(shown)]
        tare = grams_text(cup.tare_g, step_g=cup.step_g)
        notes.append(
            say("bench.with_the_cup_of_counted", tare=tare, texts=say("bench.then").join(texts))
        )
    return [note for note in notes if note]


def bench_notes(cup: Cup) -> list[str]:
    """What of `cup_notes` is needed at the scale; that it is fine enough is not."""
    notes = cup_notes(cup)
    return notes if cup.is_too_coarse else [note for note in notes if note != ratio_sentence(cup)]


def mix_lines(mix: Mix, cups: list[Cup], limit: Limit, card: Card, *, temperature_c: float):
    """A mix sheet for the terminal.

    Parameters
    ----------
    mix : Mix
    cups : list of Cup
        Alike, one after the other.
    limit : Limit
    card : Card
    temperature_c : float

    Returns
    -------
    list of str
    """
    cup = cups[0]
    grams = weight_text(mix.mass_g)
    lines = [
        f"{card.title} ({card.card_id})",
        say("bench.mix", grams=grams, volume=volume_text(mix.volume_ml)),
    ]
    if cup.made_up_g:
        lines.append(say("bench.made_up_to_the_smallest", mass=weight_text(cup.mass_g)))
    if card.smallest_mix_g is not None and mix.a_g + mix.b_g < card.smallest_mix_g.value:
        lines.append(
            say(
                "bench.two_least_mixes",
                scale=weight_text(least_weighable_g(card, step_g=cup.step_g)),
                step=f"{cup.step_g:g}",
                warm=weight_text(card.smallest_mix_g.value),
                basis=formats.behind(card.smallest_mix_g.basis),
            )
        )
    if len(cups) > 1:
        lines.append(
            say(
                "bench.in_cups_at_most_in",
                cups=len(cups),
                largest=weight_text(limit.largest_g),
                reason=limit.reason,
            )
        )
    heads = ("bench.weigh", "mix.ounces", "mix.volume", "bench.scale_shows")
    rows = [("", *map(say, heads)), *cup_rows(card, cup)]
    widths = [max(len(row[k]) for row in rows) + 2 for k in range(5)]
    lines += [
        "  " + "".join(text.ljust(width) for text, width in zip(row, widths, strict=True)).rstrip()
        for row in rows
    ]
    if cup.tare_g:
        lines.append(
            say("bench.the_readings_hold_the_cup", tare=grams_text(cup.tare_g, step_g=cup.step_g))
        )
    _, low_min, high_min = pot_life_at(card, temperature_c=temperature_c)
    _, low_h, high_h = demould_at(card, temperature_c=temperature_c)
    lines += [
        ratio_sentence(cup),
        *filter(None, [cup_sentence(cup)]),
        say(
            "bench.at_c_pour_within_of",
            temperature=f"{temperature_c:g}",
            pour_by=limit_text(mix.pour_by_min),
            pot_life=limit_text(mix.pot_life_min),
            low=limit_text(low_min),
            high=limit_text(high_min),
            demould=wait_text(mix.demould_h),
            demould_low=wait_text(low_h),
            demould_high=wait_text(high_h),
        ),
        *caution_lines(card),
    ]
    return lines


def caution_lines(card: Card) -> list[str]:
    """Cautions of a material, with their codes, and the word that the sheet comes first."""
    known = load_cautions()
    lines = []
    for key in (*card.hazards, *(("filler",) if card.filler else ())):
        caution = known[key]
        codes = f" ({', '.join(caution.h_codes)})" if caution.h_codes else ""
        lines.append(f"! {caution.title}{codes}: {caution.text}")
    return [*lines, say("bench.the_supplier_s_data_sheet")]


def card_rows(cards: list[Card]) -> list[str]:
    """The cards as a table: id, what it is, pot life, demould, whose it is."""
    heads = ("id", "what", "pot_life", "demould", "hardness", "from")
    rows = [tuple(say(f"bench.{head}") for head in heads)]
    rows += [
        (
            card.card_id,
            str(card.title),
            limit_text(card.pot_life_min.value),
            wait_text(card.demould_h.value),
            f"{card.shore.value:g} {card.shore.unit[-1]}",
            say("bench.class" if card.origin == "class" else "bench.your_sheet"),
        )
        for card in cards
    ]
    widths = [max(len(row[k]) for row in rows) + 2 for k in range(6)]
    return [
        "".join(text.ljust(width) for text, width in zip(row, widths, strict=True)).rstrip()
        for row in rows
    ]


def card_lines(card: Card) -> list[str]:
    """One card whole: every number with its range, basis and source."""
    lines = [f"{card.card_id}: {card.title} ({card.kind}, {chemistry_text(card.chemistry)})"]
    for name, number in card.numbers.items():
        lines.append(f"  {name}: {number_text(number)}  {number.source}")
    lines += [say("bench.keep_from", thing=text) for text in card.incompatible]
    return [*lines, *caution_lines(card)]
