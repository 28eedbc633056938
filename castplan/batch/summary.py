"""The catalogue in words and rows: what the page, the terminal and the CSV share."""

import csv
import io

from castplan.batch.digest import VERDICTS
from castplan.batch.pot import PotLoads
from castplan.batch.store import Entry
from castplan.batch.totals import Totals
from castplan.materials.wording import weight_text
from castplan.output import formats, shop_view, view

# How a part stands, from best to worst: by its worst finding.
STATES = ("ready", "warning", "stop", "no plan")
_STATE_OF = {"note": "ready", "warn": "warning", "stop": "stop"}
# A table program runs a cell that begins so.
_FORMULA_SIGNS = ("=", "+", "-", "@", "\t", "\r")
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


def summary_csv(entries: list[Entry]) -> bytes:
    """A row a part, numbers as computed with their unit in the heading.

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
        writer.writerow({name: _cell(value) for name, value in _row(entry).items()})
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
    row["size_mm"] = formats.size_text(digest["size_mm"]).removesuffix(" mm")
    return row


def _cell(value):
    if isinstance(value, str) and value.startswith(_FORMULA_SIGNS):
        try:
            float(value.split(" ")[0])  # the numbers of a direction
        except ValueError:
            return "'" + value
    return value


def facts(entry: Entry) -> list[tuple[str, str]]:
    """The numbers of a planned part with their names, as they are read."""
    digest = entry.digest
    cost = "-"
    if digest["cost"] is not None:  # work is in it, at assumed minutes
        cost = f"{shop_view.money_text(digest['cost'], digest['currency'])} [a]"
    elif digest["material_cost"] is not None:
        price = shop_view.money_text(digest["material_cost"], digest["currency"])
        cost = f"{price} [c] material"
    moulds = "" if digest["n_moulds"] == 1 else f" for {digest['n_moulds']} moulds"
    copies = "" if digest["copies"] == 1 else f" for {digest['copies']} copies"
    return [
        ("Draw", f"{view.axis_words(tuple(digest['draw']))}, {digest['split']} split"),
        ("Undercut", formats.trapped_text(1000 * digest["trapped_ml"])),
        ("Rubber", digest["verdict"]),
        ("Vents", f"{digest['n_vents']} [c]"),
        ("Silicone", f"{weight_text(digest['silicone_g'])} [c]{moulds}"),
        ("Resin", f"{weight_text(digest['resin_g'])} [c]{copies}"),
        ("Cost alone", cost),
    ]


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
    noun = "part" if n_asked == 1 else "parts"
    sentence = f"{n_planned} of {n_asked} {noun} planned"
    if n_planned:
        sentence += (
            f": {told['ready']} ready, {told['warning']} with a warning, "
            f"{told['stop']} with a stop to clear first"
        )
    if n_asked > len(entries):
        sentence += f"; {n_asked - len(entries)} not tried yet"
    return f"{sentence}."


def error_lines(entries: list[Entry]) -> list[str]:
    """Each part without a plan, with its reason."""
    return [f"{entry.name}: no plan. {entry.error}" for entry in entries if not entry.is_planned]


def buy_sentence(totals: Totals) -> str:
    """What the packs cost together, beside buying part by part."""
    if totals.cost is None:
        return (
            "No price: give packs in a shop file (--shop) that cover every material, and they are "
            "picked for all parts together."
        )
    together = shop_view.money_text(totals.cost, totals.currency)
    if totals.apart_cost is None:
        return f"All parts together: {together} [c]."
    apart = shop_view.money_text(totals.apart_cost, totals.currency)
    return f"All parts together: {together} [c]; bought part by part it would be {apart} [c]."


def pot_sentences(pot: PotLoads) -> list[str]:
    """How many loads there are, and what rules them."""
    wide, high = (f"{side:g}" for side in pot.inner_mm)
    n_moulds = sum(len(load.places) for load in pot.loads)
    loads = "1 load" if len(pot.loads) == 1 else f"{len(pot.loads)} loads"
    moulds = "1 mould" if n_moulds == 1 else f"{n_moulds} moulds"
    lines = [
        f"{moulds} in {loads} of a pot {wide} mm wide and {high} mm high inside. One layer, each "
        "mould the way its plan stands it, 10 mm [a] apart; one cup of one resin fills a load."
    ]
    if pot.too_large:
        lines.append(f"Too large for this pot: {', '.join(pot.too_large)}.")
    return lines


def load_sentence(load) -> str:
    """The moulds of a load and its cup."""
    names = load.places[0].name
    if len(load.places) > 1:  # numbered as in the picture
        names = ", ".join(f"{k} {place.name}" for k, place in enumerate(load.places, start=1))
    resin = shop_view.card_title(load.resin)
    is_over = load.resin_g > load.largest_cup_g
    cup = "in more than one cup" if is_over else "in one cup"
    return f"{names}: {weight_text(load.resin_g)} [c] of {resin} {cup}."
