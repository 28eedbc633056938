"""Kills, stops and requests by the hundred, and a table of how each ended.

    python tests/bench/attacks.py [--write-kills 100] [--kills 20] [--stops 100]
        [--store-kills 50]

write kills  SIGKILL at any moment of a process that does nothing but write a plan over
             another: a whole and sealed one stands there, with every line of its log.
kills        SIGKILL at any moment of `castplan plan --replace`, or just as it writes: the
             plan that was there, or the new one, is whole and sealed.
stops        SIGINT at any moment of a plan: exit 130, nothing left, the longest wait.
store kills  SIGKILL while the page's store writes without a pause: nothing told as saved is
             lost, and SQLite finds its file whole (PRAGMA integrity_check).

The page is attacked by `attack_page.py`; damaged files and folders by the thousand are
`fuzz_files.py` and `fuzz_folders.py`.
Linux and macOS only. Not a test: the tests have the short versions.
"""

import argparse
import contextlib
import os
import random
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import psutil

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import page_server
import shapes

from castplan.after.records import LoggedPour
from castplan.door import Planned
from castplan.files import cast_file
from castplan.files.plan_folder import read_plan
from castplan.page.store import Store
from castplan.part.load import load_part
from castplan.planning import build_plan
from castplan.records import Job

# What takes least of the time that a plan takes before it writes.
QUICK = ["--units", "mm", "--mould", "open", "--draw", "+z", "--pitch", "1"]


def listening():
    """Ctrl-C is heard, also where this was started in the background of a shell."""
    signal.signal(signal.SIGINT, signal.default_int_handler)


def start(place, *words):
    """A plan of a box that was begun."""
    box = place / "box.stl"
    if not box.exists():
        box.write_bytes(page_server.stl_of(shapes.box(40.0, 30.0, 20.0)))
    return subprocess.Popen(
        [sys.executable, "-m", "castplan", "plan", str(box), *QUICK, *words],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
        preexec_fn=listening,
    )


def files_of(folder):
    """Its files."""
    return sorted(str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file())


def is_whole(folder, files):
    """Whether a plan stands there as it was written, with all its files."""
    try:
        read_plan(folder)
    except Exception as error:
        print(f"  {folder}: {error}")
        return False
    return files_of(folder) == files


def kills(count, place):
    """Kill plans that replace another."""
    out = place / "plan"
    begun = time.monotonic()
    assert start(place, "--out", str(out)).wait() == 0
    whole_s, files = time.monotonic() - begun, files_of(out)
    n_whole = n_replaced = 0
    for number in range(count):
        copies = str(2 + number)
        plan = start(place, "--out", str(out), "--replace", "--copies", copies)
        if number % 2:  # while it writes, which is the last of what it does
            for line in plan.stderr:
                if line.startswith("view"):
                    break
            time.sleep(random.uniform(0.0, 0.4 * whole_s))
        else:
            time.sleep(random.uniform(0.0, 1.1 * whole_s))
        family = [*psutil.Process(plan.pid).children(recursive=True)] if plan.poll() is None else []
        for each in [plan, *family]:
            with contextlib.suppress(psutil.NoSuchProcess):
                each.kill()
        plan.communicate()
        # Between two renames the plan that was there has its other name.
        there = out if out.exists() else out.with_name("plan.previous")
        n_whole += is_whole(there, files)
        n_replaced += there == out and read_plan(out).job.copies == int(copies)
        if there != out:
            shutil.copytree(there, out)
        for draft in place.glob(".*.unfinished-*"):
            shutil.rmtree(draft)
    return f"{n_whole} whole ({n_replaced} of them the new one), {count - n_whole} lost"


def write_kills(count, place):
    """Kill what writes one plan over another, again and again."""
    out, box = place / "plan", place / "box.stl"
    box.write_bytes(page_server.stl_of(shapes.box(40.0, 30.0, 20.0)))
    job = Job(mould="open", draw=(0.0, 0.0, 1.0), pitch_mm=1.0)
    made = Planned(build_plan(load_part(box, unit="mm"), job))
    made.write(out)
    begun = time.monotonic()
    made.write(out, replace=True)
    write_s, files = time.monotonic() - begun, [*files_of(out), cast_file.LOG_FILE]
    n_lost = n_lines_lost = n_renamed = n_begun = 0
    for number in range(1, count + 1):
        # Where the writer is killed between two renames, the plan has its other name.
        cast_file.add_line(out, LoggedPour, date=f"2026-12-{1 + number % 28:02d}")
        writer = os.fork()
        if not writer:
            while True:
                made.write(out, replace=True)
        time.sleep(random.uniform(0.0, 2.5 * write_s))
        os.kill(writer, signal.SIGKILL)
        os.waitpid(writer, 0)
        there = out if out.exists() else out.with_name("plan.previous")
        n_renamed += there != out
        n_lost += not is_whole(there, sorted(files))
        n_lines_lost += number - len(cast_file.read_log(there).lines)
        if there != out:
            there.rename(out)
        for draft in place.glob(".*.unfinished-*"):
            n_begun += 1
            shutil.rmtree(draft)
    return (
        f"{n_lost} plans lost, {n_lines_lost} of {count} lines of their log lost; {n_begun} had "
        f"begun a folder, {n_renamed} were between two renames"
    )


def stops(count, place):
    """Ctrl-C at any moment of a plan."""
    ends, longest_s, n_left = {}, 0.0, 0
    for _ in range(count):
        plan = start(place, "--out", str(place / "stopped"))
        time.sleep(random.uniform(0.3, 5.0))
        begun = time.monotonic()
        plan.send_signal(signal.SIGINT)
        plan.communicate()
        longest_s = max(longest_s, time.monotonic() - begun)
        ends[plan.returncode] = ends.get(plan.returncode, 0) + 1
        left = sorted(path.name for path in place.iterdir() if path.name != "box.stl")
        n_left += left not in ([], ["stopped"]) or (left == ["stopped"] and plan.returncode != 0)
        shutil.rmtree(place / "stopped", ignore_errors=True)
    said = ", ".join(f"{count} x exit {code}" for code, count in sorted(ends.items()))
    return f"{said}; the longest took {longest_s:.2f} s, {n_left} left something"


def store_kills(count, place):
    """Kill a writer of the store."""
    jobs, saved, n_lost, n_broken = place / "jobs", 0, 0, 0
    for _ in range(count):
        writer = subprocess.Popen(
            [sys.executable, "-c", page_server.WRITER, str(jobs)], stdout=subprocess.PIPE, text=True
        )
        writer.stdout.readline()
        time.sleep(random.uniform(0.0, 0.2))
        writer.kill()
        told = [
            int(line) for line in writer.stdout.read().splitlines(keepends=True) if line[-1] == "\n"
        ]
        writer.wait()
        saved = max([saved, *told])
        with sqlite3.connect(jobs / "jobs.sqlite3") as base:
            n_broken += base.execute("PRAGMA integrity_check").fetchone() != ("ok",)
        base.close()
        store = Store(jobs)
        (job,) = store.all()
        numbers = [number for number, _, _ in store.versions(job.key)]
        n_lost += job.at < saved or numbers != list(range(numbers[0], job.at + 1))
        store.close()
    return f"{saved} changes told as saved, {n_lost} lost, {n_broken} files broken"


def main():
    """Run what is asked for, and print a line of the table for each."""
    parser = argparse.ArgumentParser(description=__doc__)
    for name in ("write-kills", "kills", "stops", "store-kills"):
        parser.add_argument(f"--{name}", type=int, default=0)
    asked = parser.parse_args()
    random.seed(7)
    attacks = {
        "kills of a plan's writer": (write_kills, asked.write_kills),
        "kills of a plan": (kills, asked.kills),
        "stops of a plan": (stops, asked.stops),
        "kills of the store": (store_kills, asked.store_kills),
    }
    for name, (work, count) in attacks.items():
        if count:
            with tempfile.TemporaryDirectory() as place:
                print(f"{count} {name}: {work(count, Path(place))}", flush=True)


if __name__ == "__main__":
    main()
