"""A write that is killed at any moment leaves a whole plan, and nothing that looks like another."""

import random
import subprocess
import sys
import time
from pathlib import Path

import pytest

pytestmark = pytest.mark.long

# The rules under test are castplan's own promises to the shop; no outside source.
N_KILLS = 100

# Writes plans over each other until it is killed. The record names the number
# of its plan and the sheets repeat it, so that a mixture would show; both are
# long enough for a kill to hit their middle. What the files are made from is
# left out, so that a hundred programs start in seconds.
WRITER = """
import sys, types
import castplan.files, castplan.paper, castplan.view, castplan.mould
fakes = {}
for name in ("paper.booklet", "paper.sheets", "files.record", "files.drawings",
             "files.solids", "files.cast_file", "files.plan_folder", "files.part_file", "view.page",
             "view.records", "mould.records", "plan_record"):
    fakes[name] = sys.modules["castplan." + name] = types.ModuleType(name)
    room, _, module = name.rpartition(".")
    if room:
        setattr(sys.modules["castplan." + room], module, fakes[name])
fakes["plan_record"].Plan = fakes["view.records"].Scene = fakes["mould.records"].Solid = object
record, sheets = fakes["files.record"], fakes["paper.sheets"]
record.plan_json = lambda plan: f"{plan:09}".encode() * 60_000
sheets.write_sheets = lambda plan, path: path.write_bytes(f"{plan:09}".encode() * 90_000)
fakes["paper.booklet"].write_booklet = sheets.write_sheets
fakes["files.cast_file"].carry = lambda *folders: None
folder = fakes["files.plan_folder"]
folder.RECORD_FILE = "plan.json"
mesh = fakes["files.part_file"]
mesh.PART_FILE, mesh.write_part = "part.npz", None
folder.VIEW_FILE = "view.html"
from castplan.files import write
write._write_things = lambda *args: None
number = int(sys.argv[2])
print("ready", flush=True)
while True:
    write.write_plan(number, sys.argv[1], replace=True)
    number += 1
"""


def plan_number(folder):
    """The number of the plan in a folder, having made sure that it is whole."""
    record = (folder / "plan.json").read_bytes()
    sheets = (folder / "sheets.pdf").read_bytes()
    assert (len(record), len(sheets)) == (9 * 60_000, 9 * 90_000)
    number = record[:9]
    assert record == number * 60_000 and sheets == number * 90_000
    assert sorted(path.name for path in folder.iterdir()) == [
        "details.pdf",
        "plan.json",
        "sheets.pdf",
    ]
    return int(number)


@pytest.fixture(scope="module")
def killed(tmp_path_factory):
    """What each kill left: (newest whole plan, names that are shown) and the last number."""
    folder = tmp_path_factory.mktemp("jobs")
    target = folder / "plan"
    random.seed(7)
    left, number, n_before = [], 0, -1
    script = folder / ".writer.py"
    script.write_text(WRITER)
    for _ in range(N_KILLS):
        child = subprocess.Popen(
            [sys.executable, str(script), str(target), str(number)], stdout=subprocess.PIPE
        )
        child.stdout.readline()
        time.sleep(random.uniform(0.0, 0.04))
        child.kill()
        child.wait()
        child.stdout.close()
        shown = sorted(path.name for path in folder.iterdir() if not path.name.startswith("."))
        left.append((n_before, [plan_number(folder / name) for name in shown], shown))
        n_before = max(left[-1][1], default=n_before)
        number = n_before + 1
    return folder, left


def test_a_whole_plan_is_there_after_every_kill(killed):
    _, left = killed
    assert len(left) == N_KILLS
    for n_before, numbers, shown in left:
        # Until the first write ends there is none; after that the one from
        # before the kill is there, or one that has replaced it.
        assert not numbers or max(numbers) >= n_before
        assert bool(numbers) or n_before < 0
        assert set(shown) <= {"plan", "plan.previous"}
    assert left[-1][0] > 0, "no write ever ended"


def test_kills_hit_writes_in_their_middle(killed):
    folder, _ = killed
    litter = [path.name for path in folder.iterdir() if path.name.startswith(".plan")]
    assert litter, "no kill came in time"
    # Hidden, and called what it is.
    assert all(".unfinished-" in name for name in litter)


def test_the_next_write_is_not_disturbed_by_what_kills_left(killed, monkeypatch):
    from castplan.files import record, write
    from castplan.paper import booklet, sheets

    folder, _ = killed
    monkeypatch.setattr(record, "plan_json", lambda plan: b"{}")
    monkeypatch.setattr(sheets, "write_sheets", lambda plan, path: path.write_bytes(b"%PDF"))
    monkeypatch.setattr(booklet, "write_booklet", sheets.write_sheets)
    monkeypatch.setattr(write, "_write_things", lambda *args: None)
    write.write_plan(object(), folder / "plan", replace=True)
    assert (Path(folder) / "plan" / "plan.json").read_bytes() == b"{}"
