"""The plan as JSON: a versioned record of everything but the mesh's own arrays.

The layout is described by ``planning.schema.json`` beside this file.
"""

import json
import math
from dataclasses import fields, is_dataclass

import numpy as np

from castplan.part.records import Part
from castplan.plan_record import Plan
from castplan.texts.told import Told

SCHEMA = "castplan-plan-2"
# Six significant digits: a micrometre on a metre-long part.
_DIGITS = 6


def plan_json(plan: Plan) -> bytes:
    """The plan as UTF-8 JSON; the same plan gives the same bytes.

    Keys stand in the order of the records, one record of the plan a line.
    Numbers carry six significant digits. Of the part only name and check are
    kept; every other record is whole.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    bytes

    Raises
    ------
    ValueError
        A number is not finite, which a stage must never let happen.
    """
    return as_bytes({"schema": SCHEMA, **plain(plan)})


def as_bytes(document: dict) -> bytes:
    """A document of plain values as it stands in the file.

    Raises
    ------
    ValueError
        A number is not finite, or a text is none.
    """
    lines = (f"{json.dumps(key)}: {_compact(value)}" for key, value in document.items())
    return ("{\n" + ",\n".join(lines) + "\n}\n").encode("utf-8")


def _compact(value) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False, separators=(",", ":"))


def plain(value):
    """Records to dicts, arrays and tuples to lists, floats rounded to six digits."""
    # Most values are numbers of arrays: these are asked for first.
    if isinstance(value, float):
        return _rounded(value)
    if isinstance(value, np.ndarray):
        return plain(value.tolist())
    if isinstance(value, tuple | list):
        return [plain(item) for item in value]
    if isinstance(value, np.generic):
        return plain(value.item())
    if isinstance(value, Part):
        return {"name": value.name, "check": plain(value.check)}
    if isinstance(value, Told):
        return {"key": value.key, "fields": plain(dict(value.fields))}
    if isinstance(value, dict):
        return {name: plain(item) for name, item in value.items()}
    if is_dataclass(value):
        return {entry.name: plain(getattr(value, entry.name)) for entry in fields(value)}
    return value


def _rounded(value: float) -> float:
    if not math.isfinite(value):
        raise ValueError(f"plan: a number is {value}, need a finite one")
    return float(f"{value:.{_DIGITS}g}") + 0.0  # adding 0.0 turns -0.0 into 0.0
