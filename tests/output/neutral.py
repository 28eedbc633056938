"""Records of which only the fields that matter are given.

The paper shows a part of what the records hold. A test of the paper gives
that part; the rest is filled with nothing: 0, False, empty, None.
"""

from dataclasses import MISSING, fields, is_dataclass, replace
from itertools import product
from types import NoneType
from typing import get_args, get_origin, get_type_hints

import numpy as np

from castplan.records import Sourced
from castplan.texts.told import UNTOLD, Told, tell_data

_PLAIN = {float: 0.0, int: 0, bool: False, str: ""}
# Arrays of every shape that a record asks for, empty where it may be.
_EMPTY = (*(np.zeros(shape) for shape in ((0,), (0, 2), (0, 3), (1, 1))), np.eye(3))


def _nothing(hint):
    """Values to try for a field of this type, in order."""
    if hint is np.ndarray:
        return _EMPTY
    if NoneType in get_args(hint):
        return (None,)
    if hint is Sourced:
        return (Sourced(value=0.0, unit="1", basis="assumed", source=tell_data("nothing")),)
    if hint is Told:
        return (UNTOLD,)
    if is_dataclass(hint):
        return (filled(hint),)
    if get_origin(hint) is tuple:
        parts = get_args(hint)
        return ((),) if Ellipsis in parts else (tuple(_nothing(part)[0] for part in parts),)
    return (_PLAIN[hint],)


def worded(value):
    """A record whose texts may be given as plain words, which no translation has."""
    if isinstance(value, tuple):
        return tuple(worded(item) for item in value)
    if not is_dataclass(value) or isinstance(value, Told):
        return value
    hints = get_type_hints(type(value))
    held = {entry.name: getattr(value, entry.name) for entry in fields(value)}
    changed = {name: worded(_text(hints[name], item)) for name, item in held.items()}
    return replace(value, **{n: item for n, item in changed.items() if item is not held[n]})


def _text(hint, value):
    """Plain words as the text that the field is for."""
    if isinstance(value, str) and Told in (hint, *get_args(hint)):
        return tell_data(value)
    if isinstance(value, tuple) and get_args(hint)[:1] == (Told,):
        return tuple(tell_data(item) if isinstance(item, str) else item for item in value)
    return value


def filled(kind, /, **values):
    """A record of `kind` with `values`, and nothing in the fields not named."""
    hints = get_type_hints(kind)
    values = {name: _text(hints[name], value) for name, value in values.items()}
    missing = [
        entry.name
        for entry in fields(kind)
        if entry.name not in values and entry.default is entry.default_factory is MISSING
    ]
    for tried in product(*(_nothing(hints[name]) for name in missing)):
        try:
            return kind(**dict(zip(missing, tried, strict=True)), **values)
        except ValueError:  # an empty array of another shape is wanted
            continue
    raise ValueError(f"{kind.__name__}: no empty value fits {missing}")
