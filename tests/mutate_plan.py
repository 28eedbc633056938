"""Ways to damage a plan folder: its record, its mesh, its log of pours.

A recipe is a list of (kind, place, amount) with place and amount from 0 to 1, as in
`mutate`, so that the same recipe damages any folder.
"""

import io
import json
import math
import zipfile

import mutate
import numpy as np

RECORD, MESH, LOG = "plan.json", "part.npz", "casts.jsonl"
_NUMBERS = (
    math.nan,
    math.inf,
    -math.inf,
    1e308,
    -1e308,
    1e18,
    -1e18,
    10**400,
    2**31,
    99_999,
    1e5,
    -1,
    -0.5,
    0,
    1,
    7,
    1e-300,
)
_OTHERS = (
    None,
    True,
    "",
    "12",
    "no such word",
    "x" * 10_000,
    [],
    {},
    [[]],
    [math.nan],
    "\u202e=1+1",
)


def _pick(values, share):
    return values[min(int(share * len(values)), len(values) - 1)]


def _leaves(value, is_wanted, way=()):
    """Places of values in a document, as holder and key."""
    items = value.items() if isinstance(value, dict) else enumerate(value)
    for key, inner in items:
        if is_wanted(inner):
            yield value, key
        if isinstance(inner, dict | list):
            yield from _leaves(inner, is_wanted)


def _is_number(value):
    return isinstance(value, int | float) and not isinstance(value, bool)


def _edited(files, place, is_wanted, change):
    """The record with one value changed. Records are drawn before points of long lists."""
    document = json.loads(files[RECORD])
    top = _pick(sorted(document), place)
    spread = place * len(document) % 1
    inside = document[top]
    if not isinstance(inside, dict | list):
        if not is_wanted(inside):
            return files
        holder, key = document, top
    else:
        found = list(_leaves(inside, is_wanted))
        # Half of all hits outside of the long lists of points.
        single = [hit for hit in found if isinstance(hit[0], dict)]
        if single and spread < 0.7:
            found, spread = single, spread / 0.7
        if not found:
            return files
        holder, key = _pick(found, spread)
    change(holder, key)
    return files | {RECORD: json.dumps(document).encode()}


def _number(files, place, amount):
    def change(holder, key):
        holder[key] = _pick(_NUMBERS, amount)

    return _edited(files, place, _is_number, change)


def _scaled(files, place, amount):
    """A number made larger or smaller, or its sign turned."""

    def change(holder, key):
        old = holder[key]
        if _is_number(old):
            new = old * _pick((-1, 0.5, 2, 10, 1000, 1e6, -1000), amount)
            holder[key] = int(new) if isinstance(old, int) else new

    return _edited(files, place, _is_number, change)


def _word(files, place, amount):
    def change(holder, key):
        holder[key] = _pick(_OTHERS, amount)

    return _edited(files, place, lambda value: isinstance(value, str), change)


def _anything(files, place, amount):
    def change(holder, key):
        holder[key] = _pick(_OTHERS + _NUMBERS, amount)

    return _edited(files, place, lambda value: True, change)


def _gone(files, place, amount):
    def change(holder, key):
        del holder[key]

    return _edited(files, place, lambda value: True, change)


def _emptied(files, place, amount):
    def change(holder, key):
        holder[key] = holder[key][: int(amount * len(holder[key]))]

    return _edited(files, place, lambda value: isinstance(value, list), change)


def _twice(files, place, amount):
    def change(holder, key):
        holder[key] = holder[key] * (1 + int(amount * 3))

    return _edited(files, place, lambda value: isinstance(value, list), change)


def _bytes_of(name):
    kinds = ("truncate", "flip", "drop", "repeat", "number", "text")

    def damage(files, place, amount):
        kind = mutate.KINDS[_pick(kinds, amount)]
        return files | {name: kind(files[name], place, amount * len(kinds) % 1, files)}

    return damage


def _deep(files, place, amount):
    depth = 10 + int(amount * 200_000)
    return files | {RECORD: b'{"schema": ' + b"[" * depth + b"]" * depth + b"}"}


def _foreign(files, place, amount):
    texts = (
        b"",
        b"{}",
        b"[]",
        b"null",
        b"5",
        b'"plan"',
        b'{"schema": "castplan-plan-2"}',
        b'{"schema": "castplan-plan-1", "part": {}}',
        b'{"schema": "another-7"}',
        b'{"schema": []}',
        b"\xff\xfe{\x00}\x00",
        files[MESH],
    )
    return files | {RECORD: _pick(texts, amount)}


def _missing(files, place, amount):
    name = _pick((RECORD, MESH), amount)
    return {other: data for other, data in files.items() if other != name}


def _packed(arrays, members=()):
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, array in arrays.items():
            inner = io.BytesIO()
            np.lib.format.write_array(inner, np.asanyarray(array), allow_pickle=True)
            archive.writestr(f"{name}.npy", inner.getvalue())
        for name, data in members:
            archive.writestr(name, data)
    return out.getvalue()


def _arrays_of(files):
    with np.load(io.BytesIO(files[MESH])) as stored:
        return {name: stored[name].copy() for name in stored.files}


def _index(files, place, amount):
    """A corner that is no vertex."""
    arrays = _arrays_of(files)
    name = "faces" if place < 0.8 else "cap_faces"
    values = arrays[name].astype(np.int64).reshape(-1, 3)
    if not len(values):
        values = np.zeros((1, 3), np.int64)
    n = len(arrays["vertices_mm"])
    new = _pick((n, n + 1, -1, -n - 1, 10**6, 2**31 - 1, 2**31, 2**40, -(2**62), 10**8), amount)
    values.flat[int(place * values.size)] = new
    kind = np.int64 if abs(new) >= 2**31 else np.int32
    return files | {MESH: _packed(arrays | {name: values.astype(kind)})}


def _point(files, place, amount):
    arrays = _arrays_of(files)
    points = arrays["vertices_mm"].copy()
    new = _pick((math.nan, math.inf, 1e308, -1e308, 1e30, 1e12, 1e7, -1e5, 0.0, 1e-300), amount)
    points.flat[int(place * points.size)] = new
    return files | {MESH: _packed(arrays | {"vertices_mm": points})}


def _shape(files, place, amount):
    arrays = _arrays_of(files)
    name = _pick(tuple(arrays), place)
    old = arrays[name]
    new = _pick(
        (
            old.ravel(),
            old[:0],
            old[:-1],
            old.T,
            old[None],
            np.float64(3.0),
            old.astype(np.complex128),
            old.astype(str),
            old.astype(object),
            old.astype(bool),
            old.astype(">f8"),
            old.astype(np.float16),
            old.astype([("x", float)]) if old.size else old.ravel(),
            np.full(old.shape, np.nan),
            np.zeros((0, 0)),
            np.zeros((3, 0), dtype=np.int64),
            np.zeros(old.shape, dtype="M8[s]"),
            np.concatenate([old, old]),
        ),
        amount,
    )
    return files | {MESH: _packed(arrays | {name: new})}


def _member(files, place, amount):
    """A member that is missing, twice there, no array, or larger than it can be."""
    arrays = _arrays_of(files)
    name = _pick(tuple(arrays), place)
    rest = {other: array for other, array in arrays.items() if other != name}
    head = io.BytesIO()
    most = int(10 ** (3 + 15 * (amount * 6 % 1)))
    np.lib.format.write_array_header_1_0(
        head, {"descr": "<f8", "fortran_order": False, "shape": (most, 3)}
    )
    extra = (
        (),
        ((f"{name}.npy", b""),),
        ((f"{name}.npy", b"no array"),),
        ((f"{name}.npy", head.getvalue()),),
        ((f"{name}.npy", head.getvalue() + bytes(int(6e7 * place))),),
        ((f"../{name}.npy", b"x"),),
    )
    return files | {MESH: _packed(rest, _pick(extra, amount))}


KINDS = {
    "number": _number,
    "scaled": _scaled,
    "word": _word,
    "anything": _anything,
    "gone": _gone,
    "emptied": _emptied,
    "twice": _twice,
    "record_bytes": _bytes_of(RECORD),
    "mesh_bytes": _bytes_of(MESH),
    "log_bytes": _bytes_of(LOG),
    "deep": _deep,
    "foreign": _foreign,
    "missing": _missing,
    "index": _index,
    "point": _point,
    "shape": _shape,
    "member": _member,
}


def damage(files: dict[str, bytes], recipe) -> dict[str, bytes]:
    """Apply a recipe of kinds from `KINDS` to the files of a folder.

    What is beyond reading after the first damage takes no second one.
    """
    for number, (kind, place, amount) in enumerate(recipe):
        try:
            files = KINDS[kind](files, place, amount)
        except Exception:
            if not number:
                raise
    return files
