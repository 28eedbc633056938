"""What the page and its API may choose, as JSON, and the records made of it.

One table names every choice, its kind and its limits; the checks, the JSON
Schema of the API and the records all come from it. A choice that is left out,
or null, is castplan's own.
"""

import math
from dataclasses import dataclass, fields

from castplan import units
from castplan.errors import InputError
from castplan.materials.cards import get_card
from castplan.materials.shop import load_shop, shop_from
from castplan.mesh.close import Closing
from castplan.model import Job


@dataclass(frozen=True)
class Choice:
    """One choice: `kind` is number, count, flag, word, text, way, sides, places or packs.

    A way is a direction of three numbers, `sides` two lengths, `places` points
    of three; `words` are what a word may be. Limits are included in the range.
    """

    kind: str
    says: str
    least: float | None = None
    most: float | None = None
    words: tuple[str, ...] = ()


_MM = {"least": 0.1, "most": 2000.0}
# How the file is read. The rest are fields of a job of the same name.
READING = {
    "units": Choice("word", "unit of the file's numbers", words=tuple(units.MM_PER_UNIT)),
    "measured": Choice("text", "a length of the original, as x=142.0 or longest=5.6in"),
    "thickness_mm": Choice("number", "the file is one side of a sheet this thick", 0.1, 100.0),
    "close_to_plane": Choice("flag", "the file lacks a flat side: close it to a plane"),
    "is_size_meant": Choice("flag", "a size under 3 mm or over 2 m is right"),
}
JOB = {
    "draw": Choice("way", "the way the upper half leaves the part, in the file's axes"),
    "up": Choice("way", "what is up while the resin is poured"),
    "show_face": Choice("way", "the way the face that shows looks"),
    "parting": Choice(
        "word", "how the split runs", words=("level", "tilted", "stepped", "following")
    ),
    "parting_height_mm": Choice(
        "number", "height of a level split above the part's lowest point", 0.0, 2000.0
    ),
    "wall_mm": Choice("number", "silicone beside the part", **_MM),
    "over_mm": Choice("number", "silicone above the part", **_MM),
    "under_mm": Choice("number", "silicone below the part", **_MM),
    "box": Choice("word", "shape of the box", words=("rectangle", "round", "outline")),
    "box_step_mm": Choice("number", "inside of the box in whole steps", 0.1, 100.0),
    "board_mm": Choice("number", "thickness of the box's boards", **_MM),
    "key_mm": Choice("number", "diameter of the keys", 1.0, 100.0),
    "bed": Choice("word", "what the part lies in", words=("clay", "printed")),
    "pot_mm": Choice("sides", "inside of the pressure pot: diameter, height", 10.0, 5000.0),
    "chamber_mm": Choice("sides", "inside of the vacuum chamber: diameter, height", 10.0, 5000.0),
    "scale_max_g": Choice("number", "the most that the scale shows", 1.0, 1e6),
    "gate_mm": Choice("number", "bore of the gate", 1.0, 100.0),
    "vent_min_height_mm": Choice("number", "least rise of a high point for a vent", 0.0, 1000.0),
    "vent_min_air_ml": Choice("number", "least air of a high point for a vent", 0.0, 1000.0),
    "air_left_ml": Choice("number", "as few vents as leave less air than this", 1e-6, 1000.0),
    "feed": Choice("word", "where the gate feeds the cavity", words=("auto", "top", "riser")),
    "vents_at": Choice(
        "places", "where the vents are to be, and no others, the file's axes, mm", -1e5, 1e5
    ),
    "max_vents": Choice("count", "vents the mould may have", 1, 200),
    "silicone": Choice("text", "silicone class or card of the shop"),
    "resin": Choice("text", "resin class or card of the shop"),
    "copies": Choice("count", "castings wanted", 1, 10000),
    "shop_temperature_c": Choice("number", "of the shop, Celsius", -20.0, 60.0),
    "brush_mm": Choice("number", "thickness of a brush coat from its own cup", 0.0, 10.0),
    "pigment_fraction": Choice("number", "of A and B together, by weight", 0.0, 0.5),
    "water_ml": Choice("number", "what the original pushes aside in water", 1e-3, 1e6),
    "place": Choice(
        "word",
        "where the part will live",
        words=("indoors", "shade", "glovebox", "console", "dashboard"),
    ),
    "start": Choice("text", "when the work starts, as 2026-12-01 08:00"),
    "paper": Choice("word", "sheet size", words=("A4", "Letter")),
    "packs": Choice("packs", "packs to buy from, instead of the shop file's"),
}
CHOICES = READING | JOB
MOST_PLACES = 200
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
    """What `mesh.load.load_part` takes besides the path."""
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


def _frozen(value):
    return tuple(_frozen(item) for item in value) if isinstance(value, list) else value


def schema() -> dict:
    """JSON Schema of the choices, for the API's document."""
    return {
        "type": "object",
        "additionalProperties": False,
        "properties": {name: _schema(choice) for name, choice in CHOICES.items()},
    }


def _schema(choice):
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
    elif choice.kind == "places":
        point = {
            "type": "array",
            "items": {"type": "number", **limits},
            "minItems": 3,
            "maxItems": 3,
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
    return {"description": choice.says, **kind}


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
    if choice.kind == "places":
        is_list = isinstance(value, list) and len(value) <= MOST_PLACES
        if not is_list or not all(_is_point(place) for place in value):
            raise _wrong(name, repr(value)[:80], f"up to {MOST_PLACES} places of three numbers")
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


def _is_point(place):
    return isinstance(place, list) and len(place) == 3 and all(map(_is_number, place))


def _wrong(name, found, need):
    return InputError(name, found=found, need=need, do="Change it, or leave it out.")
