"""The log of pours: only ever added to, whole lines only, also through a kill or a full disk."""

import csv
import io
import json
import os
import random
import subprocess
import sys
import time

import pytest

from castplan.errors import InputError, ResourceError
from castplan.files import cast_file
from castplan.records import CastLog, Defect, LoggedPour, Size, Withdrawal
from castplan.words import cast as cast_view

# The rules under test are castplan's own promises to the shop; no outside source.
DAY = "2026-12-01"
# Adds lines until it is killed.
WRITER = """
import sys
from castplan.records import LoggedPour
from castplan.files.cast_file import add_line
print("ready", flush=True)
while True:
    add_line(sys.argv[1], LoggedPour, date="2026-12-01", note="x" * 1000)
"""


def test_what_is_logged_comes_back(tmp_path):
    values = {
        "date": DAY,
        "mould": "second",
        "lots": ("A117", "B090"),
        "humidity_fraction": 0.55,
        "is_degassed": False,
        "defects": (Defect(kind="void", where_mm=(1.5, -2.0, 3.0), told="top:1,2", size_mm=2.0),),
        "sizes": (Size(name="x", length_mm=141.6, error_mm=0.05),),
        "note": "Gießharz, lot 3; =1+1",
    }
    cast_file.add_line(tmp_path, LoggedPour, **values)
    (line,) = cast_file.read_log(tmp_path).lines
    for name in values.keys() - {"defects", "sizes"}:
        assert getattr(line, name) == values[name]
    assert vars(line.defects[0]) == vars(values["defects"][0])
    assert vars(line.sizes[0]) == vars(values["sizes"][0])


def test_a_withdrawal_takes_back_and_is_taken_back(tmp_path):
    for _ in range(3):
        cast_file.add_line(tmp_path, LoggedPour, date=DAY)
    cast_file.add_line(tmp_path, Withdrawal, of=2)
    log = cast_file.read_log(tmp_path)
    assert [line.number for line in log.pours] == [1, 3]
    assert cast_view.cast_number(log, log.lines[2]) == 2
    cast_file.add_line(tmp_path, Withdrawal, of=4)
    log = cast_file.read_log(tmp_path)
    assert [line.number for line in log.pours] == [1, 2, 3]
    assert len(log.lines) == 5  # nothing is ever taken out


@pytest.mark.parametrize(
    ("kind", "values", "said"),
    [
        (LoggedPour, {"date": "2026-02-30"}, "day is out of range|day .* must be in range"),
        (LoggedPour, {"date": "1.12.2026"}, "need YYYY-MM-DD"),
        (LoggedPour, {"date": DAY, "result": "fine"}, "good, usable, scrap"),
        (Withdrawal, {"of": 2}, "need one before line 2"),
        (Withdrawal, {"of": 0}, "need one before line 2"),
    ],
)
def test_what_cannot_be_is_refused_and_changes_nothing(tmp_path, kind, values, said):
    cast_file.add_line(tmp_path, LoggedPour, date=DAY)
    before = (tmp_path / cast_file.LOG_FILE).read_bytes()
    with pytest.raises(InputError, match=said):
        cast_file.add_line(tmp_path, kind, **values)
    assert (tmp_path / cast_file.LOG_FILE).read_bytes() == before


def test_no_line_is_withdrawn_twice(tmp_path):
    cast_file.add_line(tmp_path, LoggedPour, date=DAY)
    cast_file.add_line(tmp_path, Withdrawal, of=1)
    with pytest.raises(InputError, match="withdrawn already"):
        cast_file.add_line(tmp_path, Withdrawal, of=1)


def test_a_torn_end_is_said_and_gives_way(tmp_path):
    cast_file.add_line(tmp_path, LoggedPour, date=DAY)
    path = tmp_path / cast_file.LOG_FILE
    whole = path.read_bytes()
    path.write_bytes(whole + b'{"line": "pour", "num')
    log = cast_file.read_log(tmp_path)
    assert log.is_torn and len(log.lines) == 1
    assert "cut off" in cast_view.log_lines(log)[-1]
    cast_file.add_line(tmp_path, LoggedPour, date=DAY)
    log = cast_file.read_log(tmp_path)
    assert not log.is_torn and len(log.lines) == 2
    assert path.read_bytes().startswith(whole)


@pytest.mark.parametrize(
    "spoil",
    [
        lambda text: text.replace('"number": 1', '"number": 7'),
        lambda text: text.replace('"good"', '"splendid"'),
        lambda text: text.replace('"date"', '"day"'),
        lambda text: "no json\n",
    ],
)
def test_a_spoiled_line_is_named(tmp_path, spoil):
    cast_file.add_line(tmp_path, LoggedPour, date=DAY)
    path = tmp_path / cast_file.LOG_FILE
    path.write_text(spoil(path.read_text()))
    with pytest.raises(InputError, match=r"casts\.jsonl line 1: found no line of a log"):
        cast_file.read_log(tmp_path)


def test_a_full_disk_leaves_the_log_as_it_was(tmp_path, monkeypatch):
    cast_file.add_line(tmp_path, LoggedPour, date=DAY)
    before = (tmp_path / cast_file.LOG_FILE).read_bytes()
    real = os.write
    monkeypatch.setattr(os, "write", lambda handle, data: real(handle, data[:9]))
    with pytest.raises(ResourceError, match="full"):
        cast_file.add_line(tmp_path, LoggedPour, date=DAY)
    assert (tmp_path / cast_file.LOG_FILE).read_bytes() == before


def test_a_line_is_on_the_disk_before_it_counts(tmp_path, monkeypatch):
    seen = []
    real = os.fsync

    def note(handle):
        seen.append((tmp_path / cast_file.LOG_FILE).read_bytes().endswith(b"}\n"))
        real(handle)

    monkeypatch.setattr(os, "fsync", note)
    cast_file.add_line(tmp_path, LoggedPour, date=DAY)
    # The file, and for a new one the folder that now names it.
    assert seen == [True, True] if os.name != "nt" else seen == [True]


def test_after_every_kill_the_log_holds_whole_lines(tmp_path):
    random.seed(3)
    n_before = 0
    for _ in range(5):
        program = subprocess.Popen(
            [sys.executable, "-c", WRITER, str(tmp_path)], stdout=subprocess.PIPE
        )
        program.stdout.readline()
        time.sleep(0.02 + 0.05 * random.random())
        program.kill()
        program.wait()
        program.stdout.close()
        n = len(cast_file.read_log(tmp_path).lines)
        assert n >= n_before
        n_before = n
    assert n_before > 0


def test_the_table_has_every_line_with_its_values(tmp_path):
    cast_file.add_line(
        tmp_path,
        LoggedPour,
        date=DAY,
        humidity_fraction=0.55,
        shot_g=31.6,
        note='say "hook"; then, pour',
        defects=(Defect(kind="void", where_mm=(1.5, -2.0, 3.0), size_mm=2.0), Defect(kind="warp")),
        sizes=(Size(name="x", length_mm=141.6, error_mm=0.05),),
    )
    cast_file.add_line(tmp_path, Withdrawal, of=1, why="wrong day")
    text = cast_view.log_csv(cast_file.read_log(tmp_path)).decode()
    first, second = csv.DictReader(io.StringIO(text, newline=""))
    assert first["stands"] == "no" and first["cast_of_mould"] == ""
    assert first["humidity_percent"] == "55" and first["shot_g"] == "31.6"
    assert first["defects"] == "void@1.5,-2,3=2; warp"
    assert first["sizes_mm"] == "x=141.6+-0.05"
    assert first["note"] == 'say "hook"; then, pour'
    assert second["withdraws_line"] == "1" and second["note"] == "wrong day"


def test_a_log_goes_along_and_none_stays_none(tmp_path):
    for name in ("old", "new", "empty"):
        (tmp_path / name).mkdir()
    cast_file.carry(tmp_path / "empty", tmp_path / "new")
    assert list((tmp_path / "new").iterdir()) == []
    cast_file.add_line(tmp_path / "old", LoggedPour, date=DAY)
    cast_file.carry(tmp_path / "old", tmp_path / "new")
    stored = [(tmp_path / name / cast_file.LOG_FILE).read_bytes() for name in ("old", "new")]
    assert stored[0] == stored[1]
    assert json.loads(stored[0])["date"] == DAY


def test_an_empty_log_says_how_to_begin():
    assert "castplan cast" in cast_view.log_lines(CastLog())[0]
