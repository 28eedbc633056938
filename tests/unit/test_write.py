"""The plan folder appears whole, replaces only plans, and leaves no litter."""

import errno
import os
from types import SimpleNamespace

import pytest

from castplan.errors import InputError, ResourceError
from castplan.files import drawings, record, write
from castplan.paper import booklet, sheets
from castplan.records import Solid

# The rules under test are castplan's own promises to the shop; no outside source.
PLAN = SimpleNamespace(
    part=None
)  # what the parts of the folder are made from is not write's business


@pytest.fixture(autouse=True)
def contents(monkeypatch):
    """Replace what fills the files; returns the text that the next plan holds."""
    text = {"json": b"{}", "pdf": b"%PDF"}
    monkeypatch.setattr(record, "plan_json", lambda plan: text["json"])
    for module, name in ((booklet, "write_booklet"), (sheets, "write_sheets")):
        monkeypatch.setattr(module, name, lambda plan, path: path.write_bytes(text["pdf"]))
    monkeypatch.setattr(write, "write_part", lambda part, path, record: path.write_bytes(b"mesh"))
    monkeypatch.setattr(drawings, "boards_svg", lambda plan: b"<svg/>")
    monkeypatch.setattr(drawings, "boards_dxf", lambda plan: b"0\nEOF\n")
    return text


def put(target, contents, name, *, replace=False):
    contents["json"] = name.encode()
    write.write_plan(PLAN, target, replace=replace)


def tree(folder):
    """Every file below `folder` with its bytes; folders as None."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes() if path.is_file() else None
        for path in sorted(folder.rglob("*"))
    }


def plan_tree(name, text):
    return {
        name: None,
        f"{name}/boards.dxf": b"0\nEOF\n",
        f"{name}/boards.svg": b"<svg/>",
        f"{name}/details.pdf": b"%PDF",
        f"{name}/part.npz": b"mesh",
        f"{name}/plan.json": text,
        f"{name}/sheets.pdf": b"%PDF",
    }


def test_a_new_plan_holds_its_files_and_nothing_else(tmp_path, contents):
    put(tmp_path / "plan", contents, "one")
    assert tree(tmp_path) == plan_tree("plan", b"one")


def test_solids_have_a_folder_of_their_own(tmp_path):
    corners = [(0, 0, 0), (1, 0, 0), (0, 1, 0), (0, 0, 1)]
    faces = [(0, 2, 1), (0, 1, 3), (1, 2, 3), (0, 3, 2)]
    body = Solid(name="upper half", vertices_mm=corners, faces=faces)
    plan = SimpleNamespace(part=SimpleNamespace(name="one"))
    write.write_plan(plan, tmp_path / "plan", replace=False, bodies=(body,))
    made = {path.name for path in (tmp_path / "plan" / "solids").iterdir()}
    assert made == {"upper_half.stl", "all.3mf"}


def test_folders_above_are_made(tmp_path, contents):
    put(tmp_path / "jobs" / "hooks" / "plan", contents, "one")
    assert tree(tmp_path / "jobs" / "hooks") == plan_tree("plan", b"one")


def test_a_relative_path_means_the_working_folder(tmp_path, contents, monkeypatch):
    monkeypatch.chdir(tmp_path)
    put("plan", contents, "one")
    assert tree(tmp_path) == plan_tree("plan", b"one")


def test_the_new_folder_is_as_open_as_any_other(tmp_path, contents):
    put(tmp_path / "plan", contents, "one")
    (tmp_path / "other").mkdir()
    assert (tmp_path / "plan").stat().st_mode == (tmp_path / "other").stat().st_mode


def test_a_plan_is_not_replaced_unasked(tmp_path, contents):
    put(tmp_path / "plan", contents, "one")
    with pytest.raises(InputError, match=r"found a plan, need a free name.*--replace"):
        put(tmp_path / "plan", contents, "two")
    assert tree(tmp_path) == plan_tree("plan", b"one")


def test_a_replaced_plan_is_kept_and_the_one_before_goes(tmp_path, contents):
    for name in ("one", "two", "three"):
        put(tmp_path / "plan", contents, name, replace=True)
    assert tree(tmp_path) == plan_tree("plan", b"three") | plan_tree("plan.previous", b"two")


@pytest.mark.parametrize("replace", [False, True])
def test_what_is_no_plan_is_never_touched(tmp_path, contents, replace):
    (tmp_path / "folder").mkdir()
    (tmp_path / "folder" / "invoice.txt").write_text("keep")
    (tmp_path / "file").write_text("keep")
    (tmp_path / "empty").mkdir()
    before = tree(tmp_path)
    for name in ("folder", "file", "empty"):
        with pytest.raises(InputError, match="found something that is not a plan"):
            put(tmp_path / name, contents, "one", replace=replace)
    assert tree(tmp_path) == before


def test_a_previous_that_is_no_plan_is_never_removed(tmp_path, contents):
    put(tmp_path / "plan", contents, "one")
    (tmp_path / "plan.previous").mkdir()
    (tmp_path / "plan.previous" / "invoice.txt").write_text("keep")
    before = tree(tmp_path)
    with pytest.raises(InputError, match=r"plan\.previous: found something"):
        put(tmp_path / "plan", contents, "two", replace=True)
    assert tree(tmp_path) == before


@pytest.mark.parametrize(
    ("raised", "seen"),
    [
        pytest.param(OSError(errno.ENOSPC, "No space left on device"), ResourceError, id="full"),
        pytest.param(PermissionError(errno.EACCES, "Denied"), ResourceError, id="denied"),
        pytest.param(KeyboardInterrupt(), KeyboardInterrupt, id="stopped"),
        pytest.param(ValueError("a bug"), ValueError, id="bug"),
    ],
)
def test_a_failure_in_the_middle_leaves_the_old_plan(tmp_path, contents, monkeypatch, raised, seen):
    put(tmp_path / "plan", contents, "one")
    before = tree(tmp_path)

    def fail(plan, path):
        path.write_bytes(b"half")
        raise raised

    monkeypatch.setattr(sheets, "write_sheets", fail)
    with pytest.raises(seen):
        put(tmp_path / "plan", contents, "two", replace=True)
    assert tree(tmp_path) == before
    with pytest.raises(seen):
        put(tmp_path / "jobs" / "hooks" / "plan", contents, "two")
    assert tree(tmp_path) == before


@pytest.mark.parametrize("failing", [1, 2, 3])
@pytest.mark.parametrize("raised", [OSError(errno.EIO, "Input/output error"), KeyboardInterrupt()])
def test_a_failing_rename_is_undone(tmp_path, contents, monkeypatch, failing, raised):
    for name in ("one", "two"):
        put(tmp_path / "plan", contents, name, replace=True)
    before = tree(tmp_path)
    real, calls = os.rename, []

    def rename(source, place):
        calls.append(source)
        if len(calls) == failing:
            raise raised
        real(source, place)

    monkeypatch.setattr(os, "rename", rename)
    with pytest.raises((ResourceError, KeyboardInterrupt)):
        put(tmp_path / "plan", contents, "three", replace=True)
    assert len(calls) >= failing
    assert tree(tmp_path) == before


def test_files_reach_the_disk_before_they_get_their_name(tmp_path, contents, monkeypatch):
    events = []
    real_sync, real_rename = os.fsync, os.rename

    def fsync(handle):
        events.append("sync")
        real_sync(handle)

    def rename(source, place):
        events.append("rename")
        real_rename(source, place)

    monkeypatch.setattr(os, "fsync", fsync)
    monkeypatch.setattr(os, "rename", rename)
    put(tmp_path / "plan", contents, "one")
    assert events.index("rename") >= 2  # both files; the folder too where a system can
    assert events.count("rename") == 1


def test_the_place_is_tried_before_any_computing(tmp_path, monkeypatch):
    assert write.check_target(tmp_path / "a" / "plan", replace=False) == tmp_path / "a" / "plan"
    assert tree(tmp_path) == {}

    def refuse(self, *args, **kwargs):
        raise PermissionError(errno.EACCES, "Permission denied", str(self))

    monkeypatch.setattr(type(tmp_path), "mkdir", refuse)
    with pytest.raises(ResourceError, match="Permission denied"):
        write.check_target(tmp_path / "plan", replace=False)


def test_a_file_where_a_folder_should_be(tmp_path):
    (tmp_path / "file").write_text("keep")
    with pytest.raises(InputError, match="found a file, need a folder"):
        write.check_target(tmp_path / "file" / "plan", replace=False)


def test_progress_ends_at_one(tmp_path):
    seen = []
    write.write_plan(
        PLAN,
        tmp_path / "plan",
        replace=False,
        progress=lambda stage_name, fraction: seen.append((stage_name, fraction)),
    )
    assert {name for name, _ in seen} == {"write"}
    fractions = [fraction for _, fraction in seen]
    assert fractions == sorted(fractions) and fractions[0] == 0.0 and fractions[-1] == 1.0
