"""What the page and its API may choose, as JSON, and the records made of it.

What a choice may be stands in `castplan.choices`; the checks, the JSON Schema of the
API and the records all come from it. A choice that is left out, or null, is castplan's
own.
"""

from dataclasses import fields

from castplan import checks, units
from castplan import choices as table
from castplan.checks import Choice
from castplan.errors import InputError
from castplan.job import Job
from castplan.materials.cards import get_card
from castplan.materials.shop import load_shop, shop_from
from castplan.page import box_parts
from castplan.part.close import Closing
from castplan.texts import english, say
from castplan.words.options import label_of, word_of

# How the file is read. The rest are fields of a job of the same name.
READING = {
    "units": Choice("word", words=tuple(units.MM_PER_UNIT)),
    "measured": Choice("text", card="part"),
    "thickness_mm": Choice("number", 0.1, 100.0),
    "close_to_plane": Choice("flag"),
    "is_size_meant": Choice("flag"),
    box_parts.CHOICE: Choice("parts"),
}
# Of the job's choices those that the page takes.
JOB = {name: choice for name, choice in table.CHOICES.items() if choice.is_offered}
JOB |= {"packs": Choice("packs", card="materials")}
CHOICES = READING | JOB
_PACK = ("name", "card", "part", "mass_g", "price")


def check_choices(stated: dict) -> dict:
    """The choices without nulls, checked; numbers as they were given.

    Raises
    ------
    InputError
        A name is unknown, or a value is none that it may have.
    """
    if not isinstance(stated, dict):
        raise _wrong("choices", type(stated).__name__, "an object of choices")
    return {
        name: _check(name, value) for name, value in sorted(stated.items()) if value is not None
    }


def reading_from(choices: dict) -> dict:
    """What `part.load.load_part` takes besides the path."""
    closing = None
    if "thickness_mm" in choices or choices.get("close_to_plane"):
        closing = Closing(thickness_mm=choices.get("thickness_mm"))
    return {
        "unit": choices.get("units"),
        "measured": choices.get("measured"),
        "closing": closing,
        "is_size_meant": bool(choices.get("is_size_meant")),
    }


def job_from(choices: dict) -> Job:
    """The job; what is not chosen is the job's default and the shop file's.

    Raises
    ------
    InputError
        A card of that name does not exist, or the shop's file is damaged.
    """
    known = {entry.name for entry in fields(Job)}
    chosen = {name: _frozen(value) for name, value in choices.items() if name in known}
    for kind in ("silicone", "resin"):
        get_card(chosen.get(kind, getattr(Job, kind)), kind=kind)
    shop = load_shop()
    if "packs" in choices:
        told = {"pack": choices["packs"]}
        for entry in fields(shop):
            if entry.name not in ("packs", "uses") and getattr(shop, entry.name) is not None:
                told[entry.name] = getattr(shop, entry.name)
        shop = shop_from(told | {"uses": dict(shop.uses)}, name="packs")
    return Job(**chosen, shop=shop)


def in_words(names: str) -> str:
    """Names of choices, with commas between, in words; others stay as they are."""
    # Some of the words have commas of their own.
    return "; ".join(
        say(f"choice.{name}") if name in CHOICES else name for name in names.split(", ")
    )


def controls() -> dict:
    """What the page's controls take from the table: limits, words, default, labels.

    Returns
    -------
    dict
        Of each choice that a card has a control for, plain JSON.
    """
    return {name: _control(name, choice) for name, choice in CHOICES.items() if choice.card}


def _control(name, choice):
    told = {"kind": choice.kind, "default": getattr(Job, name, None)}
    if choice.kind in ("number", "count"):
        told |= {"label": label_of(name), "least": choice.least, "most": choice.most}
    elif choice.kind == "word":
        told["label"] = label_of(name)
        told["words"] = [[word, word_of(name, word)] for word in choice.words]
    elif choice.kind == "spots":
        told["radius_mm"] = table.KEEP_OFF_MM
    return told


def _frozen(value):
    return tuple(_frozen(item) for item in value) if isinstance(value, list) else value


def schema() -> dict:
    """JSON Schema of the choices, for the API's document; English, as all that programs read."""
    return {
        "type": "object",
        "additionalProperties": False,
        "properties": {name: _schema(name, choice) for name, choice in CHOICES.items()},
    }


def _schema(name, choice):
    limits = {
        key: limit
        for key, limit in (("minimum", choice.least), ("maximum", choice.most))
        if limit is not None
    }
    if choice.kind in ("number", "count"):
        kind = {"type": ["number" if choice.kind == "number" else "integer", "null"], **limits}
    elif choice.kind == "flag":
        kind = {"type": ["boolean", "null"]}
    elif choice.kind == "word":
        kind = {"enum": [*choice.words, None]}
    elif choice.kind == "text":
        kind = {"type": ["string", "null"], "minLength": 1, "maxLength": 200}
    elif choice.kind in ("way", "lengths"):
        count = 3 if choice.kind == "way" else choice.count
        kind = {
            "type": ["array", "null"],
            "items": {"type": "number", **limits},
            "minItems": count,
            "maxItems": count,
        }
    elif choice.kind in checks.POINTS:
        count = checks.POINTS[choice.kind]
        point = {
            "type": "array",
            "items": {"type": "number", **limits},
            "minItems": count,
            "maxItems": count,
        }
        kind = {"type": ["array", "null"], "items": point, "maxItems": checks.MOST_PLACES}
    elif choice.kind == "parts":
        kind = box_parts.schema()
    else:
        kind = {
            "type": ["array", "null"],
            "maxItems": 50,
            "items": {
                "type": "object",
                "required": list(_PACK),
                "additionalProperties": False,
                "properties": {
                    "name": {"type": "string", "maxLength": 200},
                    "card": {"type": "string", "maxLength": 200},
                    "part": {"enum": ["kit", "A", "B"]},
                    "mass_g": {"type": "number", "exclusiveMinimum": 0},
                    "price": {"type": "number", "minimum": 0},
                    "shelf_life_months": {"type": "number", "exclusiveMinimum": 0},
                    "most": {"type": "integer", "minimum": 0},
                },
            },
        }
    return {"description": english()[f"choice.{name}"], **kind}


def _check(name, value):
    choice = CHOICES.get(name)
    if choice is None:
        raise _wrong("choices", repr(name)[:80], f"one of {', '.join(CHOICES)}")
    checks.check(choice, value, what=name)
    if choice.kind == "count":
        return int(value)
    if choice.kind == "parts":
        box_parts.check_parts(value)
    if choice.kind == "packs":
        if not isinstance(value, list) or len(value) > 50:
            raise _wrong(name, repr(value)[:80], "up to 50 packs")
        for pack in value:
            _check_pack(name, pack)
        shop_from({"pack": value}, name=name)
    return value


def _check_pack(name, pack):
    for key, told in pack.items() if isinstance(pack, dict) else ():
        if not (checks.is_line(told) if isinstance(told, str) else checks.is_number(told)):
            raise _wrong(f"{name}: {key}"[:80], repr(told)[:80], "a short line or a number")


def _wrong(name, found, need):
    return InputError(name, found=found, need=need, do="Change it, or leave it out.")
