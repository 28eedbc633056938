"""Every text that the sheets print, by key, from one catalogue.

``en.toml`` beside this file holds the English; a translation is a file of the
same form. A key names a sheet or a topic and what is said there; a text has
named fields in braces. A text that counts has two forms, ``one`` and
``other``. What a translation lacks is said in English.

Unit symbols, letters of parts and ports, and names that the shop gave are no
texts: they stay as they are.
"""

import string
import tomllib
from functools import cache
from importlib import resources
from pathlib import Path

_FORMS = {"one", "other"}
_spoken: dict[str, str | dict[str, str]] = {}


@cache
def english() -> dict[str, str | dict[str, str]]:
    """The English catalogue: by key, a text or its two forms."""
    return _read(resources.files("castplan.texts").joinpath("en.toml").read_text("utf-8"))


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
    return {name for _, name, _, _ in parts if name is not None}


def use_file(path: str | Path) -> None:
    """Speak the language of a translation from now on.

    Parameters
    ----------
    path : str or pathlib.Path
        A TOML file of the form of ``en.toml``; keys may be missing.

    Raises
    ------
    OSError
        The file cannot be read.
    ValueError
        It is no such file; the message names the key.
    """
    use(_read(Path(path).read_text("utf-8")))


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
    >>> say("count.vents", n=1), say("count.vents", n=4)
    ('1 vent', '4 vents')
    """
    entry = _spoken.get(key)
    if entry is None:
        entry = english()[key]
    if isinstance(entry, dict):
        entry = entry["one" if fields["n"] == 1 else "other"]
    return entry.format_map(fields)
