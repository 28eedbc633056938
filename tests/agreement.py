"""What a plan's outputs tell, read from their words alone, and where two of them disagree.

Nothing of the records is read here: every fact is taken from an English sentence, a row
of a sheet or a card, as somebody at the bench would take it.
"""

import html
import json
import re
from dataclasses import dataclass

from agreement_openings import labels_open, openings, tilt
from agreement_read import LABELS, number, step

from castplan.page.cards import cards_of
from castplan.paper.booklet import build_booklet
from castplan.paper.sheets import build_sheets
from castplan.view.cards import build_cards
from castplan.view.scene import build_scene
from castplan.words import plan as view
from castplan.words.kinds import kind_sentence

# Words that fit one bedding only. What a sentence says of clay for plugs, gaps, tape and the
# test patch, or of other splits than the one built, is not among them.
BEDDINGS = {
    "flat": r"Stick it flat|Stick the original to the base board|which lies on the base board"
    r"|half-round keys? on the board|base board shuts|lies on the board; this plan"
    r"|Cut the base board loose and take it off\. Take out the keys",
    "clay": r"Clay up to|Clay in one tilted plane|Clay to the clay strip|ring the clay up to"
    r"|pressed into the clay|Press \d+ round hollows? into|into the clay to half|with the clay bed"
    r"|rod in the clay|board and all the clay|Where the clay goes|clay strip|Clay strip"
    r"|clay level all round; this plan|packed up on one side; this plan|point by point; this plan",
    "printed": r"printed bed",
    "sticks": r"on the sticks of gate and vents|on its sticks",
}
# A whole gram or millimetre, as told, is half of one off either way; two of them are one.
ROUNDED = 1.0
# Weights are told in three digits: half of the last of 100 is 0.5 %.
DIGITS_FRACTION = 0.005


@dataclass
class Told:
    """The texts of each output, one long line each; `sheets` by title."""

    summary: str
    steps: tuple  # kind and text
    pages: tuple  # the sheets themselves
    sheets: dict
    view: str
    page: dict


def tell(plan, *, scene=None) -> Told:
    """All that the outputs say of a plan; the view of another plan's scene where one is given."""
    pages = [*build_booklet(plan), *build_sheets(plan)]
    sheets: dict[str, str] = {}
    for page in pages:
        lines = " ".join(text.text for text in page.texts)
        sheets[page.title] = f"{sheets.get(page.title, '')} {lines}"
    cards = re.sub(r"<[^>]+>", " ", build_cards(plan, scene or build_scene(plan)))
    # What another kind of mould would take is told beside, and is not of this one.
    kind = kind_sentence(plan)
    return Told(
        summary=" ".join(
            (
                *(line for line in view.summary_lines(plan) if line != kind),
                *(each.sentence for each in view.decisions(plan)),
            )
        ),
        steps=tuple((step.kind, str(step.text)) for step in plan.bench.schedule.steps),
        pages=tuple(pages),
        sheets=sheets,
        view=re.sub(r"\s+", " ", html.unescape(cards)),
        # What may be chosen says nothing of what is.
        page={name: said for name, said in cards_of(plan, {}).items() if name != "controls"},
    )


def contradictions(told: Told) -> list[str]:
    """Sentences on what two outputs tell differently; empty where all agree."""
    return [
        f"{what}: {found}"
        for what, compare in COMPARISONS.items()
        if not _agree(found := compare(told))
    ]


def _agree(found: dict) -> bool:
    values = list(found.values())
    return all(value == values[0] for value in values[1:])


# -- bedding -------------------------------------------------------------------


def _beddings(text):
    return {name for name, words in BEDDINGS.items() if re.search(words, text)}


def _bedding(told):
    others = {title: text for title, text in told.sheets.items() if title != "Steps"}
    found = {
        "summary": _beddings(told.summary),
        "steps": _beddings(" ".join(text for _, text in told.steps)),
        "sheet Steps": _beddings(told.sheets["Steps"]),
        "view": _beddings(told.view),
        "page": _beddings(json.dumps(told.page, ensure_ascii=False)),
    }
    # A sheet need not speak of the bedding.
    found |= {title: kinds for title, text in others.items() if (kinds := _beddings(text))}
    return found


def _near(found, *, within):
    """The same numbers, those that hardly differ made equal."""
    known = [value for value in found.values() if value is not None]
    if known and max(known) - min(known) <= within:
        return dict.fromkeys(found, known[0]) if None not in found.values() else found
    return found


def _bed_height(told):
    """Of a level bed of clay over the board: summary and step."""
    fixed = number(r"parting line, ([\d.]+) mm above the board", step(told, "fix"))
    if fixed is None:
        return {}
    told_mm = number(r"Clay up to ([\d.]+) mm", told.summary)
    # The summary rounds to the pitch, a millimetre here.
    return _near({"summary": told_mm, "steps": fixed}, within=ROUNDED)


def _box_sheet(told):
    """Without keys it is called after what is left."""
    return told.sheets.get("Box, keys and boards") or told.sheets["Box and boards"]


def _mark(told):
    """The mark is as high over the board as bed and first pour together, of a level split."""
    mark = number(r"Mark the pour height at ([\d.]+) mm", step(told, "box"))
    pour = number(r"(?:First pour|Pour) ([\d.]+) mm", _box_sheet(told))
    bed = number(r"(?:Clay up to|meets the walls) ([\d.]+) mm", told.summary)
    level = (
        "parting line level",
        "at its flat back",
        "on its flat back",
        "lies flat on the board",
        "upside down on the sticks",
    )
    if not any(words in told.summary for words in level):
        return {}
    flat = "Stick it flat" in told.summary or "upside down on the sticks" in told.summary
    # Three figures, each told to a whole millimetre.
    return _near({"mark": mark, "pour": pour + (0.0 if flat else bed)}, within=1.5 * ROUNDED)


def _first_pour(told):
    """The plan view of the first pour, or of the only one."""
    only = told.sheets.get("Silicone pour, from above", "")
    return told.sheets.get("First silicone pour", only)


def _keys(told):
    """How many: steps, sheet of the box, plan view of the first pour. A printed bed has its own."""
    sheet = number(r"(\d+) keys, ", _box_sheet(told)) or 0.0
    drawn = set(re.findall(r"\bK(\d+)\b", _first_pour(told)))
    found = {"sheet": sheet, "plan view": float(len(drawn))}
    if _beddings(told.summary) != {"printed"}:
        found["steps"] = number(r"(?:Press|Stick) (\d+) ", step(told, "keys")) or 0.0
    elif step(told, "keys"):
        found["steps"] = None
    return found


# -- cups and weights ------------------------------------------------------------


MIX = re.compile(r"(?:(\d+) cups, each )?A ([\d.]+) g and B ([\d.]+) g")


def _silicone_of_steps(text):
    return sorted((int(n or 1), a, b) for n, a, b in MIX.findall(text))


def _silicone_cups(told):
    """Cups of silicone: how many, with how much A and B each."""
    weighed = [text for kind, text in told.steps if kind == "weigh"]
    page = [
        (mix["n_cups"], *(row[1].removesuffix(" g") for row in mix["rows"][:2]))
        for mix in told.page["mixes"]
        if mix["id"] != "resin"
    ]
    labels = [cups for name, cups in _labels(told).items() if not name.startswith("Resin")]
    return {
        "steps": _silicone_of_steps(" ".join(weighed)),
        "page": sorted(page),
        "labels": sorted(labels),
        "mix sheet": sorted(
            cups for name, cups in _mix_cards(told).items() if not name.startswith("Resin")
        ),
    }


def _labels(told):
    """Of each kind of cup: how many labels of part A, and the weights on A and B."""
    found = {}
    name = r"((?:First|Second) half[^P]*?|Mould[^P]*?|Resin, [^P]*?)"
    pattern = rf"{name} PART ([AB]) cup (?:\d+|_+) of (\d+) ([\d.]+) g"
    for name, part, cups, grams in re.findall(pattern, told.sheets[LABELS]):
        found.setdefault(name, {})[part] = (int(cups), grams)
    return {name: (parts["A"][0], parts["A"][1], parts["B"][1]) for name, parts in found.items()}


def _mix_cards(told):
    """Of each card of the mix sheet: rows of its log, targets of A and B."""
    found = {}
    for page in (page for page in told.pages if page.title == "Mixes"):
        rows: dict[float, list[str]] = {}
        for text in page.texts:
            rows.setdefault(round(text.y), []).append(text.text)
        name = n_cups = None
        for cells in rows.values():
            if re.match(r"(First|Second) half|Mould\b|Resin", cells[0]):
                name = re.sub(r" \((upper|lower) half\)$|, continued", "", cells[0])
                found.setdefault(name, [0, "", ""])
                n_cups = 0
            elif cells[0] in ("A", "B"):
                found[name]["AB".index(cells[0]) + 1] = cells[1].removesuffix(" g")
            elif name and cells[0].isdigit() and len(cells) == 1:
                n_cups += 1
                found[name][0] += 1
    # What can go wrong may stand at the foot, and begin like a card.
    return {name: tuple(cups) for name, cups in found.items() if cups[1]}


def _silicone_sums(told):
    """What a half takes: the summary's figure, and its cups in the steps added up."""
    summary = [
        float(g) for g in re.findall(r"([\d.]+) g for the (?:upper|lower|mould)", told.summary)
    ]
    steps = [
        sum(n * (float(a) + float(b)) for n, a, b in _silicone_of_steps(text))
        for kind, text in told.steps
        if kind == "weigh"
    ]
    if len(summary) != len(steps):
        return {"summary": summary, "steps": steps}
    found = {"summary": [], "steps": []}
    for one, other in zip(summary, steps, strict=True):
        is_near = abs(one - other) <= 2 * DIGITS_FRACTION * one + ROUNDED
        found["summary"].append(one)
        found["steps"].append(one if is_near else other)
    return found


def _resin(told):
    """A and B of one cup of resin: summary, last word of the step, card, page, labels, sheet."""
    (page,) = (mix for mix in told.page["mixes"] if mix["id"] == "resin")
    label = next(cups for name, cups in _labels(told).items() if name.startswith("Resin"))
    sheet = next(cups for name, cups in _mix_cards(told).items() if name.startswith("Resin"))
    return {
        "summary": re.search(r"of resin \(A ([\d.]+) g \+ B ([\d.]+) g\)", told.summary).groups(),
        "steps": MIX.findall(step(told, "mix"))[-1][1:],
        "card": re.search(r"A ([\d.]+) g \+ B ([\d.]+) g =", told.sheets[LABELS]).groups(),
        "page": tuple(row[1].removesuffix(" g") for row in page["rows"][:2]),
        "labels": label[1:],
        "mix sheet": sheet[1:],
    }


def _resin_cups(told):
    """How often resin is mixed for all copies."""
    (page,) = (mix for mix in told.page["mixes"] if mix["id"] == "resin")
    times = re.search(r"\), (\d+) times", told.summary)
    each = re.search(r"(\d+) cups, each", step(told, "mix"))
    copies = re.search(r"each of the (\d+) castings", step(told, "close"))
    label = next(cups for name, cups in _labels(told).items() if name.startswith("Resin"))
    return {
        "summary": int(times[1]) if times else 1,
        "steps": (int(each[1]) if each else 1) * (int(copies[1]) if copies else 1),
        "page": page["n_cups"],
        "labels": label[0],
    }


COMPARISONS = {
    "bedding": _bedding,
    "height of the bed": _bed_height,
    "mark of the first pour": _mark,
    "keys": _keys,
    "cups of silicone": _silicone_cups,
    "silicone of a half": _silicone_sums,
    "resin of a cup": _resin,
    "cups of resin": _resin_cups,
    "openings by pour": openings,
    "what is open": labels_open,
    "tilt": tilt,
}
