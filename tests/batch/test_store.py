"""The result folder: what stands, what is done again, what is kept."""

import os
from dataclasses import replace

import batch_parts
import pytest

from castplan.batch.bench import Limits
from castplan.batch.order import choices_of, key_of
from castplan.batch.outcome import Outcome
from castplan.batch.store import Store, read_entries
from castplan.errors import InputError, ResourceError

LIMITS = Limits(seconds=10.0, memory_mb=100.0)
PLAN = Outcome(status="planned", files=(("plan.json", b"{}"), ("solids/a.stl", b"stl")), digest={})


@pytest.fixture
def store(tmp_path):
    return Store(tmp_path / "out")


def test_a_plan_comes_with_all_its_files(store):
    store.keep(batch_parts.entry(), PLAN)
    assert batch_parts.files_of(store.plan_folder("hook")) == dict(PLAN.files)
    assert store.holds("hook", "k", LIMITS)
    assert not store.holds("hook", "another", LIMITS)
    assert not store.holds("other", "k", LIMITS)


@pytest.mark.parametrize(
    ("status", "limits", "is_held"),
    [
        ("refused", LIMITS, True),
        ("fault", LIMITS, True),
        ("lost", LIMITS, False),
        ("time", LIMITS, True),
        ("time", replace(LIMITS, seconds=11.0), False),
        ("memory", LIMITS, True),
        ("memory", replace(LIMITS, memory_mb=101.0), False),
    ],
)
def test_what_failed_is_tried_again_only_where_it_may_go_better(store, status, limits, is_held):
    failed = batch_parts.entry(status=status, error="e")
    store.keep(failed, Outcome(status=status, error="e"))
    assert store.holds("hook", "k", limits) == is_held


def test_a_record_without_its_plan_does_not_count(store):
    store.keep(batch_parts.entry(), PLAN)
    for path in sorted(store.plan_folder("hook").rglob("*"), reverse=True):
        path.unlink() if path.is_file() else path.rmdir()
    store.plan_folder("hook").rmdir()
    assert not store.holds("hook", "k", LIMITS)


def test_the_log_of_pours_outlives_changes_and_failures(store):
    log = b"a line of the bench\n"
    store.keep(batch_parts.entry(), PLAN)
    (store.plan_folder("hook") / "casts.jsonl").write_bytes(log)
    store.keep(batch_parts.entry(key="2"), PLAN)
    assert (store.plan_folder("hook") / "casts.jsonl").read_bytes() == log
    failed = batch_parts.entry(status="refused", error="e", key="3")
    store.keep(failed, Outcome(status="refused", error="e"))
    assert not store.plan_folder("hook").exists()
    store.keep(batch_parts.entry(key="4"), PLAN)
    assert (store.plan_folder("hook") / "casts.jsonl").read_bytes() == log


@pytest.mark.parametrize("name", ["../escape", "/etc/escape", "a/../../escape", "a\\..\\escape"])
def test_a_worker_writes_nowhere_else(store, name):
    with pytest.raises(ValueError, match="escape"):
        store.keep(batch_parts.entry(), Outcome(status="planned", files=((name, b"x"),)))
    assert not list(store.place.parent.rglob("*escape*"))


def test_killed_between_plan_and_record_the_part_is_planned_again(store, monkeypatch):
    def killed(name, data):
        raise KeyboardInterrupt

    monkeypatch.setattr(store, "write", killed)
    with pytest.raises(KeyboardInterrupt):
        store.keep(batch_parts.entry(), PLAN)
    again = Store(store.place)
    assert not again.holds("hook", "k", LIMITS)
    again.keep(batch_parts.entry(), PLAN)
    assert again.holds("hook", "k", LIMITS)


def test_only_the_last_runs_parts_are_listed(store):
    for name in ("a", "b", "c"):
        store.keep(batch_parts.entry(name), PLAN)
    store.list_parts({"c": "k", "a": "k", "not yet": "k"})
    assert [entry.name for entry in store.entries()] == ["c", "a"]
    assert store.others(["c", "a", "not yet"]) == ["b"]
    # A part whose mesh has changed since has no plan until it is planned again.
    store.list_parts({"c": "another", "a": "k"})
    assert [entry.name for entry in store.entries()] == ["a"]


def test_something_else_is_never_written_into(tmp_path):
    (tmp_path / "photos").mkdir()
    (tmp_path / "photos" / "a.jpg").write_bytes(b"")
    with pytest.raises(InputError, match="not a batch's results"):
        Store(tmp_path / "photos")
    with pytest.raises(InputError, match="no batch's results"):
        read_entries(tmp_path / "photos")
    assert os.listdir(tmp_path / "photos") == ["a.jpg"]


def test_a_full_disk_is_one_clear_line(store, monkeypatch):
    def full(source, target):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", full)
    with pytest.raises(ResourceError, match="No space left"):
        store.write("summary.csv", b"x")
    assert not list(store.place.glob(".summary*"))


def test_the_key_follows_mesh_job_file_and_cards(tmp_path):
    order = batch_parts.box_order(tmp_path, "box")
    keys = {
        key_of(order, "m"),
        key_of(order, "other mesh"),
        key_of(replace(order, job=replace(order.job, copies=2)), "m"),
        key_of(replace(order, unit="in"), "m"),
        key_of(replace(order, solids=("bed",)), "m"),
        key_of(replace(order, path=tmp_path / "other.stl"), "m"),
        key_of(replace(order, cards=(("a.toml", b"1"),)), "m"),
        key_of(replace(order, cards=(("a.toml", b"2"),)), "m"),
    }
    assert len(keys) == 8
    assert key_of(replace(order, name="elsewhere"), "m") == key_of(order, "m")
    assert choices_of(order) == {
        "draw": [0.0, 0.0, 1.0],
        "n_attitudes": 8,
        "memory_mb": 0.3,
        "unit": "mm",
    }
