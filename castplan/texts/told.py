"""Sentences as records hold them: the key of a text and its fields, said only when shown.

A record made in one language is the same record in any other, and what is shown
is said in the language that is spoken then. Outputs format a `Told` like a
string; it has no methods of one, so that no code can look into the sentence.
"""

from dataclasses import dataclass
from functools import cache

from castplan.texts import DATA, OPTION, english, fields_of, say, say_data

# As many digits as a plan keeps in its file: read back, a text says the same number.
_DIGITS = 6


@dataclass(frozen=True, slots=True)
class Told:
    """One text of the catalogue with its fields; the empty one says nothing.

    Two are equal where they would say the same in every language.

    Examples
    --------
    >>> told = tell("foot.page", page=3, pages=28)
    >>> str(told), f"{told}.", bool(told), bool(UNTOLD)
    ('page 3 of 28', 'page 3 of 28.', True, False)
    """

    key: str
    fields: tuple[tuple[str, object], ...] = ()

    def __str__(self) -> str:
        if self.key.startswith(f"{DATA}."):
            return say_data(self.key.removeprefix(f"{DATA}."))
        if not self.key:
            return ""
        return say(self.key, **{name: _shown(value) for name, value in self.fields})

    def __format__(self, spec: str) -> str:
        return format(str(self), spec)

    def __bool__(self) -> bool:
        return bool(self.key)


UNTOLD = Told("")


class _Several(tuple):
    """Items of a field, joined by what stands behind its colon in the text."""

    def __format__(self, spec):
        return spec.join(map(str, self))


def _shown(value):
    return _Several(_shown(item) for item in value) if isinstance(value, tuple) else value


@cache
def _fields_of(key):
    entry = english()[key]
    counted = {"n"} if isinstance(entry, dict) else set()
    return sorted({name for name in fields_of(entry) if not name.startswith(OPTION)} | counted)


def tell(key: str, /, **fields) -> Told:
    """A text with its fields, to be said later.

    Parameters
    ----------
    key : str
    **fields
        As the text names them, each a str, int, float or `Told`, or a tuple or list
        of these; what the text does not name is left out. Strings are numbers,
        letters, codes and names that read the same in every language. `n` chooses
        between the two forms of one that counts.

    Raises
    ------
    KeyError
        There is no such text, or a field of it is missing.
    TypeError
        A field is of another kind.

    Examples
    --------
    >>> str(tell("count.vent", n=4, number="4", colour="red"))
    '4 vents'
    """
    return Told(key, tuple((name, _kept(fields[name])) for name in _fields_of(key)))


def tell_data(english_text: str) -> Told:
    """What a material file says, to be said later; what none says stays as it is.

    Examples
    --------
    >>> str(tell_data("acrylic sheet"))
    'acrylic sheet'
    """
    return Told(f"{DATA}.{english_text}") if english_text else UNTOLD


def told_again(key: str, fields: dict) -> Told:
    """What was written down, if there still is such a text.

    Raises
    ------
    KeyError
        There is none, or a field of it is missing.
    TypeError
        A field is no text and no number.
    """
    if not key or key.startswith(f"{DATA}."):
        return Told(key)
    return tell(key, **fields)


def together(parts) -> Told:
    """Sentences one behind the other; empty ones drop out."""
    return _joined("joined.sentences", parts)


def clauses(parts) -> Told:
    """Parts of one sentence, with semicolons."""
    return _joined("joined.clauses", parts)


def in_a_row(parts) -> Told:
    """Things that are listed, with commas."""
    return _joined("joined.row", parts)


def _joined(key, parts):
    kept = tuple(part for part in parts if part)
    if len(kept) == 1 and isinstance(kept[0], Told):
        return kept[0]
    return tell(key, all=kept) if kept else UNTOLD


def _kept(value):
    if isinstance(value, Told | str):
        return value
    if isinstance(value, tuple | list):
        return tuple(map(_kept, value))
    if hasattr(value, "item"):  # a number of an array
        value = value.item()
    if isinstance(value, int):
        return value
    if isinstance(value, float):
        return float(f"{value:.{_DIGITS}g}") + 0.0  # adding 0.0 turns -0.0 into 0.0
    raise TypeError(f"a field is {value!r}, need text, number, or several of them")
