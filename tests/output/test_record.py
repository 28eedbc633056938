"""The JSON record and its schema.

Values are invented here.
"""

import copy
import json
from dataclasses import replace

import jsonschema
import numpy as np
import pytest
from output import renew_schema
from output.plan_fixture import make_plan

from castplan import records
from castplan.files import record

SCHEMA = json.loads(renew_schema.PATH.read_text("utf-8"))
DOCUMENT = json.loads(record.plan_json(make_plan()))


def validator():
    return jsonschema.Draft202012Validator(SCHEMA)


def test_the_schema_is_one():
    # The metaschema of JSON Schema 2020-12, as the jsonschema package carries it.
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    assert SCHEMA["$schema"] == "https://json-schema.org/draft/2020-12/schema"


def test_a_plan_keeps_to_it():
    validator().validate(DOCUMENT)


def broken_documents():
    """Copies of the document, each wrong in one way."""

    def change(path, value):
        document = copy.deepcopy(DOCUMENT)
        *way, last = path
        place = document
        for key in way:
            place = place[key]
        if value is None:
            del place[last]
        else:
            place[last] = value
        return document

    return [
        change(("schema",), "castplan-plan-0"),
        change(("split", "parting", "height_mm"), "18"),
        change(("split", "parting", "height_mm"), None),
        change(("part", "vertices_mm"), []),
        change(("findings", 0, "severity"), "fatal"),
        change(("mould", "block", "low_mm"), [0.0, 0.0]),
        change(("mould", "block", "ports", 0, "kind"), "hole"),
        change(("bench", "amounts", "assumptions", 0, "basis"), "hearsay"),
        change(("bench", "schedule", "steps", 0, "number"), 1.5),
        change(("sketches", 1, "pockets", 0), [1]),
        change(("sampling", "pitch_mm"), -0.1),
    ]


@pytest.mark.parametrize("document", broken_documents())
def test_a_broken_plan_does_not(document):
    assert not validator().is_valid(document)


def objects(schema):
    """(name, object schema) of the document and of every record in it."""
    yield "plan", schema
    for name, definition in schema["$defs"].items():
        if "properties" in definition:
            yield name, definition


def test_every_key_is_described_with_its_unit():
    for name, definition in objects(SCHEMA):
        assert definition["description"] not in ("", "TODO"), name
        assert definition["additionalProperties"] is False
        assert definition["required"] == list(definition["properties"])
        for key, entry in definition["properties"].items():
            assert entry.get("description") not in (None, "", "TODO"), f"{name}.{key}"
            assert renew_schema.unit_of(key) in entry["description"], f"{name}.{key}"


def test_the_schema_knows_exactly_the_fields_of_the_records():
    below = renew_schema.records_below(records.Plan)
    assert len(below) > 15
    definitions = dict(objects(SCHEMA))
    keys = {name: list(entry["properties"]) for name, entry in definitions.items()}
    wanted = {name: renew_schema.fields_of(kind) for name, kind in below.items()}
    wanted["plan"] = ["schema", *renew_schema.fields_of(records.Plan)]
    assert keys == wanted, "run python tests/output/renew_schema.py, then describe what is new"


def test_the_schema_stands_as_it_is_renewed():
    text = renew_schema.PATH.read_text("utf-8")
    assert renew_schema.as_text(renew_schema.renewed(json.loads(text))) == text


def test_a_field_that_is_new_is_asked_for():
    schema = copy.deepcopy(SCHEMA)
    del schema["$defs"]["port"]["properties"]["label"], schema["$defs"]["peak"]
    renewed = renew_schema.renewed(schema)
    label = renewed["$defs"]["port"]["properties"]["label"]
    assert label == {"description": "TODO", "type": "string"}
    assert renewed["$defs"]["peak"]["properties"]["rise_mm"]["type"] == "number"


def test_the_same_plan_gives_the_same_bytes():
    assert record.plan_json(make_plan()) == record.plan_json(make_plan())
    assert record.plan_json(make_plan()) != record.plan_json(make_plan(copies=5))


def test_the_mesh_stays_out():
    assert set(DOCUMENT["part"]) == {"name", "check"}


def test_numbers_carry_six_digits():
    plan = make_plan()
    third = replace(plan, sampling=replace(plan.sampling, pitch_mm=1 / 3, volume_mm3=-0.0))
    document = json.loads(record.plan_json(third))
    assert document["sampling"]["pitch_mm"] == 0.333333
    assert b'"volume_mm3":0.0' in record.plan_json(third)


@pytest.mark.parametrize("value", [float("nan"), float("inf"), np.float64("nan")])
def test_a_number_that_is_none_is_a_bug(value):
    plan = make_plan()
    with pytest.raises(ValueError, match="finite"):
        record.plan_json(replace(plan, sampling=replace(plan.sampling, pitch_mm=value)))
