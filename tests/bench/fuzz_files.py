"""Damaged files by the thousand: each ends in a plan or in one line.

    python tests/bench/fuzz_files.py [--files 10000] [--seed 0] [--workers 1] [--keep DIR]

Every file is loaded, and what loads is examined and sampled; every 11th goes through
`castplan check`, of every 31st a coarse plan is made, and every 101st goes through the
whole of `castplan plan`. A worker takes one after the other and may take 30 seconds of
processor and 2 GB on top of what the program itself takes for each; one that crashes or
takes more is replaced. A crash, a traceback, a word of a library on the terminal, a hang
or more memory is a fault. Linux only. Not a test: `tests/property` has the short version.
"""

import argparse
import collections
import contextlib
import io
import json
import os
import resource
import select
import shutil
import signal
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import psutil

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import mutate

LIMIT_S = 30
WALL_S = 20 * LIMIT_S  # on a machine that does other things too
LIMIT_BYTES = 2_000_000_000
STEP_SHARE = 0.01  # each takes seconds: its converter starts a process
DEPTHS = {"whole plan": 101, "coarse plan": 31, "castplan check": 11, "loaded and examined": 1}
ENDS = {
    0: "read",
    2: "exit 2",
    3: "exit 3",
    4: "exit 4",
    95: "over memory",
    96: "words of a library",
    97: "not one line",
    98: "crash",
    99: "own fault",
    94: "over 30 s",
}


def recipe(rng):
    """One or two kinds of damage."""
    kinds = sorted(mutate.KINDS)
    return [
        (kinds[rng.integers(len(kinds))], float(rng.random()), float(rng.random()))
        for _ in range(rng.integers(1, 3))
    ]


def depth_of(number):
    """How far the file of this number goes."""
    return next(name for name, every in DEPTHS.items() if number % every == 0)


def run_command(words):
    """A whole command in this process; its exit code and the line it ends with."""
    from castplan import cli

    held = sys.stdout, sys.stderr
    sys.argv = ["castplan", *words]
    sys.stdout = sys.stderr = io.TextIOWrapper(io.BytesIO(), encoding="utf-8")
    try:
        cli.main()
        code = 0
    except SystemExit as end:
        code = end.code or 0
    finally:
        sys.stderr.flush()
        text = sys.stderr.buffer.getvalue().decode()
        sys.stdout, sys.stderr = held
    lines = [line for line in text.splitlines() if "found" in line]
    if "Traceback" in text or (code and len(lines) != 1 and words[0] == "plan"):
        return 99, text
    return code, "\n".join(lines[-1:] if code else [])


def run_part(path, *, depth):
    """Take a file so far; the exit code and what was said."""
    from castplan.columns import field
    from castplan.errors import CastplanError
    from castplan.files import record
    from castplan.part.health import examine
    from castplan.part.load import load_part
    from castplan.planning import build_plan
    from castplan.records import Job

    unit = [] if path.suffix == ".3mf" else ["--units", "mm"]
    if depth == "whole plan":
        coarse = ["--pitch", "0.5", "--draw", "+z"]  # seconds, not the finest plan
        return run_command(["plan", str(path), *unit, *coarse, "--out", str(path) + ".plan"])
    if depth == "castplan check":
        return run_command(["check", str(path), *unit])
    try:
        part = load_part(path, unit=None if not unit else "mm")
        if depth == "coarse plan":
            job = Job(draw=(0.0, 0.0, 1.0), memory_mb=1.0, n_attitudes=16)
            record.plan_json(build_plan(part, job))
        else:
            examine(part)
            pitch_mm = max(part.check.extent_mm) / 64
            field.sample(part.vertices_mm, part.faces, part.cap_faces, np.eye(3), pitch_mm=pitch_mm)
        return 0, ""
    except CastplanError as error:
        return error.exit_code, str(error)


def work(asked, told):
    """In a process of its own: take each file that comes by its path and depth."""
    own = psutil.Process()
    bound = own.memory_info().vms + LIMIT_BYTES
    resource.setrlimit(resource.RLIMIT_AS, (bound, bound))
    aside = tempfile.TemporaryFile()  # noqa: SIM115
    os.dup2(aside.fileno(), 1)
    os.dup2(aside.fileno(), 2)
    for line in asked:
        path, depth = json.loads(line)
        aside.truncate(0)
        Path("/proc/self/clear_refs").write_text("5")  # the peak counts from here
        begun = time.process_time()
        try:
            code, said = run_part(Path(path), depth=depth)
        except BaseException as error:
            import traceback

            code, said = 99, "".join(traceback.format_exception(error))
        aside.seek(0)
        heard = aside.read().decode(errors="replace")
        if heard:
            code, said = 96, heard
        if code in (2, 3, 4) and ("\n" in said or not said):
            code = 97
        status = Path("/proc/self/status").read_text()
        peak = 1024 * int(status.split("VmHWM:")[1].split()[0])
        told.write(json.dumps([code, said, time.process_time() - begun, peak]) + "\n")
        told.flush()


class Worker:
    """A process that takes files until it has to be replaced."""

    def __init__(self):
        from_parent, to_child = os.pipe()
        from_child, to_parent = os.pipe()
        self.pid = os.fork()
        if not self.pid:
            os.close(to_child)
            os.close(from_child)
            with os.fdopen(from_parent) as asked, os.fdopen(to_parent, "w") as told:
                work(asked, told)
            os._exit(0)
        os.close(from_parent)
        os.close(to_parent)
        self.asks, self.hears = os.fdopen(to_child, "w"), os.fdopen(from_child)

    def take(self, path, depth):
        """Outcome of one file: code, words, seconds of processor, peak in bytes."""
        process = psutil.Process(self.pid)
        before = sum(process.cpu_times()[:2])
        until_s, seconds = time.monotonic() + WALL_S, 0.0
        self.asks.write(json.dumps([str(path), depth]) + "\n")
        self.asks.flush()
        while not select.select([self.hears], [], [], 0.5)[0]:
            seconds = sum(process.cpu_times()[:2]) - before
            if seconds > LIMIT_S or time.monotonic() > until_s:
                self.end()
                return 94, "killed", seconds, 0
        line = self.hears.readline()
        if not line:
            _, status = os.waitpid(self.pid, 0)
            self.pid = 0
            return 98, f"ended by signal {status & 127}", seconds, 0
        code, said, seconds, peak = json.loads(line)
        if peak > LIMIT_BYTES and code < 90:
            code = 95
        return code, said, seconds, peak

    def end(self):
        """Away with it."""
        if self.pid:
            os.kill(self.pid, signal.SIGKILL)
            os.waitpid(self.pid, 0)
            self.pid = 0


def campaign(numbers, seed, keep, results):
    """Run the files of these numbers; one JSON line each into `results`."""
    sound = mutate.sound_files()
    others = {name: data for name, data in sound.items() if name != "step"}
    with tempfile.TemporaryDirectory() as folder:
        for name, data in others.items():  # warm every import and compiled kernel
            path = Path(folder, f"warm.{mutate.SUFFIX.get(name, name)}")
            path.write_bytes(data)
            for depth in DEPTHS if name == "stl" else ("loaded and examined",):
                code, said = run_part(path, depth=depth)
                assert code == 0, (name, depth, said)
        worker = Worker()
        for number in numbers:
            rng = np.random.default_rng((seed, number))
            name = "step" if rng.random() < STEP_SHARE else sorted(others)[number % len(others)]
            steps, depth = recipe(rng), depth_of(number)
            data = mutate.damage(sound[name], steps, sound)
            path = Path(folder, f"{number}.{mutate.SUFFIX.get(name, name)}")
            path.write_bytes(data)
            ending = worker.take(path, depth)
            if ending[0] > 90 and keep:
                Path(keep).mkdir(parents=True, exist_ok=True)
                (Path(keep) / path.name).write_bytes(data)
            results.write(json.dumps([number, name, depth, steps, *ending]) + "\n")
            results.flush()
            path.unlink()
            shutil.rmtree(f"{path}.plan", ignore_errors=True)
            if not worker.pid:
                worker = Worker()
        worker.end()


def main():
    """Run a campaign and print its figures."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--files", type=int, default=10_000)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--workers", type=int, default=1)
    parser.add_argument("--keep", help="folder for the files that showed a fault")
    choices = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        children = []
        for worker in range(choices.workers):
            pid = os.fork()
            if pid == 0:
                with (
                    contextlib.suppress(KeyboardInterrupt),
                    open(Path(folder, str(worker)), "w") as results,
                ):
                    numbers = range(worker, choices.files, choices.workers)
                    campaign(numbers, choices.seed, choices.keep, results)
                os._exit(0)
            children.append(pid)
        for pid in children:
            os.waitpid(pid, 0)
        rows = [
            json.loads(line)
            for worker in range(choices.workers)
            for line in Path(folder, str(worker)).read_text().splitlines()
        ]
    for title, column in (("format", 1), ("depth", 2)):
        print(f"{title:20s}" + "".join(f"{end:>19s}" for end in ENDS.values()))
        for name in sorted({row[column] for row in rows}):
            ends = collections.Counter(row[4] for row in rows if row[column] == name)
            print(f"{name:20s}" + "".join(f"{ends[code]:19d}" for code in ENDS))
    for depth in DEPTHS:
        some = [row for row in rows if row[2] == depth]
        slowest, largest = max(some, key=lambda row: row[6]), max(some, key=lambda row: row[7])
        print(
            f"{depth}: {len(some)} files, slowest {slowest[6]:.1f} s of processor ({slowest[1]}), "
            f"peak {largest[7] / 1e6:.0f} MB ({largest[1]})"
        )
    faults = [row for row in rows if row[4] not in (0, 2, 3, 4)]
    for number, name, depth, steps, _, said, *_ in faults:
        print(f"FAULT {number} {name} {depth} {steps}\n{said}")
    print(f"{len(rows)} files of seed {choices.seed}, {len(faults)} faults")


if __name__ == "__main__":
    main()
