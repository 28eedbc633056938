"""Damaged plan folders by the thousand: each command ends well or in one line.

    python tests/bench/fuzz_folders.py [--folders 2000] [--seed 0] [--sealed]

A folder is damaged by `mutate_plan` and read in a process of its own. What is read, and
every tenth that is refused, is given to every command that reads one, each again in a
process of its own, with 30 seconds of processor and 3 GB of addresses on top of what
the program takes. A crash, a traceback, a hang or a fault of castplan's own is a fault.
With --sealed the seal is made anew over the damage, as by a hand that knows how: then
only what is checked of every number and array stands between it and the commands.
Linux and macOS only. Not a test: `tests/property` has the short version.
"""

import argparse
import collections
import contextlib
import io
import os
import resource
import signal
import sys
import tempfile
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import mutate_plan
import plan_folders

LIMIT_S = 30
EVERY = 10
LIMIT_BYTES = 3_000_000_000


def recipe(rng):
    """One kind of damage, or two."""
    kinds = sorted(mutate_plan.KINDS)
    return [
        (kinds[rng.integers(len(kinds))], float(rng.random()), float(rng.random()))
        for _ in range(1 + (rng.random() < 0.2))
    ]


def commands(folder, aside):
    """Each command that reads a plan folder, by its name."""
    plan = str(folder)
    insert = str(plan_folders.SAMPLES / "posts.stl")
    return {
        "read": ["read", plan],
        "cast": ["cast", plan, "--date", "2026-12-05", "--result", "good"],
        "diagnose": ["diagnose", plan],
        "revise": ["revise", plan, "--out", str(aside / "revised")],
        "clearance": ["clearance", plan, "--insert", insert, "--units", "mm", "--at", "0,0,0"],
        "view": ["view", plan],
        "mix": ["mix", "--plan", plan],
        "learn": ["materials", "learn", plan],
        "picture": ["picture", plan, "vents", "--out", str(aside / "vents.svg")],
    }


def read(folder):
    """What every command does first."""
    from castplan.files.cast_file import read_log
    from castplan.files.plan_folder import read_plan

    read_plan(folder)
    read_log(folder)


def run(words, told):
    """The command in this process; its exit code, and what it said of an error."""
    import webbrowser

    from castplan import cli

    webbrowser.open = lambda address: True
    sys.argv = ["castplan", *words]
    said = io.StringIO()
    code = 0
    try:
        with contextlib.redirect_stderr(said), contextlib.redirect_stdout(io.StringIO()):
            sys.stderr.reconfigure = sys.stdout.reconfigure = lambda **_: None
            if words[0] == "read":
                cli.app = lambda **_: read(words[1])
            cli.main()
    except SystemExit as end:
        code = end.code if isinstance(end.code, int) else 0
    lines = said.getvalue().strip().splitlines()
    os.write(told, f"{code}|{len(lines)}|{' '.join(lines)[:300]}".encode())


def outcome(words):
    """What a command ends in, in a process of its own."""
    ear, told = os.pipe()
    child = os.fork()
    if not child:
        try:
            size = int(Path("/proc/self/statm").read_text().split()[0]) * resource.getpagesize()
            resource.setrlimit(resource.RLIMIT_AS, (size + LIMIT_BYTES,) * 2)
            resource.setrlimit(resource.RLIMIT_CPU, (LIMIT_S, LIMIT_S))
            signal.alarm(8 * LIMIT_S)
            run(words, told)
        except BaseException as error:
            os.write(told, f"1|1|{type(error).__name__}: {error}"[:300].encode())
        finally:
            os._exit(0)
    os.close(told)
    pieces = []
    while piece := os.read(ear, 4096):
        pieces.append(piece)
    os.close(ear)
    _, status = os.waitpid(child, 0)
    if os.WIFSIGNALED(status):
        name = signal.Signals(os.WTERMSIG(status)).name
        return ("hang" if name in ("SIGXCPU", "SIGALRM") else "crash"), name
    code, n_lines, said = b"".join(pieces).decode("utf-8", "replace").split("|", 2)
    # Progress goes to the same stream, before the line that ends it.
    is_told = code in ("2", "3", "4") and int(n_lines) <= 2
    return ("exit 0" if code == "0" else f"exit {code}" if is_told else "fault"), said


def main():
    """Damage, run, and print a table of outcomes."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--folders", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--sealed", action="store_true")
    asked = parser.parse_args()
    # Loaded before the forks, so that a child starts at once.
    import castplan.after.revise
    import castplan.door
    import castplan.pictures.write  # noqa: F401

    rng = np.random.default_rng(asked.seed)
    count, faults = collections.Counter(), []
    with tempfile.TemporaryDirectory() as place:
        os.environ["CASTPLAN_HOME"] = str(Path(place) / "home")
        sound = plan_folders.sound_files(Path(place) / "sound")
        for number in range(asked.folders):
            steps = recipe(rng)
            files = mutate_plan.damage(sound, steps)
            if asked.sealed:
                files = plan_folders.sealed(files)
            is_read = True
            for name in commands(Path(place), Path(place)):
                if not is_read and number % EVERY:
                    continue
                folder = Path(place) / f"{number}-{name}"
                plan_folders.lay_out(folder, files)
                end, said = outcome(commands(folder, folder)[name])
                count[name, end] += 1
                is_read = is_read and (name != "read" or end == "exit 0")
                if end in ("fault", "crash", "hang"):
                    faults.append((name, end, steps, said))
                    print(f"FAULT {name} {end} {steps}: {said}", flush=True)
                plan_folders.clear(folder)
    ends = ("exit 0", "exit 2", "exit 3", "exit 4", "fault", "crash", "hang")
    print("command    " + "".join(f"{end:>8}" for end in ends))
    for name in commands(Path("."), Path(".")):
        print(f"{name:11s}" + "".join(f"{count[name, end]:8d}" for end in ends))
    print(f"{asked.folders} folders, {count.total()} runs, {len(faults)} faults")


if __name__ == "__main__":
    main()
