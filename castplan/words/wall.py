"""What hangs on the wall: ratios, pot life, inhibition and defects, in words and rows."""

from castplan.after.records import DEFECTS
from castplan.materials.cards import Card, demould_at, pot_life_at, pot_life_factor
from castplan.materials.compat import Substance, load_matrix
from castplan.materials.sheet_entries import CHEMISTRIES
from castplan.materials.wording import chemistry_text, limit_text, wait_text, weight_text
from castplan.texts import code_key, say
from castplan.words import formats

STEPS_G = (10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0)
TEMPERATURES_C = (15.0, 20.0, 23.0, 25.0, 30.0)
N_CAUSES = 3


def ratio_text(card: Card) -> str:
    """``100 : 5 by weight``."""
    return say("wall.ratio", a=f"{card.ratio_a.value:g}", b=f"{card.ratio_b.value:g}")


def ratio_rows(card: Card) -> list[tuple[str, str, str]]:
    """Part A in steps, the part B for it, and what a tared scale then shows."""
    rows = []
    for a_g in STEPS_G:
        b_g = a_g * card.ratio_b.value / card.ratio_a.value
        both = formats.together_text(a_g=a_g, b_g=b_g)
        rows.append((weight_text(a_g), weight_text(b_g), both))
    return rows


def temperature_heads() -> list[str]:
    """``20 °C, 68 °F``: the columns of the tables by temperature."""
    return [
        say("wall.degrees", celsius=f"{c:g}", fahrenheit=f"{1.8 * c + 32:.0f}")
        for c in TEMPERATURES_C
    ]


def pot_life_row(card: Card) -> list[str]:
    """Pot life at each temperature."""
    return [limit_text(pot_life_at(card, temperature_c=c)[0]) for c in TEMPERATURES_C]


def demould_row(card: Card) -> list[str]:
    """Time to demould at each temperature."""
    return [wait_text(demould_at(card, temperature_c=c)[0]) for c in TEMPERATURES_C]


def pot_life_note() -> str:
    """The rule behind both tables."""
    factor = pot_life_factor()
    return say(
        "wall.pot_life_note",
        factor=f"{factor.value:g}",
        low=f"{factor.low:g}",
        high=f"{factor.high:g}",
        mark=formats.behind(factor.basis),
    )


def chemistries_of(cards: list[Card]) -> list[str]:
    """The chemistries among some cards, in one order."""
    used = {card.chemistry for card in cards}
    return [name for name in CHEMISTRIES if name in used] + sorted(used - set(CHEMISTRIES))


def meetings(chemistries: list[str]) -> list[tuple[Substance, list[str]]]:
    """Each thing on the bench, and its verdict with each chemistry; empty where unknown."""
    rows = []
    for things in load_matrix().values():
        for thing in things.values():
            verdicts = [
                thing.meets[name].verdict if name in thing.meets else "" for name in chemistries
            ]
            if any(verdicts):
                rows.append((thing, verdicts))
    return rows


def stop_sentences(chemistries: list[str]) -> list[str]:
    """Why the worst pairs do not go together."""
    return [
        say(
            "wall.reason",
            what=thing.words,
            chemistry=chemistry_text(name),
            reason=thing.meets[name].reason,
            mark=formats.behind(thing.meets[name].basis),
        )
        for thing, _ in meetings(chemistries)
        for name in chemistries
        if name in thing.meets and thing.meets[name].verdict == "stop"
    ]


def defect_rows() -> list[tuple[str, list[tuple[str, str]]]]:
    """Each defect with its usual causes and what to do, the first suspect first."""
    return [
        (
            say(f"defect.{code_key(kind)}"),
            [
                (say(f"defect.{code_key(kind)}_cause_{n}"), say(f"defect.{code_key(kind)}_do_{n}"))
                for n in range(1, N_CAUSES + 1)
            ],
        )
        for kind in DEFECTS
    ]
