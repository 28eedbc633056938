"""What the page and its API may choose, as JSON, and the records made of it.

One table names every choice, its kind and its limits; the checks, the JSON
Schema of the API and the records all come from it. A choice that is left out,
or null, is castplan's own.
"""

import math
from dataclasses import dataclass, fields

from castplan import units
from castplan.errors import InputError
from castplan.job import Job
from castplan.materials.cards import get_card
from castplan.materials.shop import load_shop, shop_from
from castplan.part.close import Closing
from castplan.texts import english, say


@dataclass(frozen=True)
class Choice:
    """One choice: `kind` is number, count, flag, word, text, way, sides, places, spots or packs.

    A way is a direction of three numbers, `sides` two lengths, `places` points
    of three, `spots` points with a radius; `words` are what a word may be. Limits
    are included in the range.
    What a choice is, the catalogue says as ``choice.NAME``.
    """

    kind: str
    least: float | None = None
    most: float | None = None
    words: tuple[str, ...] = ()


_MM = {"least": 0.1, "most": 2000.0}
# How the file is read. The rest are fields of a job of the same name.
READING = {
    "units": Choice("word", words=tuple(units.MM_PER_UNIT)),
    "measured": Choice("text"),
    "thickness_mm": Choice("number", 0.1, 100.0),
    "close_to_plane": Choice("flag"),
    "is_size_meant": Choice("flag"),
}
JOB = {
    "draw": Choice("way"),
    "up": Choice("way"),
    "show_face": Choice("way"),
    "parting": Choice("word", words=("level", "tilted", "stepped", "following")),
    "parting_height_mm": Choice("number", 0.0, 2000.0),
    "wall_mm": Choice("number", **_MM),
    "over_mm": Choice("number", **_MM),
    "under_mm": Choice("number", **_MM),
    "box": Choice("word", words=("rectangle", "round", "outline")),
    "box_step_mm": Choice("number", 0.1, 100.0),
    "board_mm": Choice("number", **_MM),
    "key_mm": Choice("number", 1.0, 100.0),
    "bed": Choice("word", words=("clay", "printed")),
    "pot_mm": Choice("sides", 10.0, 5000.0),
    "chamber_mm": Choice("sides", 10.0, 5000.0),
    "scale_max_g": Choice("number", 1.0, 1e6),
    "gate_mm": Choice("number", 1.0, 100.0),
    "vent_min_height_mm": Choice("number", 0.0, 1000.0),
    "vent_min_air_ml": Choice("number", 0.0, 1000.0),
    "air_left_ml": Choice("number", 1e-6, 1000.0),
    "feed": Choice("word", words=("auto", "top", "riser")),
    "vents_at": Choice("places", -1e5, 1e5),
    "keep_off": Choice("spots", -1e5, 1e5),
    "max_vents": Choice("count", 1, 200),
    "silicone": Choice("text"),
    "resin": Choice("text"),
    "copies": Choice("count", 1, 10000),
    "shop_temperature_c": Choice("number", -20.0, 60.0),
    "brush_mm": Choice("number", 0.0, 10.0),
    "pigment_fraction": Choice("number", 0.0, 0.5),
    "water_ml": Choice("number", 1e-3, 1e6),
    "place": Choice(
        "word",
        words=("indoors", "shade", "glovebox", "console", "dashboard"),
    ),
    "start": Choice("text"),
    "paper": Choice("word", words=("A4", "Letter")),
    "packs": Choice("packs"),
}
CHOICES = READING | JOB
MOST_PLACES = 200
_POINTS = {"places": 3, "spots": 4}  # numbers a point
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
    elif choice.kind in ("way", "sides"):
        count = 3 if choice.kind == "way" else 2
        kind = {
            "type": ["array", "null"],
            "items": {"type": "number", **limits},
            "minItems": count,
            "maxItems": count,
        }
    elif choice.kind in _POINTS:
        count = _POINTS[choice.kind]
        point = {
            "type": "array",
            "items": {"type": "number", **limits},
            "minItems": count,
            "maxItems": count,
        }
        kind = {"type": ["array", "null"], "items": point, "maxItems": MOST_PLACES}
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
    if choice.kind in ("number", "count"):
        is_whole = choice.kind == "count"
        if not _is_number(value) or (is_whole and value != int(value)):
            raise _wrong(name, repr(value)[:80], "a whole number" if is_whole else "a number")
        _check_range(name, choice, value)
        return int(value) if is_whole else value
    if choice.kind == "flag" and not isinstance(value, bool):
        raise _wrong(name, repr(value)[:80], "true or false")
    if choice.kind == "word" and value not in choice.words:
        raise _wrong(name, repr(value)[:80], f"one of {', '.join(choice.words)}")
    if choice.kind == "text" and not _is_line(value):
        raise _wrong(name, repr(value)[:80], "one line of 1 to 200 signs")
    if choice.kind in ("way", "sides"):
        count = 3 if choice.kind == "way" else 2
        is_list = isinstance(value, list) and len(value) == count
        if not is_list or not all(map(_is_number, value)):
            raise _wrong(name, repr(value)[:80], f"{count} numbers")
        if choice.kind == "way" and not 1e-6 < math.hypot(*value) < 1e6:
            raise _wrong(name, repr(value)[:80], "a direction, not all zero")
        for number in value:
            _check_range(name, choice, number)
    if choice.kind in _POINTS:
        count = _POINTS[choice.kind]
        is_list = isinstance(value, list) and len(value) <= MOST_PLACES
        if not is_list or not all(_is_point(place, count) for place in value):
            raise _wrong(name, repr(value)[:80], f"up to {MOST_PLACES} places of {count} numbers")
        if choice.kind == "spots" and not all(place[3] > 0 for place in value):
            raise _wrong(name, repr(value)[:80], "radii above 0")
        for number in (number for place in value for number in place):
            _check_range(name, choice, number)
    if choice.kind == "packs":
        if not isinstance(value, list) or len(value) > 50:
            raise _wrong(name, repr(value)[:80], "up to 50 packs")
        for pack in value:
            _check_pack(name, pack)
        shop_from({"pack": value}, name=name)
    return value


def _check_pack(name, pack):
    for key, told in pack.items() if isinstance(pack, dict) else ():
        if not (_is_line(told) if isinstance(told, str) else _is_number(told)):
            raise _wrong(f"{name}: {key}"[:80], repr(told)[:80], "a short line or a number")


def _is_line(value):
    return isinstance(value, str) and 0 < len(value) <= 200 and value.isprintable()


def _check_range(name, choice, value):
    if choice.least is not None and value < choice.least:
        raise _wrong(name, f"{value:g}", f"at least {choice.least:g}")
    if choice.most is not None and value > choice.most:
        raise _wrong(name, f"{value:g}", f"at most {choice.most:g}")


def _is_number(value):
    is_number = isinstance(value, int | float) and not isinstance(value, bool)
    return is_number and abs(value) < 1e15 and math.isfinite(value)


def _is_point(place, count):
    return isinstance(place, list) and len(place) == count and all(map(_is_number, place))


def _wrong(name, found, need):
    return InputError(name, found=found, need=need, do="Change it, or leave it out.")
