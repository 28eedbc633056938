"""What a supplier's data sheet states, made into a card of the shop's own.

A number may stand alone (then it has the card's unit), as text with its unit
(``"1080 kg/m3"``, ``"30 to 40 min"``), or as a table like those of the
classes. Nothing is converted silently: an unknown unit is a problem.
"""

import json
import math
import re
from dataclasses import fields

from castplan.checks import is_line
from castplan.errors import InputError
from castplan.materials.cards import Card, class_cards
from castplan.materials.sheet_entries import CHEMISTRIES, ENTRIES, ONLY
from castplan.record import Sourced, record
from castplan.texts.told import Told, tell, tell_data
from castplan.units import from_sheet_unit

CARD_ID = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
# Rounding on a sheet: 100:90 by weight with 1.10 and 0.99 is 1:1 by volume,
# with 1.1 and 1.0 it is 1:1 to 1 %; three such numbers make about 3 %.
AGREE_FRACTION = 0.03
# A resin so hard does not stretch further: the classes break at 5 to 15 % (from memory).
HARD_SHORE_D, HARD_STRETCH_FRACTION = 60.0, 2.0
THINNEST_SILICONE_MPA_S = 500.0

# Of another tin these are no guess worth making: densities of the parts, limits, and what a
# post-cure buys.
_OF_THE_TIN = ("density", "ratio_b_by", "larg", "deflection", "post_cure", "plain_limit")
_TEXTS = ("title", "kind", "chemistry", "sheet", "hazards", "incompatible", "mixing", "meets_as")
_NUMBER = r"[-+]?\d+(?:\.\d+)?"
_STATED = re.compile(rf"({_NUMBER})(?:\s*(?:-|to|\.\.)\s*({_NUMBER}))?\s*(\D.*)?")


@record
class SheetReading:
    """A sheet as read: the card if nothing stands against it, what does, what it lacks."""

    card: Card | None
    problems: tuple[str, ...]
    missing: tuple[str, ...]


def read_sheet(card_id: str, entry: dict) -> SheetReading:
    """Check a data sheet's entries and make a card of them.

    What the sheet does not state is taken from the class of its chemistry and
    marked as assumed, so that a plan says so.

    Parameters
    ----------
    card_id : str
        Small letters, digits and hyphens.
    entry : dict
        Keys of `ENTRIES`, and ``title``, ``chemistry``, ``sheet`` (which sheet).

    Returns
    -------
    SheetReading
    """
    problems = _wrong_texts(card_id, entry)
    chemistry = entry.get("chemistry")
    kind = CHEMISTRIES.get(chemistry)
    told = entry.get("sheet")
    source = tell("material.sheet", sheet=told) if told else tell("material.sheet_unknown")
    numbers = {}
    for name in ENTRIES:
        if name in entry:
            number, problem = read_line(name, entry[name], source=source)
            if problem:
                problems.append(problem)
            else:
                numbers[name] = number
    if kind:
        problems += [
            f"{ENTRIES[name].words}: only a {only} has it"
            for name, only in ONLY.items()
            if name in numbers and only != kind
        ]
    thin = numbers.get("viscosity_mpa_s")
    if kind == "silicone" and thin is not None and thin.value < THINNEST_SILICONE_MPA_S:
        problems.append(
            f"viscosity, mixed: found {thin.value:g} mPa s, need {THINNEST_SILICONE_MPA_S:g} or "
            "more for a silicone (if the sheet says Pa s, write that unit behind it)"
        )
    _add_what_follows(numbers)
    problems += _disagreements(numbers)
    wanted = [n for n in ENTRIES if ONLY.get(n, kind) == kind]
    missing = tuple(ENTRIES[name].words for name in wanted if name not in numbers)
    if not {"ratio_a", "ratio_b"} <= set(numbers):
        problems.append(
            "ratio by weight: found none, need parts A and B by weight, "
            "or parts by volume with both densities"
        )
    for name, told in ENTRIES.items():
        if told.is_needed and name not in numbers and name not in entry:
            problems.append(f"{told.words}: found none, need what the sheet states")
    if "density_g_ml" not in numbers and "density_g_ml" not in entry:
        problems.append(
            "density, mixed: found none, need it or the densities of both parts; a thumb value can "
            "be 17 % off"
        )
    if problems:
        return SheetReading(card=None, problems=tuple(problems), missing=missing)
    card = _fill_up(card_id, entry, kind, numbers)
    return SheetReading(card=card, problems=(), missing=missing)


def _wrong_texts(card_id, entry):
    wrong = []
    if not CARD_ID.fullmatch(card_id):
        wrong.append(f"id: found {card_id!r}, need small letters, digits and hyphens")
    if card_id in class_cards():
        wrong.append(f"id: found {card_id!r}, which is a class of castplan; need another name")
    if not str(entry.get("title", "")).strip():
        wrong.append("title: found none, need what is written on the tin")
    for name in ("title", "sheet", "incompatible"):
        told = entry.get(name) or ()
        if not all(map(is_line, (told,) if isinstance(told, str) else told)):
            wrong.append(f"{name}: found {told!r:.60}, need lines of 1 to 200 signs")
    if entry.get("chemistry") not in CHEMISTRIES:
        wrong.append(
            f"chemistry: found {entry.get('chemistry')!r}, need one of {', '.join(CHEMISTRIES)}"
        )
    wrong += [
        f"{name}: found an entry that no card has, need one of those castplan materials show lists"
        for name in entry
        if name not in ENTRIES and name not in _TEXTS
    ]
    return wrong


def read_line(name: str, stated, *, source: Told) -> tuple[Sourced | None, str | None]:
    """One number of a sheet in the card's unit, or what is wrong with it.

    Parameters
    ----------
    name : str
        A key of `ENTRIES`.
    stated : float, str or dict
        As the sheet states it.
    source : Told
        Which sheet.

    Returns
    -------
    number : Sourced or None
    problem : str or None
    """
    told = ENTRIES[name]
    if isinstance(stated, dict):
        named = {"source": tell_data(stated["source"])} if "source" in stated else {}
        start = {"unit": told.unit, "basis": "data sheet", "source": source}
        try:
            given = Sourced(**start | stated | named)
        except (TypeError, ValueError) as error:
            return None, f"{told.words}: {error}"
        numbers, unit = (given.value, given.low, given.high), given.unit
        basis, source = given.basis, given.source
    else:
        match = _STATED.fullmatch(str(stated).strip())
        if isinstance(stated, bool) or not match:
            return None, f"{told.words}: found {stated!r}, need a number with its unit"
        first, second, unit = match[1], match[2], (match[3] or told.unit).strip()
        numbers = (float(first), None, None)
        if second:
            low, high = sorted((float(first), float(second)))
            numbers = ((low + high) / 2, low, high)
        basis = "data sheet"
    if name == "shore":
        unit = {"A": "Shore A", "D": "Shore D"}.get(unit, unit)
        if unit not in ("Shore A", "Shore D"):
            return None, f"{told.words}: found {stated!r}, need a number with A or D behind it"
        converted = numbers
    else:
        converted = tuple(
            None if n is None else from_sheet_unit(n, unit=unit, wanted=told.unit) for n in numbers
        )
        if converted[0] is None:
            return None, f"{told.words}: found the unit {unit!r}, need {told.unit}"
        unit = told.unit
    value, low, high = converted
    problem = _out_of_range(told, value, low, high)
    if problem:
        return None, f"{told.words}: {problem}"
    return Sourced(value=value, low=low, high=high, unit=unit, basis=basis, source=source), None


def _out_of_range(told, value, low, high):
    ends = [value, *(end for end in (low, high) if end is not None)]
    if not all(isinstance(end, int | float) and math.isfinite(end) for end in ends):
        return f"found {value}, need a number"
    if (low is None) != (high is None) or not min(ends[1:] or ends) <= value <= max(ends):
        return f"found {value:g} outside its own range, need low, value and high in order"
    if told.low <= min(ends) and max(ends) <= told.high:
        return None
    hint = ""
    for unit in _other_units(told.unit):
        other = from_sheet_unit(value, unit=unit, wanted=told.unit)
        if told.low <= other <= told.high:
            hint = f" (if the sheet says {value:g} {unit}, write that unit behind it)"
            break
    return f"found {value:g} {told.unit}, need {told.low:g} to {told.high:g}{hint}"


def _other_units(unit):
    return {
        "1": ("%",),
        "g/ml": ("kg/m3",),
        "mPa s": ("Pa s",),
        "min": ("h", "s"),
        "h": ("min", "d"),
        "N/mm": ("N/m", "lbf/in"),
        "C": ("F",),
        "mm": ("cm", "in"),
        "g": ("kg",),
    }.get(unit, ())


def _add_what_follows(numbers):
    """Ratio by weight from the one by volume, mixed density from the parts', where it is open."""

    def value(name):
        return numbers[name].value if name in numbers else None

    def computed(name, number, how):
        number = float(f"{number:.6g}")  # a sheet's own digits are fewer
        numbers[name] = Sourced(value=number, unit=ENTRIES[name].unit, basis="computed", source=how)

    density_a, density_b = value("density_a_g_ml"), value("density_b_g_ml")
    by_volume = value("ratio_b_by_volume")
    if density_a and density_b:
        if by_volume and not {"ratio_a", "ratio_b"} & set(numbers):
            how = tell("material.from_volume")
            computed("ratio_a", 100.0, how)
            computed("ratio_b", by_volume * density_b / density_a, how)
        a, b = value("ratio_a"), value("ratio_b")
        if a and b and by_volume is None:
            how = tell("material.from_weight")
            computed("ratio_b_by_volume", 100 * (b / density_b) / (a / density_a), how)
        if a and b and "density_g_ml" not in numbers:
            how = tell("material.from_parts")
            computed("density_g_ml", (a + b) / (a / density_a + b / density_b), how)


def _disagreements(numbers):
    def value(*names):
        found = [numbers[name].value for name in names if name in numbers]
        return found if len(found) == len(names) else None

    wrong = []
    parts = value("ratio_a", "ratio_b", "density_a_g_ml", "density_b_g_ml")
    if parts:
        a, b, density_a, density_b = parts
        by_volume = 100 * (b / density_b) / (a / density_a)
        stated = value("ratio_b_by_volume")
        if stated and abs(stated[0] / by_volume - 1) > AGREE_FRACTION:
            wrong.append(
                f"ratio: by weight {a:g}:{b:g} with densities {density_a:g} and {density_b:g} is "
                f"100:{by_volume:.3g} by volume, but the sheet says 100:{stated[0]:g}; "
                "need the sheet's own numbers, not one ratio taken for the other"
            )
        mixed = (a + b) / (a / density_a + b / density_b)
        stated = value("density_g_ml")
        if stated and abs(stated[0] / mixed - 1) > AGREE_FRACTION:
            wrong.append(
                f"density: the parts make {mixed:.3g} g/ml, but the sheet says {stated[0]:g} "
                "for the mix; need numbers that agree"
            )
    shore, stretch = numbers.get("shore"), numbers.get("elongation_fraction")
    is_hard = shore is not None and shore.unit == "Shore D" and shore.value >= HARD_SHORE_D
    if is_hard and stretch is not None and stretch.value > HARD_STRETCH_FRACTION:
        wrong.append(
            f"elongation at break: found {100 * stretch.value:g} % for {shore.value:g} Shore D, "
            f"need {100 * HARD_STRETCH_FRACTION:g} % at most for so hard a resin"
        )
    times = value("pot_life_min", "demould_h")
    if times and times[0] >= times[1] * 60:
        wrong.append(
            "time to demould: found no longer than the pot life, need the hours to demould"
        )
    times = value("demould_h", "full_cure_h")
    if times and times[1] < times[0]:
        wrong.append("full cure: found shorter than the time to demould, need hours from mixing")
    return wrong


def _fill_up(card_id, entry, kind, numbers):
    """The card, its gaps filled from the nearest class of the same chemistry."""
    chemistry = entry["chemistry"]
    classes = [card for card in class_cards().values() if card.chemistry == chemistry]
    stated = numbers.get("shore", classes[0].shore)
    classes = [card for card in classes if not card.is_special] or classes
    classes = [card for card in classes if card.shore.unit == stated.unit] or classes
    like = min(classes, key=lambda card: abs(card.shore.value - stated.value))
    from_class = []
    for name in ENTRIES:
        known = getattr(like, name)
        if name in numbers or known is None or name.startswith(_OF_THE_TIN):
            continue
        from_class.append(name)
        numbers[name] = Sourced(
            value=known.value,
            low=known.low,
            high=known.high,
            unit=known.unit,
            basis="assumed",
            source=tell("material.not_on_sheet", card=like.card_id),
        )
    full, demould = numbers["full_cure_h"], numbers["demould_h"]
    if full.value < demould.value:
        numbers["full_cure_h"] = demould
    return Card(
        card_id=card_id,
        kind=kind,
        chemistry=chemistry,
        title=tell_data(str(entry["title"]).strip()),
        hazards=tuple(entry.get("hazards", like.hazards)),
        incompatible=tuple(map(tell_data, entry["incompatible"]))
        if "incompatible" in entry
        else like.incompatible,
        mixing=tell_data(entry["mixing"]) if "mixing" in entry else like.mixing,
        meets_as=entry.get("meets_as", like.meets_as),
        origin="shop",
        from_class=tuple(from_class),
        **{entry.name: numbers[entry.name] for entry in fields(Card) if entry.name in numbers},
    )


def stated_on(entry: dict) -> dict:
    """The entries of a kept card that its sheet stated, without what was assumed."""
    left_out = {"origin", "from_class", *entry.get("from_class", ())}
    return {key: value for key, value in entry.items() if key not in left_out}


def card_text(card: Card) -> str:
    """A card as the TOML that `card_from` reads."""
    lines = [f"[{card.card_id}]"]
    for name in ("kind", "chemistry", "title", "hazards", "incompatible", "origin"):
        value = getattr(card, name)
        value = list(value) if isinstance(value, tuple) else value
        lines.append(f"{name} = {_toml(value)}")
    kept = {name: getattr(card, name) for name in ("mixing", "meets_as")}
    lines += [f"{name} = {_toml(told)}" for name, told in kept.items() if told]
    if card.from_class:
        lines.append(f"from_class = {_toml(card.from_class)}")
    for name, number in card.numbers.items():
        parts = {"value": number.value, "low": number.low, "high": number.high}
        parts |= {"unit": number.unit, "basis": number.basis, "source": number.source}
        told = ", ".join(f"{key} = {_toml(v)}" for key, v in parts.items() if v is not None)
        lines.append(f"{name} = {{ {told} }}")
    return "\n".join(lines) + "\n"


def _toml(value):
    # JSON's strings and numbers are TOML's too, but for one control sign.
    return json.dumps(value, ensure_ascii=False, default=str).replace("\x7f", "\\u007f")


def card_or_problems(card_id: str, entry: dict) -> Card:
    """The card of a sheet.

    Raises
    ------
    InputError
        Something on the sheet cannot be; the message names all of it.
    """
    reading = read_sheet(card_id, entry)
    if reading.card is not None:
        return reading.card
    raise InputError(
        f"card {card_id}",
        found=f"{len(reading.problems)} that cannot be right",
        need="; ".join(reading.problems),
        do="Look at the supplier's sheet again.",
    )
