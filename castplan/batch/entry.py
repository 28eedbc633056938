"""What a result folder holds of one part, and its record on the way in.

What is read goes into sums, pictures and sentences: every value is held against the form
that `digest.digest_of` gives it before any of it is used.
"""

import json
import math
from dataclasses import dataclass, fields

from castplan.batch.digest import VERDICTS
from castplan.batch.outcome import PLANNED, STATUSES

# A hundred times the record of a part with many pockets: more is none.
MOST_BYTES = 20_000_000
_MOST = 1e15
_PATH_SIGNS = "MLZ0123456789. -"


@dataclass(frozen=True, kw_only=True)
class Entry:
    """What a result folder holds of one part."""

    name: str
    file: str
    key: str
    mesh_sha256: str
    choices: dict
    version: str
    status: str
    error: str
    seconds: float
    limit_s: float
    memory_mb: float
    digest: dict | None
    texts_sha256: str = ""  # of the translation that the folder is written in

    @property
    def is_planned(self) -> bool:
        """Whether there is a plan."""
        return self.status == PLANNED


def read_entry(path) -> Entry:
    """The record of one part, as `store.Store.keep` wrote it.

    Parameters
    ----------
    path : pathlib.Path
        ``NAME.json``.

    Returns
    -------
    Entry

    Raises
    ------
    OSError
        There is none.
    ValueError
        It is none of this form, or of another part.
    """
    # A pipe of this name would be waited for.
    if not path.is_file():
        raise FileNotFoundError(path)
    if path.stat().st_size > MOST_BYTES:
        raise ValueError("it is too large")
    try:
        told = json.loads(path.read_bytes(), parse_constant=_no_number)
    except RecursionError as error:
        raise ValueError("it is too deep") from error
    missing = {each.name for each in fields(Entry)} - {"texts_sha256"}
    if not isinstance(told, dict) or not missing <= told.keys() <= missing | {"texts_sha256"}:
        raise ValueError("it has other fields")
    for name, kind in _ENTRY.items():
        if name in told:
            kind(told[name], name)
    _DIGEST(told["digest"], "digest") if told["status"] == PLANNED else _nothing(told["digest"])
    if told["name"] != path.name.removesuffix(".json"):
        raise ValueError("it is of another part")
    return Entry(**told)


def _no_number(word):
    raise ValueError(f"{word} is no number")


def _wrong(where):
    return ValueError(f"{where} is none of its kind")


def _nothing(value):
    if value is not None:
        raise _wrong("digest")


def _text(value, where):
    if not isinstance(value, str):
        raise _wrong(where)
    # Half of a sign cannot be written again.
    value.encode()


def _number(value, where):
    is_number = isinstance(value, int | float) and not isinstance(value, bool)
    if not is_number or not abs(value) < _MOST or not math.isfinite(value):
        raise _wrong(where)


def _count(value, where):
    _number(value, where)
    if not isinstance(value, int) or value < 0:
        raise _wrong(where)


def _some(value, where):
    """A count of what is made: each is gone through."""
    _count(value, where)
    if not 0 < value <= 100_000:
        raise _wrong(where)


def _packs(value, where):
    if not isinstance(value, list) or len(value) != 2:
        raise _wrong(where)
    _text(value[0], where)
    _count(value[1], where)


def _switch(value, where):
    if not isinstance(value, bool):
        raise _wrong(where)


def _path(value, where):
    """Path data of a picture: it goes into the page as it is."""
    _text(value, where)
    if not set(value) <= set(_PATH_SIGNS):
        raise _wrong(where)


def _choices(value, where):
    if not isinstance(value, dict):
        raise _wrong(where)


def _one_of(*words):
    def check(value, where):
        if value not in words:
            raise _wrong(where)

    return check


def _or_none(kind):
    def check(value, where):
        if value is not None:
            kind(value, where)

    return check


def _row(kind, length=None):
    def check(value, where):
        if not isinstance(value, list) or length not in (None, len(value)):
            raise _wrong(where)
        for each in value:
            kind(each, where)

    return check


def _record(**kinds):
    def check(value, where):
        if not isinstance(value, dict) or value.keys() != kinds.keys():
            raise _wrong(where)
        for name, kind in kinds.items():
            kind(value[name], name)

    return check


_ENTRY = {
    **dict.fromkeys(
        ("name", "file", "key", "mesh_sha256", "version", "error", "texts_sha256"), _text
    ),
    **dict.fromkeys(("seconds", "limit_s", "memory_mb"), _number),
    "choices": _choices,
    "status": _one_of(*STATUSES),
}
_DIGEST = _record(
    part=_text,
    size_mm=_row(_number, 3),
    part_ml=_number,
    draw=_row(_number, 3),
    split=_one_of("level", "tilted", "stepped", "following"),
    trapped_ml=_number,
    verdict=_one_of(*VERDICTS),
    pockets=_row(
        _record(
            number=_count,
            # None of the rubber's: sealed, so that nothing pulls it.
            verdict=_one_of(*VERDICTS, "none"),
            needs_fraction=_number,
            allowed_fraction=_number,
        )
    ),
    up=_row(_number, 3),
    n_vents=_count,
    air_left_ml=_number,
    silicone=_text,
    silicone_g=_number,
    resin=_text,
    resin_g=_number,
    copies=_some,
    n_moulds=_some,
    buy=_row(_record(card=_text, need_a_g=_number, need_b_g=_number, packs=_row(_packs))),
    material_cost=_or_none(_number),
    cost=_or_none(_number),
    currency=_text,
    hands_on_min=_number,
    worst=_row(_record(severity=_one_of("note", "warn", "stop"), message=_text, do=_text)),
    findings=_row(_text),
    pot=_or_none(
        _record(
            inner_mm=_row(_number, 2),
            is_fitting=_switch,
            way=_text,
            need_mm=_row(_number, 2),
            base_mm=_row(_number, 2),
            height_mm=_number,
            resin_g=_number,
            filler=_text,
            filler_fraction=_number,
            largest_cup_g=_or_none(_number),
        )
    ),
    says=_row(_text),
    picture=_record(width=_count, height=_count, outline=_path, lines=_path, pockets=_path),
)
