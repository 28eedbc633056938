"""The page's log of pours: the same lines, rules and suspects as on the command line."""

import json

import pytest
import shapes

from castplan.errors import InputError
from castplan.files.cast_file import LOG_FILE, read_log
from castplan.page import pours
from castplan.page.document import openapi
from castplan.planning import build_plan
from castplan.records import Job

GOOD = {"date": "2026-12-01", "result": "good", "shot_g": 31.6}
VOID = {
    "date": "2026-12-02",
    "result": "usable",
    "a_g": 44.7,
    "b_g": 40.3,
    "lots": ["A117"],
    "defects": [{"kind": "void", "where_mm": [-15.0, 0.0, 29.0], "told": "-15,0,29"}],
}


@pytest.fixture(scope="module")
def plan():
    body = shapes.two_towers((60, 30, 10), 16, (20, 35))
    job = Job(draw=(0.0, 1.0, 0.0), up=(0.0, 0.0, 1.0), memory_mb=0.5, n_attitudes=16)
    return build_plan(shapes.part_of(body.vertices_mm, body.faces), job)


def test_lines_are_those_of_the_command_line(tmp_path):
    pours.add_pour(tmp_path / "log", GOOD)
    pours.add_pour(tmp_path / "log", VOID)
    log = pours.withdraw(tmp_path / "log", of=1, why="wrong mould")
    assert len(log.lines) == 3 and log.withdrawn == {1}
    kept = read_log(tmp_path / "log")
    assert [line.number for line in kept.lines] == [1, 2, 3]
    assert kept.lines[1].defects[0].where_mm == (-15.0, 0.0, 29.0)
    assert (tmp_path / "log" / LOG_FILE).read_bytes().count(b"\n") == 3
    rows = pours.csv_of(tmp_path / "log").decode().splitlines()
    assert len(rows) == 4 and rows[0].startswith("line,")


def test_a_void_on_the_lower_tower_points_at_its_vent(tmp_path, plan):
    log = pours.add_pour(tmp_path / "log", VOID)
    told = pours.told_log(log, plan)
    first = told["defects"][0]["causes"][0]
    # The lower tower's roof is 10 mm long: one high point, one vent, nothing else near.
    assert "high point 2" in first["says"].lower()
    assert first["evidence"] and first["test"]
    assert told["defects"][0]["where_mm"] == [-15.0, 0.0, 29.0]
    assert "a void at -15,0,29" in told["lines"][0]["says"]
    assert told["life"][0].startswith("Mould 1: 1 of about")
    json.dumps(told, allow_nan=False)


def test_an_empty_log_says_so(tmp_path, plan):
    told = pours.told_log(pours.log_of(tmp_path / "none"), plan)
    assert (told["lines"], told["defects"], told["life"]) == ([], [], [])
    with pytest.raises(InputError, match="no line yet"):
        pours.withdraw(tmp_path / "none", of=1, why="")


@pytest.mark.parametrize(
    "told",
    [
        {},
        {"date": "2026-13-01"},
        {"date": "2026-12-01", "number": 7},
        {"date": "2026-12-01", "result": "fine"},
        {"date": "2026-12-01", "a_g": "44"},
        {"date": "2026-12-01", "defects": [{"kind": "ugly"}]},
        {"date": "2026-12-01", "defects": [{"kind": "void", "where_mm": [1, 2]}]},
        {"date": "2026-12-01", "photos": "back.jpg"},
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_logged(tmp_path, told):
    with pytest.raises(InputError):
        pours.add_pour(tmp_path / "log", told)
    assert read_log(tmp_path / "log").lines == ()


def test_the_interface_names_every_field_that_is_taken():
    pour = openapi({"sheets.pdf": "application/pdf"})["paths"]["/api/jobs/{key}/pours"]["post"]
    schema = pour["requestBody"]["content"]["application/json"]["schema"]
    assert sorted(schema["properties"]) == sorted(pours.ASKED)
