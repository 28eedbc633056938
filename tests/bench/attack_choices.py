"""What can be typed at its edges, and how each command ends.

    python tests/bench/attack_choices.py [--typed 0] [--edges] [--only WORD]

typed        Every option of every command, with words and numbers that nobody means: 40 of
             them each, or so many drawn at random. Nothing may be written.
edges        The whole of `castplan plan` over a box and a hook at the least and at the most
             of every number that a job takes: what follows from it (cups, tiles, keys,
             vents, steps, columns) is bounded too.

Each may take 30 seconds of processor and 2 GB on top of the program; a traceback, exit 1,
a crash or more than one line is a fault. Linux only. Not a test:
`tests/property/test_options_at_their_edges.py` is the short version.
"""

import argparse
import os
import random
import shutil
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import page_server
import plan_folders
import shapes
from watched import Worker, print_table, run_command

TYPED = ("nan", "inf", "-inf", "-0", "1e-300", "1e308", "-1e308", "1e18", "1e5", "0", "-1", "7")
TYPED += ("\uff11\uff12", "", " ", "x" * 100_000, "9" * 5000, "0,0", "1,1,1", "1e308,1e308,1e308")
TYPED += ("nan,0,1", "1e-300,0,0", "\u202e1", "1\n2", "a=1e308", "a=" + "9" * 400, "=1", "a=0")
TYPED += (f"{'a' * 10_000}=5", "a=5:+-" + "9" * 400, "9" * 400 + "ml", "0ml", "1/0 ml", "1e308ml")
TYPED += ("99999999999999l", "1e300kg", "\ud800", "../../x", "/dev/zero", "/dev/stdin", "NUL", "-")
TYPED += ("2026-99-99", "0000-01-01", "9" * 30, "+z", "0x10", "1_000", "1e", "1,5", "%s%n", "~")


def commands(place):
    """Each command with what it needs to end well; the option that is tried comes last."""
    part, plan, out = str(place / "box.stl"), str(place / "plan"), str(place / "out")
    mm = ["--units", "mm"]
    return {
        # These work for long where all is well: of what is not there, all but that is checked.
        ("plan",): [str(place / "none.stl"), *mm, "--out", out],
        ("batch",): [str(place / "none"), *mm, "--out", out],
        ("view",): [str(place / "none")],
        ("check",): [part, *mm],
        ("repair",): [part, *mm, "--out", out + ".stl"],
        ("mix",): ["--card", "silicone-tin-25a", "--volume", "100ml"],
        ("estimate",): ["--length", "40", "--width", "30", "--height", "20"],
        ("cast",): [plan, "--date", "2026-12-05", "--result", "good"],
        ("diagnose",): [plan],
        ("revise",): [plan, "--out", out],
        ("clearance",): [plan, "--insert", part, *mm, "--at", "0,0,0"],
        ("wall",): ["--out", out + ".pdf"],
        ("picture",): [plan, "vents", "--out", out + ".svg"],
        ("materials", "learn"): [plan],
        ("materials", "add"): ["our-tin"],
    }


def options():
    """The options of each command that take a value."""
    import typer

    from castplan import cli

    tree = typer.main.get_command(cli.app)
    found = {}
    for name, command in tree.commands.items():
        for inner, one in getattr(command, "commands", {"": command}).items():
            found[(name, inner) if inner else (name,)] = [
                each.opts[-1]
                for each in one.params
                if each.opts[-1].startswith("--") and not getattr(each, "is_flag", False)
            ]
    return found


def typed(count, place, only):
    """Try what is typed: rows of command and how it ended."""
    (place / "box.stl").write_bytes(page_server.stl_of(shapes.box(40.0, 30.0, 20.0)))
    plan_folders.write(place / "plan", plan_folders.coarse_plan())
    known, rows = options(), []
    tries = [
        (command, option, text)
        for command in commands(place)
        for option in known.get(command, ())
        for text in TYPED
        if only in " ".join((*command, option))
    ]
    if count:
        tries = random.Random(7).sample(tries, min(count, len(tries)))
    os.chdir(place)
    before = sorted(path.name for path in place.iterdir())
    worker = Worker(run_command)
    for command, option, text in tries:
        words = [*command, *commands(place)[command], option, text]
        code, said, seconds, _ = worker.take(words)
        rows.append((" ".join(command), code))
        after = sorted(path.name for path in place.iterdir())
        # A log is the one thing that a command may add to of its own.
        if code > 90 or (code and after != before):
            print(f"FAULT {command} {option} {text[:60]!r} {code} {seconds:.1f} s: {said[-600:]}")
        for name in set(after) - set(before):
            path = place / name
            shutil.rmtree(path) if path.is_dir() else path.unlink()
    worker.end()
    return rows


def edge_values():
    """The least and the most of each number that has an option, as it is typed."""
    from castplan.choices import CHOICES

    for choice in CHOICES.values():
        if not choice.option or choice.least is None:
            continue
        for number in (choice.least, choice.most):
            text = f"{number:g}" if choice.kind != "count" else str(number)
            if choice.kind == "lengths":
                yield choice.option, ",".join([text] * choice.count)
            elif choice.kind == "places":
                yield choice.option, ",".join([text] * 3)
            elif choice.kind == "number" and choice.option == "pigment":
                yield choice.option, f"{100 * number:g}%"
            elif choice.kind in ("number", "count"):
                yield choice.option, text


def edges(place, only):
    """Whole plans at the edges: rows of option and how it ended."""
    box = place / "box.stl"
    box.write_bytes(page_server.stl_of(shapes.box(40.0, 30.0, 20.0)))
    bodies = {"box": (box, "open"), "hook": (plan_folders.SAMPLES / "coat_hook.stl", "two-part")}
    worker, rows = Worker(run_command), []
    for option, text in edge_values():
        for name, (path, mould) in bodies.items():
            if only not in option:
                continue
            out = place / "out"
            words = ["plan", str(path), "--units", "mm", "--mould", mould, "--draw", "+z"]
            words += [] if option == "pitch" else ["--pitch", "1"]
            words += ["--out", str(out), f"--{option}", text]
            code, said, seconds, peak = worker.take(words)
            rows.append((f"--{option}", code))
            mark = "FAULT " if code > 90 or (code and out.exists()) else ""
            line = f"{mark}{name} --{option} {text}: {code}, {seconds:.1f} s, {peak / 1e6:.0f} MB"
            print(line, said[-600:] if code > 90 else said[:120], flush=True)
            shutil.rmtree(out, ignore_errors=True)
    worker.end()
    return rows


def main():
    """Run what is asked for, and print a table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--typed", type=int, help="how many; 0 for all")
    parser.add_argument("--edges", action="store_true")
    parser.add_argument("--only", default="", help="commands and options that hold this word")
    asked = parser.parse_args()
    import castplan.door  # noqa: F401  loaded once, before the forks

    with tempfile.TemporaryDirectory() as place:
        os.environ["CASTPLAN_HOME"] = str(Path(place) / "home")
        place = Path(place) / "work"
        place.mkdir()
        for title, rows in (
            ("typed", typed(asked.typed, place, asked.only) if asked.typed is not None else []),
            ("at the edge", edges(place, asked.only) if asked.edges else []),
        ):
            if rows:
                print_table(title, rows)
                print(f"{len(rows)} runs, {sum(code > 90 for _, code in rows)} faults", flush=True)


if __name__ == "__main__":
    main()
