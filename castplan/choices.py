"""Every choice of the shop once: what it may be, and in which unit.

The job checks itself by this table; the options of the commands, the columns of a
batch list, the page's forms and the document of its interface take their words and
limits from it. Defaults stand in `castplan.job.Job`.
"""

import math
from dataclasses import dataclass
from numbers import Integral, Real

from castplan.errors import InputError


@dataclass(frozen=True)
class Choice:
    """One choice: `kind` is number, count, flag, word, text, way, lengths, places, spots or record.

    A way is a direction of three numbers, `lengths` are `count` of them, `places`
    points of three numbers, `spots` points with a radius; `words` are what a word may
    be. Limits are included in the range. A record checks itself.
    What a choice is, the catalogue says as ``choice.NAME``.
    """

    kind: str
    least: float | None = None
    most: float | None = None
    unit: str = ""
    words: tuple[str, ...] = ()
    count: int = 0


MOST_PLACES = 200
POINTS = {"places": 3, "spots": 4}  # numbers a point


def _mm(least=0.1, most=2000.0):
    return Choice("number", least, most, "mm")


def _word(*words):
    return Choice("word", words=words)


CHOICES = {
    "mould": _word("two-part", "open", "auto"),
    "draw": Choice("way"),
    "up": Choice("way"),
    "show_face": Choice("way"),
    "parting": _word("level", "tilted", "stepped", "following"),
    "parting_height_mm": _mm(0.0),
    "n_directions": Choice("count", 1, 100_000, "directions"),
    "draw_weights": Choice("record"),
    "pitch_mm": _mm(1e-4, 1000.0),
    "memory_mb": Choice("number", 0.01, 1e6, "MB"),
    "wall_mm": _mm(),
    "over_mm": _mm(),
    "under_mm": _mm(),
    "box": _word("rectangle", "round", "outline"),
    "box_step_mm": _mm(0.001, 100.0),
    "board_mm": _mm(),
    "kerf_mm": _mm(0.0, 100.0),
    "key_mm": _mm(1.0, 100.0),
    "key_pitch_mm": _mm(),
    "key_clearance_mm": _mm(0.0),
    "bed": _word("clay", "printed"),
    "bed_clearance_mm": _mm(0.0, 100.0),
    "printer_mm": Choice("lengths", 1.0, 1e5, "mm", count=3),
    "pot_mm": Choice("lengths", 10.0, 5000.0, "mm", count=2),
    "chamber_mm": Choice("lengths", 10.0, 5000.0, "mm", count=2),
    "scale_max_g": Choice("number", 1.0, 1e6, "g"),
    "feed": _word("auto", "top", "riser"),
    "gate_mm": _mm(1.0, 100.0),
    "cup_mm": _mm(0.0, 1000.0),
    "vent_mm": _mm(0.1, 100.0),
    "vent_min_height_mm": _mm(0.0, 1000.0),
    "vent_min_air_ml": Choice("number", 0.0, 1000.0, "ml"),
    "vent_pitch_mm": _mm(0.1, 1e5),
    "max_vents": Choice("count", 0, 200, "vents"),
    "vents_at": Choice("places", -1e5, 1e5, "mm"),
    "keep_off": Choice("spots", -1e5, 1e5, "mm"),
    "air_left_ml": Choice("number", 1e-6, 1000.0, "ml"),
    "n_attitudes": Choice("count", 1, 100_000, "directions"),
    "air_weights": Choice("record"),
    "silicone": Choice("text"),
    "resin": Choice("text"),
    "copies": Choice("count", 1, 10_000, "castings"),
    # Beyond it no card says how long a cup stays workable.
    "shop_temperature_c": Choice("number", 10.0, 35.0, "C"),
    "paper": _word("A4", "Letter"),
    "water_ml": Choice("number", 1e-3, 1e6, "ml"),
    "original_g": Choice("number", 1e-3, 1e6, "g"),
    "original_density_g_ml": Choice("number", 0.01, 30.0, "g/ml"),
    "brush_mm": _mm(0.0, 10.0),
    "pigment_fraction": Choice("number", 0.0, 0.5),
    "gauges": Choice("record"),
    "place": _word("indoors", "shade", "glovebox", "console", "dashboard"),
    "start": Choice("text"),
    "shop": Choice("record"),
}


def check(choice: Choice, value, *, what: str) -> None:
    """Refuse a value that a choice may not have.

    Parameters
    ----------
    choice : Choice
    value : object
        Lists and tuples count as the same.
    what : str
        What was told it: the option, the name of a form or of a field.

    Raises
    ------
    InputError
        One line: what was found, what is needed.
    """
    kind = choice.kind
    if kind in ("number", "count"):
        _check_number(choice, value, what)
    elif kind == "flag" and not isinstance(value, bool):
        raise _wrong(what, value, "true or false")
    elif kind == "word" and value not in choice.words:
        raise _wrong(what, value, f"one of {', '.join(choice.words)}")
    elif kind == "text" and not is_line(value):
        raise _wrong(what, value, "one line of 1 to 200 signs")
    elif kind == "way" and not _is_way(value):
        raise _wrong(what, value, "three numbers that are not all zero, a direction")
    elif kind == "lengths":
        if not _are_numbers(value, choice.count):
            raise _wrong(what, value, f"{choice.count} numbers")
        for number in value:
            _check_number(choice, number, what)
    elif kind in POINTS:
        _check_points(choice, value, what)


def is_number(value) -> bool:
    """Whether it is a finite number, and no flag."""
    is_real = isinstance(value, Real) and not isinstance(value, bool)
    # The order matters: a whole number may be too large for a float.
    return is_real and abs(value) < 1e15 and math.isfinite(value)


def is_line(value) -> bool:
    """Whether it is a line of text that can be shown."""
    return isinstance(value, str) and 0 < len(value) <= 200 and value.isprintable()


def _check_number(choice, value, what):
    is_whole = choice.kind == "count"
    if not is_number(value) or (is_whole and value != int(value)):
        raise _wrong(what, value, "a whole number" if is_whole else "a number")
    unit = f" {choice.unit}" if choice.unit else ""
    if choice.least is not None and value < choice.least:
        raise _wrong(what, value, f"at least {choice.least:g}{unit}")
    if choice.most is not None and value > choice.most:
        raise _wrong(what, value, f"at most {choice.most:g}{unit}")


def _check_points(choice, value, what):
    count = POINTS[choice.kind]
    is_list = isinstance(value, list | tuple) and len(value) <= MOST_PLACES
    if not is_list or not all(_are_numbers(place, count) for place in value):
        raise _wrong(what, value, f"up to {MOST_PLACES} places of {count} numbers")
    if choice.kind == "spots" and not all(place[3] > 0 for place in value):
        raise _wrong(what, value, "radii above 0")
    for number in (number for place in value for number in place):
        _check_number(choice, number, what)


def _are_numbers(value, count):
    if not hasattr(value, "__len__") or isinstance(value, str) or len(value) != count:
        return False
    return all(map(is_number, value))


def _is_way(value):
    return _are_numbers(value, 3) and 1e-6 < math.hypot(*value) < 1e6


def _wrong(what, value, need):
    found = f"{value:g}" if is_number(value) and not isinstance(value, Integral) else repr(value)
    return InputError(what, found=found[:80], need=need, do="Change it, or leave it out.")
