"""Bring ``planning.schema.json`` in line with the records: ``python tests/output/renew_schema.py``.

Fields in the order of the records, one a line. What is described already stays
as it is; a new field gets the type of its annotation and ``TODO`` for a
description, which `test_record` refuses until somebody writes it. A choice of the
job is described by the help of its option.
"""

import json
import re
from dataclasses import fields, is_dataclass
from importlib import resources
from pathlib import Path
from types import NoneType
from typing import get_args, get_origin, get_type_hints

import numpy as np

from castplan import records
from castplan.choices import CHOICES
from castplan.texts.told import Told

PATH = Path(str(resources.files("castplan.files").joinpath("plan.schema.json")))
# What a name's ending says must stand in its description; the first that fits.
UNITS = {
    "_n_mm": "[N/mm]",
    "_min_per_ml": "[min/ml]",
    "_min_per_mm": "[min/mm]",
    "_g_ml": "[g/ml]",
    "_ml_min": "[ml/min]",
    "_mm": "[mm]",
    "_mm2": "[mm2]",
    "_mm3": "[mm3]",
    "_ml": "[ml]",
    "_g": "[g]",
    "_n": "[N]",
    "_s": "[s]",
    "_min": "[min]",
    "_h": "[h]",
    "_deg": "[degrees]",
    "_c": "[degrees Celsius]",
    "_mpa": "[MPa]",
    "_kpa": "[kPa]",
    "_bar": "[bar]",
    "_mb": "[MB]",
}
_PLAIN = {float: "number", int: "integer", bool: "boolean", str: "string"}


def unit_of(name: str) -> str:
    """The unit that a field's name promises, in brackets, or nothing."""
    return next((unit for ending, unit in UNITS.items() if name.endswith(ending)), "")


def key_of(kind) -> str:
    """``mould_result`` for `MouldResult`: the record's name under ``$defs``."""
    return re.sub(r"(?<!^)(?=[A-Z])", "_", kind.__name__).lower()


def fields_of(kind) -> list[str]:
    """Keys of a record in the document; of the part only name and check are kept."""
    return ["name", "check"] if kind is records.Part else [entry.name for entry in fields(kind)]


def described(kind, name: str) -> str:
    """What a new field is described by: a choice of the job by the help of its option."""
    told = CHOICES[name].help if kind is records.Job else ""
    return f"{told.rstrip('.')} {unit_of(name)}".strip() + "." if told else "TODO"


def _parts(hint):
    yield hint
    for part in get_args(hint):
        yield from _parts(part)


def records_below(kind, seen=None) -> dict:
    """Record classes reachable from a record through its fields, by key, in order."""
    seen = {} if seen is None else seen
    hints = get_type_hints(kind)
    for name in fields_of(kind):
        for part in _parts(hints[name]):
            if is_dataclass(part) and part is not Told and key_of(part) not in seen:
                seen[key_of(part)] = part
                records_below(part, seen)
    return seen


def type_of(hint) -> dict:
    """JSON Schema of an annotation."""
    arguments = get_args(hint)
    if NoneType in arguments:
        inner = type_of(next(part for part in arguments if part is not NoneType))
        if isinstance(inner.get("type"), str) and "items" not in inner:
            return {**inner, "type": [inner["type"], "null"]}
        return {"anyOf": [inner, {"type": "null"}]}
    if is_dataclass(hint):
        return {"$ref": f"#/$defs/{key_of(hint)}"}
    if get_origin(hint) is tuple:
        if Ellipsis in arguments:
            return {"type": "array", "items": type_of(arguments[0])}
        if set(arguments) == {float} and len(arguments) in (2, 3):
            return {"$ref": f"#/$defs/point{len(arguments)}"}
        items = [type_of(part) for part in arguments]
        return {"type": "array", "prefixItems": items, "items": False, "minItems": len(items)}
    return {"type": "array"} if hint is np.ndarray else {"type": _PLAIN[hint]}


def renewed(schema: dict) -> dict:
    """The schema with exactly the records' fields, in their order."""
    old = schema["$defs"]

    below = records_below(records.Plan)
    known_keys = {*below, *(name for name, entry in old.items() if "properties" not in entry)}

    def properties(kind, known):
        hints = get_type_hints(kind)
        entries = {}
        for name in fields_of(kind):
            entry = known.get(name) or {"description": described(kind, name)}
            refs = set(re.findall(r'"#/\$defs/(\w+)"', json.dumps(entry)))
            if len(entry) < 2 or not refs <= known_keys:  # new, or of a record renamed
                entry = {"description": entry["description"], **type_of(hints[name])}
            entries[name] = entry
        return entries

    def record(kind, known, first=()):
        named = {**dict(first), **properties(kind, known.get("properties", {}))}
        return {
            "description": known.get("description", "TODO"),
            "type": "object",
            "additionalProperties": False,
            "required": list(named),
            "properties": named,
        }

    plain = {name: entry for name, entry in old.items() if "properties" not in entry}
    start = [("schema", schema["properties"]["schema"])]
    return {
        **{name: schema[name] for name in ("$schema", "$id", "title")},
        **record(records.Plan, schema, start),
        "$defs": {
            **plain,
            **{key: record(kind, old.get(key, {})) for key, kind in below.items()},
        },
    }


def _lines(schema: dict, indent: str):
    """A record over several lines, one property a line."""
    for name, value in schema.items():
        if name not in ("properties", "$defs"):
            yield f"{indent}{json.dumps(name)}: {json.dumps(value)}"
            continue
        inner = []
        for key, entry in value.items():
            text = json.dumps(entry)
            if "properties" in entry:
                text = "{\n" + ",\n".join(_lines(entry, f"{indent}    ")) + f"\n{indent}  }}"
            inner.append(f"{indent}  {json.dumps(key)}: {text}")
        yield f"{indent}{json.dumps(name)}: {{\n" + ",\n".join(inner) + f"\n{indent}}}"


def as_text(schema: dict) -> str:
    """The schema as it stands in the file."""
    return "{\n" + ",\n".join(_lines(schema, "  ")) + "\n}\n"


if __name__ == "__main__":
    new = renewed(json.loads(PATH.read_text("utf-8")))
    PATH.write_text(as_text(new), encoding="utf-8", newline="\n")
    print(f"{PATH}: {as_text(new).count('TODO')} descriptions to write")
