"""The catalogue in words and rows: what the page, the terminal and the CSV share."""

import csv
import io

from castplan.batch.digest import VERDICTS
from castplan.batch.pot import GAP_MM, PotLoads
from castplan.batch.store import Entry
from castplan.batch.totals import Totals
from castplan.materials.wording import weight_text
from castplan.texts import code_key, say
from castplan.texts.names import filler_name
from castplan.words import formats
from castplan.words import plan as view
from castplan.words import shop as shop_view
from castplan.words.csv_cells import cell

# How a part stands, from best to worst: by its worst finding.
STATES = ("ready", "warning", "stop", "no plan")
_STATE_OF = {"note": "ready", "warn": "warning", "stop": "stop"}
_NUMBERS = (
    "part_ml",
    "trapped_ml",
    "n_vents",
    "air_left_ml",
    "silicone_g",
    "resin_g",
    "copies",
    "n_moulds",
    "material_cost",
    "cost",
    "hands_on_min",
)
COLUMNS = (
    "part",
    "file",
    "status",
    "state",
    "verdict",
    "worst_finding",
    "what_to_do",
    "draw",
    "split",
    "size_mm",
    "silicone",
    "resin",
    *_NUMBERS,
    "currency",
    "error",
)


def state_of(entry: Entry) -> str:
    """How a part stands, one of `STATES`."""
    if not entry.is_planned:
        return "no plan"
    worst = entry.digest["worst"]
    return _STATE_OF[worst[0]["severity"]] if worst else "ready"


def state_words(state: str) -> str:
    """One of `STATES` in words."""
    return say(f"parts.state_{code_key(state)}")


def title(folder: str) -> str:
    """What the page is about: the folder or list that the parts come from."""
    return say("parts.title", folder=folder)


def summary_csv(entries: list[Entry]) -> bytes:
    """A row a part, numbers as computed with their unit in the heading.

    Headings, states and verdicts are codes, the same in every language.

    Parameters
    ----------
    entries : list of Entry

    Returns
    -------
    bytes
        UTF-8, commas, one line a part; text that a table program would run
        as a formula has an apostrophe before it.
    """
    text = io.StringIO()
    writer = csv.DictWriter(text, COLUMNS, lineterminator="\n")
    writer.writeheader()
    for entry in entries:
        writer.writerow({name: cell(value) for name, value in _row(entry).items()})
    return text.getvalue().encode("utf-8")


def _row(entry):
    row = {
        "part": entry.name,
        "file": entry.file,
        "status": entry.status,
        "state": state_of(entry),
        "error": entry.error,
    }
    if not entry.is_planned:
        return row
    digest = entry.digest
    worst = digest["worst"][0] if digest["worst"] else {"message": "", "do": ""}
    row |= {name: digest[name] for name in ("verdict", "split", "silicone", "resin", "currency")}
    row |= {name: digest[name] for name in _NUMBERS}
    row["worst_finding"], row["what_to_do"] = worst["message"], worst["do"]
    row["draw"] = " ".join(f"{value:g}" for value in digest["draw"])
    row["size_mm"] = formats.size_digits(digest["size_mm"])
    return row


def facts(entry: Entry) -> list[tuple[str, str]]:
    """The numbers of a planned part with their names, as they are read."""
    digest = entry.digest
    cost = "-"
    if digest["cost"] is not None:  # work is in it, at assumed minutes
        cost = f"{shop_view.money_text(digest['cost'], digest['currency'])} [a]"
    elif digest["material_cost"] is not None:
        price = shop_view.money_text(digest["material_cost"], digest["currency"])
        cost = say("parts.material_cost", cost=price)
    silicone, resin = (weight_text(digest[key]) for key in ("silicone_g", "resin_g"))
    if (n_moulds := digest["n_moulds"]) > 1:
        silicone = say("parts.for_moulds", n=n_moulds, weight=silicone)
    if (n_copies := digest["copies"]) > 1:
        resin = say("parts.for_copies", n=n_copies, weight=resin)
    draw = view.axis_words(tuple(digest["draw"]))
    return [
        (say("parts.draw"), say(f"parts.split_{digest['split']}", draw=draw)),
        (say("parts.undercut"), formats.trapped_text(1000 * digest["trapped_ml"])),
        (say("parts.rubber"), verdict_words(digest["verdict"])),
        (say("parts.vents"), f"{digest['n_vents']}"),
        (say("parts.silicone"), silicone),
        (say("parts.resin"), resin),
        (say("parts.cost"), cost),
    ]


def verdict_words(verdict: str) -> str:
    """One of `VERDICTS` in words."""
    return say(f"parts.verdict_{code_key(verdict)}")


def rank(entry: Entry) -> int:
    """Where a part's verdict stands among all, the worst last."""
    if not entry.is_planned:
        return len(VERDICTS)
    return VERDICTS.index(entry.digest["verdict"])


def counts(entries: list[Entry]) -> dict[str, int]:
    """How many parts stand in each of `STATES`."""
    states = [state_of(entry) for entry in entries]
    return {state: states.count(state) for state in STATES}


def count_sentence(entries: list[Entry], *, n_asked: int) -> str:
    """How many parts have a plan, and how these stand."""
    told = counts(entries)
    n_planned = sum(entry.is_planned for entry in entries)
    n_left = n_asked - len(entries)
    numbers = {"n": n_asked, "planned": n_planned, "asked": n_asked}
    states = {state: told[state] for state in ("ready", "warning", "stop")}
    if n_planned and n_left > 0:
        return say("parts.planned_and_left", **numbers, **states, left=n_left)
    if n_planned:
        return say("parts.planned", **numbers, **states)
    if n_left > 0:
        return say("parts.none_planned_and_left", **numbers, left=n_left)
    return say("parts.none_planned", **numbers)


def error_lines(entries: list[Entry]) -> list[str]:
    """Each part without a plan, with its reason."""
    return [
        say("parts.error", name=entry.name, error=entry.error)
        for entry in entries
        if not entry.is_planned
    ]


def buy_sentence(totals: Totals) -> str:
    """What the packs cost together, beside buying part by part."""
    if totals.short:
        names = ", ".join(shop_view.card_title(card) for card in totals.short)
        return say("parts.packs_short", materials=names)
    if totals.cost is None:
        return say("parts.no_price")
    together = shop_view.money_text(totals.cost, totals.currency)
    if totals.is_apart_short:
        return say("parts.together_only", cost=together)
    if totals.apart_cost is None:
        return say("parts.together", cost=together)
    apart = shop_view.money_text(totals.apart_cost, totals.currency)
    return say("parts.together_or_apart", cost=together, apart=apart)


def pot_sentences(pot: PotLoads) -> list[str]:
    """How many loads there are, and what rules them."""
    wide, high = (f"{side:g}" for side in pot.inner_mm)
    n_moulds = sum(len(load.places) for load in pot.loads)
    lines = [
        say(
            "parts.pot",
            moulds=say("parts.n_moulds", n=n_moulds),
            loads=say("parts.n_loads", n=len(pot.loads)),
            wide=f"{wide} mm",
            high=f"{high} mm",
            gap=f"{GAP_MM:g} mm",
        )
    ]
    if pot.too_large:
        lines.append(say("parts.too_large", names=", ".join(pot.too_large)))
    return lines


def load_sentence(load) -> str:
    """The moulds of a load and its cup."""
    names = [_mould_name(place) for place in load.places]
    if len(names) > 1:  # numbered as in the picture
        names = [f"{number} {name}" for number, name in enumerate(names, start=1)]
    resin = shop_view.card_title(load.resin)
    kind, fraction = load.filler
    if fraction:
        resin = say(
            "parts.filled", resin=resin, kind=filler_name(kind), share=f"{100 * fraction:.0f} %"
        )
    told = {"names": ", ".join(names), "weight": weight_text(load.resin_g), "resin": resin}
    if load.resin_g > load.largest_cup_g:
        return say("parts.more_cups", **told)
    if load.mixed_g > load.resin_g:
        return say("parts.made_up_cup", least=weight_text(load.mixed_g), **told)
    return say("parts.one_cup", **told)


def _mould_name(place):
    if not place.mould:
        return place.name
    return say("parts.mould", name=place.name, mould=place.mould)
