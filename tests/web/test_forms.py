"""The page's database in every form that it has had: opened, brought up, nothing lost."""

import json
import sqlite3
from contextlib import closing

import pytest

from castplan.errors import ResourceError
from castplan.page import forms
from castplan.page.store import Store

# The tables as the castplan of each form made them, word for word. A form that ends gets
# its tables here before `forms.STEPS` gets another step.
AS_MADE = {
    1: """
CREATE TABLE IF NOT EXISTS jobs (
    key TEXT PRIMARY KEY, name TEXT NOT NULL, mesh TEXT NOT NULL, suffix TEXT NOT NULL,
    made REAL NOT NULL, changed REAL NOT NULL, at INTEGER NOT NULL,
    is_archived INTEGER NOT NULL DEFAULT 0
);
CREATE TABLE IF NOT EXISTS versions (
    job TEXT NOT NULL REFERENCES jobs(key) ON DELETE CASCADE, number INTEGER NOT NULL,
    choices TEXT NOT NULL, what TEXT NOT NULL, PRIMARY KEY (job, number)
);
CREATE TABLE IF NOT EXISTS marks (
    job TEXT NOT NULL REFERENCES jobs(key) ON DELETE CASCADE, name TEXT NOT NULL,
    value TEXT NOT NULL, PRIMARY KEY (job, name)
);
""",
    2: """
CREATE TABLE jobs (
    key TEXT PRIMARY KEY, name TEXT NOT NULL, mesh TEXT NOT NULL, suffix TEXT NOT NULL,
    made REAL NOT NULL, changed REAL NOT NULL, at INTEGER NOT NULL,
    is_archived INTEGER NOT NULL DEFAULT 0
, deleted REAL);
CREATE TABLE versions (
    job TEXT NOT NULL REFERENCES jobs(key) ON DELETE CASCADE, number INTEGER NOT NULL,
    choices TEXT NOT NULL, what TEXT NOT NULL, PRIMARY KEY (job, number)
);
CREATE TABLE marks (
    job TEXT NOT NULL REFERENCES jobs(key) ON DELETE CASCADE, name TEXT NOT NULL,
    value TEXT NOT NULL, PRIMARY KEY (job, name)
);
CREATE TABLE answers (
    job TEXT PRIMARY KEY REFERENCES jobs(key) ON DELETE CASCADE, at INTEGER NOT NULL,
    told TEXT NOT NULL
);
""",
}
CHOICES = ({"units": "mm"}, {"copies": 3, "units": "mm"}, {"copies": 3, "up": [0.0, 0.5, 1.0]})


def path_of(folder):
    return folder / "jobs" / "jobs.sqlite3"


@pytest.fixture(params=sorted(AS_MADE))
def folder(request, tmp_path):
    """A folder with a database of that form: two jobs, three versions, a mark."""
    path_of(tmp_path).parent.mkdir()
    with closing(sqlite3.connect(path_of(tmp_path))) as base:
        base.executescript(AS_MADE[request.param])
        for key, name, at, is_archived in (("a1", "catch", 2, 0), ("b2", "rail", 1, 1)):
            base.execute(
                "INSERT INTO jobs (key, name, mesh, suffix, made, changed, at, is_archived)"
                " VALUES (?, ?, ?, 'stl', 1.5, 2.5, ?, ?)",
                (key, name, "0" * 64, at, is_archived),
            )
        for job, number, choices in (("a1", 1, 0), ("a1", 2, 1), ("a1", 3, 2), ("b2", 1, 0)):
            base.execute(
                "INSERT INTO versions (job, number, choices, what) VALUES (?, ?, ?, ?)",
                (job, number, json.dumps(CHOICES[choices]), f"change {number}"),
            )
        base.execute("INSERT INTO marks (job, name, value) VALUES ('a1', 'step 4', 'true')")
        base.execute(f"PRAGMA user_version={request.param}")
        base.commit()
    return tmp_path


def form_on_disk(folder):
    with closing(sqlite3.connect(path_of(folder))) as base:
        return forms.form_of(base)


def read(folder):
    """Both jobs as the store gives them."""
    with closing(Store(folder / "jobs")) as store:
        return store.get("a1"), store.get("b2"), store.versions("a1")


def check(jobs):
    catch, rail, versions = jobs
    assert (catch.name, catch.at, catch.first, catch.last) == ("catch", 2, 1, 3)
    assert (catch.made_s, catch.changed_s, catch.mesh, catch.suffix) == (1.5, 2.5, "0" * 64, "stl")
    assert (catch.choices, catch.what, catch.next_what) == (CHOICES[1], "change 2", "change 3")
    assert catch.marks == {"step 4": True}
    assert [choices for _, choices, _ in versions] == list(CHOICES)
    assert (rail.name, rail.is_archived, rail.choices) == ("rail", True, CHOICES[0])


def test_every_form_that_was_is_held_here():
    assert set(AS_MADE) == set(range(1, len(forms.STEPS) + 1))


def test_a_new_store_has_the_tables_of_the_last_form(tmp_path):
    Store(tmp_path / "jobs").close()
    assert form_on_disk(tmp_path) == len(forms.STEPS)
    shown = "SELECT name, sql FROM sqlite_master WHERE type = 'table' ORDER BY name"
    with closing(sqlite3.connect(path_of(tmp_path))) as base:
        found = {name: " ".join(sql.split()) for name, sql in base.execute(shown)}
    with closing(sqlite3.connect(":memory:")) as base:
        base.executescript(AS_MADE[len(forms.STEPS)])
        made = {name: " ".join(sql.split()) for name, sql in base.execute(shown)}
    assert found == made


def test_an_earlier_form_is_opened_and_nothing_is_lost(folder):
    check(read(folder))
    assert form_on_disk(folder) == len(forms.STEPS)
    check(read(folder))  # and once more, as it is now


def test_a_step_is_done_once_and_keeps_what_is_there(folder, monkeypatch):
    add = ("ALTER TABLE marks ADD COLUMN colour TEXT NOT NULL DEFAULT 'blue'",)
    monkeypatch.setattr(forms, "STEPS", (*forms.STEPS, add))
    for _ in range(2):
        check(read(folder))
        assert form_on_disk(folder) == len(forms.STEPS)
    with closing(sqlite3.connect(path_of(folder))) as base:
        assert base.execute("SELECT name, colour FROM marks").fetchall() == [("step 4", "blue")]


def test_a_step_that_fails_leaves_the_form_before(folder, monkeypatch):
    before = form_on_disk(folder)
    broken = ("ALTER TABLE marks ADD COLUMN colour TEXT", "DROP TABLE no_such_table")
    with monkeypatch.context() as patch:
        patch.setattr(forms, "STEPS", (*forms.STEPS, broken))
        with pytest.raises(ResourceError):
            Store(folder / "jobs")
    assert form_on_disk(folder) == before
    check(read(folder))


def test_a_step_that_loses_something_is_found_out(folder, monkeypatch):
    monkeypatch.setattr(forms, "STEPS", (*forms.STEPS, ("DELETE FROM marks",)))
    with pytest.raises(AssertionError):
        check(read(folder))


def test_a_newer_castplans_store_is_refused_in_one_line_and_left_alone(folder):
    with closing(sqlite3.connect(path_of(folder))) as base:
        base.execute(f"PRAGMA user_version={len(forms.STEPS) + 1}")
    before = path_of(folder).read_bytes()
    with pytest.raises(ResourceError, match="of a newer castplan, need form") as refused:
        Store(folder / "jobs")
    assert "\n" not in str(refused.value)
    assert path_of(folder).read_bytes() == before
