"""Every text that castplan puts on paper and screen, by key, from one catalogue.

The folder ``en`` beside this file holds the English, one file a topic; a
translation is one file of the same form, all topics in it. A key names a topic
and what is said there; a text has named fields in braces. A text that counts
has two forms, ``one`` and ``other``. What a translation lacks is said in English.

The words of the material files (cards, cautions, what meets what) stay where
their numbers stand; a translation gives them in its table ``data``, by the
English text. What the shop itself wrote is in no translation and stays as it is.

Unit symbols, letters of parts and ports, and names that the shop gave are no
texts.
"""

import json
import re
import string
import tomllib
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache
from importlib import resources
from pathlib import Path

from castplan import ordinary

DATA = "data"
OPTION = "--"  # a field so named is an option of the command
DATA_FILES = ("cards.toml", "cautions.toml", "chemistries.toml", "compat.toml")
# Entries of the material files that are codes, not texts.
DATA_CODES = {"kind", "chemistry", "basis", "verdict", "unit", "hazards", "h_codes", "steps"}
_FORMS = {"one", "other"}
_HEAD = """
# The texts of castplan. Translate what stands right of the equals signs, save
# the file as texts/LANGUAGE.toml in your user folder, and choose it with
# --language LANGUAGE or CASTPLAN_LANGUAGE. What you leave out stays English.
# Fields in braces keep their names and may change places. Two forms, "one" and
# "other", are chosen by how many there are. The table "data" holds the words of
# cards, cautions and the list of what meets what, by the English.
"""
_spoken: dict[str, str | dict[str, str]] = {}


@cache
def english() -> dict[str, str | dict[str, str]]:
    """The English catalogue: by key, a text or its two forms."""
    files = sorted(resources.files("castplan.texts").joinpath("en").iterdir(), key=str)
    # As one file: TOML lets no table stand in two of them.
    return _read("\n".join(path.read_text("utf-8") for path in files))


@cache
def data_words() -> frozenset[str]:
    """What the material files say in English."""
    folder = resources.files("castplan.materials")
    read = (tomllib.loads(folder.joinpath(name).read_text("utf-8")) for name in DATA_FILES)
    return frozenset(word for entries in read for word in _words_in(entries))


def _words_in(value):
    if isinstance(value, str):
        yield value
    elif isinstance(value, list):
        for item in value:
            yield from _words_in(item)
    elif isinstance(value, dict):
        for name, item in value.items():
            if name not in DATA_CODES:
                yield from _words_in(item)


def _read(toml: str) -> dict[str, str | dict[str, str]]:
    found = {}
    for table, entries in tomllib.loads(toml).items():
        if not isinstance(entries, dict):
            raise ValueError(f"{table}: a text stands in a table")
        found |= {f"{table}.{name}": text for name, text in entries.items()}
    return found


def fields_of(entry: str | dict[str, str]) -> set[str]:
    """Names of the fields of a text, or of both its forms.

    Raises
    ------
    ValueError
        A brace is not closed.
    """
    forms = entry.values() if isinstance(entry, dict) else (entry,)
    parts = (part for form in forms for part in string.Formatter().parse(form))
    found = {(name, spec) for _, name, spec, _ in parts if name is not None}
    # What stands behind a field's colon may hold fields of its own.
    return {name for name, _ in found}.union(*(fields_of(spec) for _, spec in found))


def use_file(path: str | Path) -> None:
    """Speak the language of a translation from now on.

    Parameters
    ----------
    path : str or pathlib.Path
        A TOML file of the form of those in ``en``; keys may be missing.

    Raises
    ------
    OSError
        The file cannot be read.
    ValueError
        It is no such file; the message names the key.
    """
    use(_read(ordinary.read_text(path)))


def use(catalogue: dict[str, str | dict[str, str]]) -> None:
    """Speak by this catalogue from now on; an empty one is English again.

    Parameters
    ----------
    catalogue : dict

    Raises
    ------
    ValueError
        A key is unknown, or a text has other fields or forms than the English.
    """
    for key, entry in catalogue.items():
        if key.startswith(f"{DATA}."):
            _check_data(key, entry)
            continue
        known = english().get(key)
        if known is None:
            raise ValueError(f"{key}: there is no such text")
        if not isinstance(entry, str | dict) or isinstance(entry, dict) != isinstance(known, dict):
            raise ValueError(f"{key}: one text or two forms, as in English")
        if isinstance(entry, dict) and set(entry) != _FORMS:
            raise ValueError(f"{key}: its forms are one and other")
        unknown = fields_of(entry) - fields_of(known)
        if unknown:
            raise ValueError(f"{key}: there is no field {min(unknown)!r}")
    global _spoken
    _spoken = dict(catalogue)


def _check_data(key, entry):
    word = key.removeprefix(f"{DATA}.")
    if word not in data_words():
        raise ValueError(f"{key}: no material file says so")
    if not isinstance(entry, str):
        raise ValueError(f"{key}: one text")


def spoken() -> dict[str, str | dict[str, str]]:
    """The translation that is spoken now; empty for English."""
    return dict(_spoken)


def say_data(english_text: str) -> str:
    """What a material file says, in the language that is spoken.

    Examples
    --------
    >>> say_data("acrylic sheet")
    'acrylic sheet'
    """
    return _spoken.get(f"{DATA}.{english_text}", english_text)


def entry_of(key: str) -> str | dict[str, str]:
    """A text as it is spoken now, its fields still in braces, or its two forms."""
    return _spoken.get(key, english()[key])


def say(key: str, /, **fields) -> str:
    """A text with its fields filled in.

    Parameters
    ----------
    key : str
    **fields
        As the text names them. `n` chooses between the two forms of one that counts.

    Returns
    -------
    str

    Examples
    --------
    >>> say("foot.page", page=3, pages=28)
    'page 3 of 28'
    >>> say("count.vent", n=1, number="1"), say("count.vent", n=4, number="4")
    ('1 vent', '4 vents')
    """
    entry = entry_of(key)
    if isinstance(entry, dict):
        entry = entry["one" if fields["n"] == 1 else "other"]
    return entry.format_map(_Fields(fields))


class _Fields(dict):
    """Fields of a text; an option is named by whoever shows the text."""

    def __missing__(self, name):
        if name.startswith(OPTION):
            return _Option(name)
        raise KeyError(name)


class _Option(str):
    __slots__ = ()

    def __format__(self, value):
        return _naming.get()(str(self), value)


def _as_typed(option, value):
    return option + value


_naming = ContextVar("naming", default=_as_typed)


@contextmanager
def options_named(name):
    """Name options of the command within texts in another way.

    A text writes an option as a field, ``{--up}``, or with its value,
    ``{--up:=0,0,1}``; the command says it as it is typed.

    Parameters
    ----------
    name : callable
        Takes the option and what stands behind its colon, or "", and gives the words.
    """
    before = _naming.set(name)
    try:
        yield
    finally:
        _naming.reset(before)


def code_key(code: str) -> str:
    """A code as it stands in a key: ``may tear`` as ``may_tear``."""
    return re.sub(r"[^a-z0-9]+", "_", code.lower()).strip("_")


def whole_catalogue() -> str:
    """Every text as it is spoken now, as the TOML file that a translation is.

    Returns
    -------
    str
        English where the language that is spoken lacks a text.
    """
    lines = [_HEAD.rstrip()]
    table = None
    for key in english():
        topic, name = key.split(".", 1)
        if topic != table:
            lines += ["", f"[{topic}]"]
            table = topic
        lines.append(f"{name} = {_toml(entry_of(key))}")
    lines += ["", f"[{DATA}]"]
    lines += [f"{_toml(word)} = {_toml(say_data(word))}" for word in sorted(data_words())]
    return "\n".join(lines) + "\n"


def _toml(entry):
    if isinstance(entry, dict):
        return "{ " + ", ".join(f"{form} = {_toml(text)}" for form, text in entry.items()) + " }"
    return json.dumps(entry, ensure_ascii=False)
