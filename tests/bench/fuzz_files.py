"""Damaged files by the thousand: each ends in a plan or in one line.

    python tests/bench/fuzz_files.py [--files 10000] [--seed 0] [--workers 2] [--keep DIR]

Every file runs in a process of its own with 10 seconds of processor and 2 GB on
top of what the program itself takes; a crash, a traceback, a hang or more memory is a
fault. All that loads is examined and sampled; a coarse plan is made of every
eleventh file, and every 101st goes through the whole command line.
Linux and macOS only. Not a test: `tests/property` has the short version.
"""

import argparse
import collections
import contextlib
import io
import json
import os
import resource
import signal
import sys
import tempfile
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import mutate

LIMIT_S = 10
WALL_S = 240  # on a machine that does other things too
LIMIT_BYTES = 2_000_000_000
STEP_SHARE = 0.02  # each takes seconds: its converter starts a process
PLAN_EVERY = 11
CLI_EVERY = 101


def recipe(rng):
    """One or two kinds of damage."""
    kinds = sorted(mutate.KINDS)
    return [
        (kinds[rng.integers(len(kinds))], float(rng.random()), float(rng.random()))
        for _ in range(rng.integers(1, 3))
    ]


def run_part(path, *, is_planned, is_whole):
    """Load a file, and plan it; the exit code and what was said."""
    from castplan import cli
    from castplan.columns import field
    from castplan.errors import CastplanError
    from castplan.files import record
    from castplan.part.health import examine
    from castplan.part.load import load_part
    from castplan.planning import build_plan
    from castplan.records import Job

    unit = [] if path.suffix == ".3mf" else ["--units", "mm"]
    if is_whole:
        said = io.StringIO()
        sys.argv = ["castplan", "plan", str(path), *unit, "--out", str(path.with_suffix(""))]
        sys.argv += ["--pitch", "0.5", "--draw", "+z"]  # seconds, not the finest plan
        sys.stdout = sys.stderr = io.TextIOWrapper(io.BytesIO(), encoding="utf-8")
        try:
            cli.main()
            code = 0
        except SystemExit as end:
            code = end.code or 0
        sys.stderr.flush()
        text = sys.stderr.buffer.getvalue().decode()
        lines = [line for line in text.splitlines() if "found" in line]
        said.write("\n".join(lines[-1:] if code else []))
        if "Traceback" in text or (code and len(lines) != 1):
            return 99, text
        return code, said.getvalue()
    try:
        part = load_part(path, unit=None if not unit else "mm")
        if is_planned:
            record.plan_json(
                build_plan(part, Job(draw=(0.0, 0.0, 1.0), memory_mb=1.0, n_attitudes=16))
            )
        else:
            examine(part)
            pitch_mm = max(part.check.extent_mm) / 64
            field.sample(part.vertices_mm, part.faces, part.cap_faces, np.eye(3), pitch_mm=pitch_mm)
        return 0, ""
    except CastplanError as error:
        return error.exit_code, str(error)


def try_file(path, *, is_planned, is_whole):
    """Outcome of one file in a process of its own."""
    pages = int(Path("/proc/self/statm").read_text().split()[0]) if os.name == "posix" else 0
    read_end, write_end = os.pipe()
    pid = os.fork()
    if pid == 0:
        os.close(read_end)
        signal.signal(signal.SIGALRM, signal.SIG_DFL)
        signal.alarm(WALL_S)
        resource.setrlimit(resource.RLIMIT_CPU, (LIMIT_S, LIMIT_S))
        bound = pages * resource.getpagesize() + LIMIT_BYTES
        resource.setrlimit(resource.RLIMIT_AS, (bound, bound))
        said_aside = tempfile.TemporaryFile()  # noqa: SIM115
        os.dup2(said_aside.fileno(), 1)
        os.dup2(said_aside.fileno(), 2)
        try:
            answer = run_part(path, is_planned=is_planned, is_whole=is_whole)
        except BaseException as error:
            import traceback

            answer = (99, "".join(traceback.format_exception(error)))
        said_aside.seek(0)
        aside = said_aside.read().decode(errors="replace")
        if aside and not is_whole:
            answer = (96, aside)
        with os.fdopen(write_end, "w") as pipe:
            json.dump(answer, pipe)
        os._exit(0)
    os.close(write_end)
    with os.fdopen(read_end) as pipe:
        text = pipe.read()
    _, status, usage = os.wait4(pid, 0)
    seconds = usage.ru_utime + usage.ru_stime
    code, said = json.loads(text) if text else (98, f"ended by signal {status & 127}")
    if code in (2, 3, 4) and ("\n" in said or not said):
        code = 97
    scale = 1 if sys.platform == "darwin" else 1024
    return code, said, seconds, usage.ru_maxrss * scale


def campaign(numbers, seed, keep, results):
    """Run the files of these numbers; one JSON line each into `results`."""
    sound = mutate.sound_files()
    with tempfile.TemporaryDirectory() as folder:
        for name, data in sound.items():  # warm every import and compiled kernel
            path = Path(folder, f"warm.{mutate.SUFFIX.get(name, name)}")
            path.write_bytes(data)
            if name != "step":
                code, said = run_part(path, is_planned=name == "stl", is_whole=False)
                assert code == 0, (name, said)
        others = {name: data for name, data in sound.items() if name != "step"}
        for number in numbers:
            rng = np.random.default_rng((seed, number))
            name = "step" if rng.random() < STEP_SHARE else sorted(others)[number % len(others)]
            steps = recipe(rng)
            data = mutate.damage(sound[name], steps, sound)
            path = Path(folder, f"{number}.{mutate.SUFFIX.get(name, name)}")
            path.write_bytes(data)
            code, said, seconds, peak = try_file(
                path, is_planned=number % PLAN_EVERY == 0, is_whole=number % CLI_EVERY == 0
            )
            if code > 90 and keep:
                Path(keep).mkdir(parents=True, exist_ok=True)
                (Path(keep) / path.name).write_bytes(data)
            results.write(
                json.dumps([number, name, steps, code, said, round(seconds, 3), peak]) + "\n"
            )
            results.flush()
            path.unlink()


def main():
    """Run a campaign and print its figures."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--files", type=int, default=10_000)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--workers", type=int, default=2)
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
    by_code = collections.Counter(row[3] for row in rows)
    by_format = collections.Counter(row[1] for row in rows)
    print(f"{len(rows)} files: {dict(sorted(by_format.items()))}")
    print(f"exit codes: {dict(sorted(by_code.items()))} (96 and up are faults)")
    for depth, is_of in (
        ("whole command line", lambda n: n % CLI_EVERY == 0),
        ("coarse plan", lambda n: n % CLI_EVERY and n % PLAN_EVERY == 0),
        ("loaded and examined", lambda n: n % CLI_EVERY and n % PLAN_EVERY),
    ):
        some = [row for row in rows if is_of(row[0])]
        slowest, largest = max(some, key=lambda row: row[5]), max(some, key=lambda row: row[6])
        print(
            f"{depth}: {len(some)} files, slowest {slowest[5]:.1f} s of processor ({slowest[1]}), "
            f"peak {largest[6] / 1e6:.0f} MB ({largest[1]})"
        )
    for row in rows:
        if row[3] > 90 or row[6] > LIMIT_BYTES:
            print(f"FAULT {row[0]} {row[1]} {row[2]}\n{row[4]}")


if __name__ == "__main__":
    main()
