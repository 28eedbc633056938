"""Records back from their JSON: the counterpart of `castplan.files.record`.

What a record's annotations promise is what is read: a missing key without a
default, a key too many, a value of another kind or a number that is none
refuses the whole.
"""

import math
from dataclasses import MISSING, fields, is_dataclass
from types import NoneType, UnionType
from typing import Union, get_args, get_origin, get_type_hints
from unicodedata import category

import numpy as np

from castplan.texts.told import Told, told_again

MOST = 1e15
MOST_SIGNS = 2000


def from_plain(kind, plain):
    """A record of `kind` from dicts and lists.

    Parameters
    ----------
    kind : type
        A record class, or what an annotation of one may be.
    plain : object
        As `json.loads` gives it; a record in it stays as it is.

    Returns
    -------
    object

    Raises
    ------
    ValueError
        The value is not what the annotation says.
    """
    if kind is Told:
        return _told(plain)
    if is_dataclass(kind):
        return _record(kind, plain)
    origin, inner = get_origin(kind), get_args(kind)
    if origin in (Union, UnionType):
        return _either(inner, plain)
    if origin is tuple:
        return _tuple(inner, plain)
    if kind is np.ndarray:
        return _array(_checked(plain, list))
    if kind is float:
        return float(_number(_checked(plain, int | float)))
    if kind is int:
        return _number(_checked(plain, int))
    if kind is str:
        return _text(_checked(plain, str))
    return _checked(plain, kind)


def _number(plain):
    """A number that can be one of a plan: no length, volume or count is larger."""
    # The order matters: a whole number may be too large for a float.
    if not (abs(plain) < MOST and math.isfinite(plain)):
        raise ValueError(f"{plain!r:.40} is out of reach")
    return plain


def _text(plain):
    """A text that can be shown: what a terminal obeys, or what turns a line round, is none."""
    if len(plain) > MOST_SIGNS or any(category(sign) in ("Cc", "Cf", "Cs") for sign in plain):
        raise ValueError(f"{plain!r:.40} is no text to be shown")
    return plain


def _array(plain):
    """Numbers or switches in rows of one length."""
    array = np.array(plain)
    if array.dtype.kind not in "bif" or not (np.abs(array.astype(float)) < MOST).all():
        raise ValueError(f"{plain!r:.40} are no numbers in rows")
    return array


def _record(kind, plain):
    if isinstance(plain, kind):
        return plain
    _checked(plain, dict)
    hints = get_type_hints(kind)
    known = {entry.name: entry for entry in fields(kind)}
    if extra := sorted(plain.keys() - known.keys()):
        raise ValueError(f"{kind.__name__}: {extra[0]!r} is not known")
    values = {}
    for name, entry in known.items():
        if name in plain:
            values[name] = from_plain(hints[name], plain[name])
        elif entry.default is MISSING and entry.default_factory is MISSING:
            raise ValueError(f"{kind.__name__}: {name!r} is missing")
    return kind(**values)


def _told(plain):
    """A text with its fields, known in English and with all that it names."""
    if isinstance(plain, Told):
        return plain
    _checked(plain, dict)
    if plain.keys() != {"key", "fields"}:
        raise ValueError(f"Told: found {sorted(plain)}, need key and fields")
    key, given = _checked(plain["key"], str), _checked(plain["fields"], dict)
    told = told_again(key, {name: _field(value) for name, value in given.items()})
    if len(told.fields) != len(given):
        raise ValueError(f"Told: {key} names no such field")
    return told


def _field(plain):
    if isinstance(plain, dict):
        return _told(plain)
    if isinstance(plain, list):
        return tuple(map(_field, plain))
    if isinstance(plain, str):
        return _text(plain)
    is_number = isinstance(plain, int | float) and not isinstance(plain, bool)
    return _number(plain) if is_number else plain


def _either(kinds, plain):
    """None, or the first kind that takes the value."""
    if plain is None and NoneType in kinds:
        return None
    problem = None
    for kind in kinds:
        if kind is not NoneType:
            try:
                return from_plain(kind, plain)
            except ValueError as error:
                problem = error
    raise problem


def _tuple(kinds, plain):
    _checked(plain, list)
    if len(kinds) == 2 and kinds[1] is Ellipsis:
        return tuple(from_plain(kinds[0], item) for item in plain)
    if len(kinds) != len(plain):
        raise ValueError(f"{len(plain)} values, need {len(kinds)}")
    return tuple(from_plain(kind, item) for kind, item in zip(kinds, plain, strict=True))


def _checked(value, kind):
    is_switch = isinstance(value, bool) and kind is not bool
    if is_switch or not isinstance(value, kind):
        raise ValueError(f"{value!r:.80} is no {getattr(kind, '__name__', kind)}")
    return value
