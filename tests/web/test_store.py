"""The store: versions, conflicts, marks, a full disk, and what a killed writer leaves."""

import json
import os
import subprocess
import sys
from pathlib import Path

import page_server
import pytest

from castplan.errors import InputError, ResourceError
from castplan.page import store as stores
from castplan.page.store import Conflict, Missing, Store

# No outside truth here but SQLite's own promise (https://sqlite.org/atomiccommit.html):
# a transaction that was committed with synchronous=FULL outlives its process.

HOME = Path(__file__).parents[2]


@pytest.fixture
def store(tmp_path):
    kept = Store(tmp_path / "jobs")
    yield kept
    kept.close()


def add(store, **changes):
    job = {"name": "catch", "mesh": "0" * 64, "suffix": "stl", "choices": {"units": "mm"}}
    return store.add(**(job | changes))


def change(store, key, **choices):
    job = store.get(key)
    return store.change(key, choices={**job.choices, **choices}, what="test", at=job.at)


def test_a_job_starts_at_its_first_version(store):
    job = store.get(add(store))
    assert (job.at, job.first, job.last, job.choices, job.marks) == (1, 1, 1, {"units": "mm"}, {})
    assert job.next_what is None
    assert not job.is_archived


def test_undo_and_redo_walk_the_versions(store):
    key = add(store)
    for copies in (2, 3, 4):
        change(store, key, copies=copies)
    assert store.step(key, by=-1, at=4).choices["copies"] == 3
    assert store.step(key, by=-1, at=3).choices["copies"] == 2
    assert store.step(key, by=1, at=2).choices["copies"] == 3
    job = change(store, key, copies=9)  # what was undone is forgotten
    assert (job.at, job.last, job.choices["copies"]) == (4, 4, 9)
    with pytest.raises(Conflict, match="no change that way"):
        store.step(key, by=1, at=4)
    for at in (4, 3, 2):
        store.step(key, by=-1, at=at)
    with pytest.raises(Conflict, match="no change that way"):
        store.step(key, by=-1, at=1)
    assert store.get(key).choices == {"units": "mm"}


def test_of_two_tabs_the_second_is_told(store):
    key = add(store)
    seen = store.get(key)
    store.change(key, choices={"copies": 2}, what="one tab", at=seen.at)
    with pytest.raises(Conflict, match="changed in another window"):
        store.change(key, choices={"copies": 3}, what="other tab", at=seen.at)
    with pytest.raises(Conflict):
        store.step(key, by=-1, at=seen.at)
    assert store.get(key).choices == {"copies": 2}
    assert len(store.versions(key)) == 2  # nothing of the second was written


def test_only_so_many_versions_are_kept(store, monkeypatch):
    monkeypatch.setattr(stores, "N_VERSIONS", 5)
    key = add(store)
    for copies in range(2, 12):
        change(store, key, copies=copies)
    job = store.get(key)
    assert (job.at, job.first, job.last) == (11, 7, 11)
    for at in (11, 10, 9, 8):
        job = store.step(key, by=-1, at=at)
    assert job.choices["copies"] == 7
    with pytest.raises(Conflict):
        store.step(key, by=-1, at=7)


def test_the_list_starts_with_what_was_changed_last(store, monkeypatch):
    seconds = iter(range(100, 200))
    monkeypatch.setattr(stores.time, "time", lambda: next(seconds))
    one, other = add(store, name="one"), add(store, name="other")
    assert [job.key for job in store.all()] == [other, one]
    change(store, one, copies=2)
    assert [job.key for job in store.all()] == [one, other]
    assert store.archive(other, is_archived=True).is_archived
    assert [job.key for job in store.all()] == [other, one]
    assert not store.archive(other, is_archived=False).is_archived


def test_a_copy_has_the_choices_and_no_history(store):
    key = add(store)
    change(store, key, copies=5)
    store.mark(key, name="step 1", value=True)
    copy = store.get(store.duplicate(key, name="catch again"))
    assert (copy.name, copy.at, copy.choices) == ("catch again", 1, {"units": "mm", "copies": 5})
    assert copy.marks == {}
    change(store, copy.key, copies=6)
    assert store.get(key).choices["copies"] == 5


def test_marks_come_and_go_and_are_bounded(store, monkeypatch):
    key = add(store)
    store.mark(key, name="step 1", value=True)
    store.mark(key, name="step 1 timer", value=1764000000000)
    store.mark(key, name="step 1", value=None)
    assert store.get(key).marks == {"step 1 timer": 1764000000000}
    monkeypatch.setattr(stores, "N_MARKS", 3)
    for number in (2, 3):
        store.mark(key, name=f"step {number}", value=True)
    with pytest.raises(InputError, match="marks: found over 3"):
        store.mark(key, name="step 4", value=True)
    assert len(store.get(key).marks) == 3


@pytest.mark.parametrize("key", ["", "nope", "' OR 1=1 --", "../jobs", "\x00"])
def test_a_key_of_no_job_is_told(store, key):
    add(store)
    for work in (
        lambda: store.get(key),
        lambda: store.change(key, choices={}, what="", at=1),
        lambda: store.step(key, by=-1, at=1),
        lambda: store.archive(key, is_archived=True),
        lambda: store.duplicate(key, name="x"),
        lambda: store.mark(key, name="x", value=1),
    ):
        with pytest.raises(Missing, match="a key of no job"):
            work()


def test_what_was_kept_is_there_after_a_restart(tmp_path):
    store = Store(tmp_path / "jobs")
    key = add(store)
    change(store, key, copies=7)
    store.close()
    again = Store(tmp_path / "jobs")
    assert again.get(key).choices["copies"] == 7
    again.close()


def test_a_mesh_is_kept_under_its_content(store):
    names = []
    for _ in range(2):
        draft = store.draft()
        draft.write_bytes(b"solid")
        names.append(store.keep_mesh(draft, suffix="stl"))
        assert not draft.exists()
    assert names[0] == names[1]
    assert store.mesh_path(names[0], suffix="stl").read_bytes() == b"solid"


def test_drafts_of_a_killed_server_go(tmp_path):
    store = Store(tmp_path / "jobs")
    store.draft().write_bytes(b"half an upload")
    store.close()
    again = Store(tmp_path / "jobs")
    assert list((tmp_path / "jobs" / "meshes").iterdir()) == []
    again.close()


@pytest.mark.skipif(os.name != "posix", reason="modes are POSIX's")
def test_other_people_of_this_computer_cannot_look_in(store, tmp_path):
    assert (tmp_path / "jobs" / "meshes").stat().st_mode & 0o077 == 0


def test_a_file_that_is_no_store_is_refused(tmp_path):
    (tmp_path / "jobs").mkdir()
    (tmp_path / "jobs" / "jobs.sqlite3").write_bytes(b"not a base of data at all" * 100)
    with pytest.raises(ResourceError, match="CASTPLAN_HOME"):
        Store(tmp_path / "jobs")


def test_a_second_server_on_the_same_jobs_is_refused(store, tmp_path, monkeypatch):
    monkeypatch.setattr(stores, "_LOCKED_S", 0.05)
    key = add(store)
    with pytest.raises(ResourceError, match="another castplan serve has open"):
        Store(tmp_path / "jobs")
    assert store.get(key).at == 1  # the first is none the worse


def test_a_full_disk_is_one_line_and_changes_nothing(store):
    key = add(store)
    (pages,) = store._base.execute("PRAGMA page_count").fetchone()
    store._base.execute(f"PRAGMA max_page_count={pages}")
    with pytest.raises(ResourceError, match=r"jobs: found .*full.*, need room on the disk"):
        for _ in range(100):
            add(store, choices={"silicone": "x" * 190})
    kept = store.get(key)
    assert kept.choices == {"units": "mm"}
    store._base.execute("PRAGMA max_page_count=1000000")
    assert change(store, key, copies=2).at == 2


def test_kill_9_loses_nothing_that_was_told_as_saved(tmp_path):
    saved = 0
    for round_ in range(30):
        writer = subprocess.Popen(
            [sys.executable, "-c", page_server.WRITER, str(tmp_path / "jobs")],
            stdout=subprocess.PIPE,
            text=True,
            cwd=HOME,
        )
        # Another moment of the writing each time.
        for _ in range(1 + round_ % 5):
            line = writer.stdout.readline()
        writer.kill()
        lines = [line, *writer.stdout.read().splitlines(keepends=True)]
        writer.wait()
        writer.stdout.close()
        told = [int(text) for text in lines if text.endswith("\n")]
        assert told[-1] > saved, "it writes on from where it was killed"
        saved = told[-1]
        store = Store(tmp_path / "jobs")
        (job,) = store.all()
        numbers = [number for number, _, _ in store.versions(job.key)]
        store.close()
        # The one after may have been on the disk and not yet told.
        assert job.at in (saved, saved + 1)
        assert job.choices == {"copies": job.at}
        assert job.marks["step"] in (saved, saved + 1)
        assert numbers == list(range(numbers[0], job.at + 1))


def test_numbers_that_json_lacks_are_never_stored(store):
    with pytest.raises(ValueError):
        add(store, choices={"copies": float("nan")})
    assert store.all() == []
    assert json.loads(json.dumps(store.get(add(store)).choices)) == {"units": "mm"}
