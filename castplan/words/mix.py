"""One mix in words and rows: what to weigh, what the scale shows, by when it must be out."""

from castplan.bench.records import Cup, Mix
from castplan.materials.cards import Card
from castplan.materials.wording import grams_text, limit_text, volume_text, wait_text
from castplan.texts import say
from castplan.words import formats
from castplan.words.bench import both_text, filler_reading, reading_texts


def mix_rows(mix: Mix, cup: Cup, card: Card | None) -> tuple[tuple[str, ...], ...]:
    """Rows A, filler if any, B, all: part, grams, ounces, millilitres, what the scale shows.

    A part has a volume only where its card gives the part's own density: the
    mix's density would be wrong for it.
    """

    def part_row(name, mass_g, density, reading):
        volume = ""
        if density is not None:
            volume = volume_text(mass_g / density.value)
        return (
            name,
            grams_text(mass_g, step_g=cup.aim_step_g),
            formats.ounce_text(mass_g),
            volume,
            reading,
        )

    density_a = card.density_a_g_ml if card else None
    density_b = card.density_b_g_ml if card else None
    after_a, after_b = reading_texts(cup)
    rows = [
        part_row("A", mix.a_g, density_a, after_a),
        part_row("B", mix.b_g, density_b, after_b),
    ]
    if cup.filler_g:
        rows.insert(1, part_row(say("bench.filler"), mix.filler_g, None, filler_reading(cup)))
    ounces = formats.summed(*(row[2] for row in rows))
    volumes = [row[3] for row in rows]
    volume = formats.summed(*volumes) if all(volumes) else volume_text(mix.volume_ml)
    together = say("bench.all") if cup.filler_g else "A + B"
    return *rows, (together, both_text(cup), ounces, volume, "")


def mix_name(mix: Mix) -> str:
    """What is poured, its name in words already, and which half of the mould that is."""
    if mix.half == "whole":
        return say("cut.name_whole", name=mix.name)
    return say(f"mix.name_{mix.half}", name=mix.name) if mix.half else mix.name


def mix_facts(mix: Mix) -> tuple[tuple[str, str], ...]:
    """Pour-by, pot life and demould of one cup, each with its label."""
    return (
        (say("mix.fact_pour"), limit_text(mix.pour_by_min)),
        (say("mix.fact_pot_life"), limit_text(mix.pot_life_min)),
        (say("mix.fact_open"), wait_text(mix.demould_h)),
    )


def mix_times(mix: Mix) -> str:
    """Pot life, pour-by and demould of one cup, in one sentence."""
    return say(
        "mix.times",
        pour_by=limit_text(mix.pour_by_min),
        pot_life=limit_text(mix.pot_life_min),
        demould=wait_text(mix.demould_h),
    )
