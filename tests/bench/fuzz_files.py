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
import contextlib
import json
import os
import shutil
import sys
import tempfile
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import mutate
from watched import Worker, print_table, run_command

STEP_SHARE = 0.01  # each takes seconds: its converter starts a process
DEPTHS = {"whole plan": 101, "coarse plan": 31, "castplan check": 11, "loaded and examined": 1}


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
        worker = Worker(lambda path, depth: run_part(Path(path), depth=depth))
        for number in numbers:
            rng = np.random.default_rng((seed, number))
            name = "step" if rng.random() < STEP_SHARE else sorted(others)[number % len(others)]
            steps, depth = recipe(rng), depth_of(number)
            data = mutate.damage(sound[name], steps, sound)
            path = Path(folder, f"{number}.{mutate.SUFFIX.get(name, name)}")
            path.write_bytes(data)
            ending = worker.take(str(path), depth)
            if ending[0] > 90 and keep:
                Path(keep).mkdir(parents=True, exist_ok=True)
                (Path(keep) / path.name).write_bytes(data)
            results.write(json.dumps([number, name, depth, steps, *ending]) + "\n")
            results.flush()
            path.unlink()
            shutil.rmtree(f"{path}.plan", ignore_errors=True)
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
        print_table(title, [(row[column], row[4]) for row in rows])
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
