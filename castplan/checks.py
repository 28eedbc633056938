"""What a choice of the shop can be, and the refusal of what it may not hold."""

import math
from dataclasses import dataclass
from numbers import Integral, Real

from castplan.errors import InputError

MOST_PLACES = 200
POINTS = {"places": 3, "spots": 4}  # numbers a point


@dataclass(frozen=True)
class Choice:
    """One choice: `kind` is number, count, flag, word, text, way, lengths, places, spots or record.

    A way is a direction of three numbers, `lengths` are `count` of them, `places`
    points of three numbers, `spots` points with a radius; `words` are what a word may
    be. Limits are included in the range. A record checks itself.

    `option` is the command's, without its dashes, `typed` how its value is shown there
    where kind and unit do not say it, `help` what is said of it, before its default.
    `card` is the page's card that has a control for it; a number, a count or a word gets
    one of its own accord. What the page offers without a control is `is_on_page`. Its
    name there the catalogue says as ``choice.NAME``, a label of its control's own as
    ``page_control.NAME``.
    """

    kind: str
    least: float | None = None
    most: float | None = None
    unit: str = ""
    words: tuple[str, ...] = ()
    count: int = 0
    option: str = ""
    typed: str = ""
    help: str = ""
    card: str = ""
    is_on_page: bool = False

    @property
    def is_offered(self) -> bool:
        """Whether the page and its interface take it."""
        return self.is_on_page or bool(self.card)


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


def is_line(value, *, most: int = 200) -> bool:
    """Whether it is a line of text that can be shown, of `most` signs at most."""
    return isinstance(value, str) and 0 < len(value) <= most and value.isprintable()


def plain_line(text: str, *, most: int = 200) -> str:
    """A name as one line that can be shown anywhere, of `most` signs at most.

    What is not shown, or turns round what stands beside it, becomes a space.

    Parameters
    ----------
    text : str
    most : int

    Returns
    -------
    str
        Empty where nothing of it can be shown.
    """
    kept = "".join(sign if sign.isprintable() else " " for sign in text[: 10 * most])
    return " ".join(kept.split())[:most].strip()


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
