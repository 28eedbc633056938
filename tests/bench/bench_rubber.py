"""The rule of the rubber against finite elements, undercut by undercut.

    python tests/bench/bench_rubber.py [--only hook] [--library]

With ``--library`` the elements are those of FElupe (`rubber_judge`), eased only.
Not a test: the whole table takes some minutes. A part of it is held in
tests/reference/test_rubber.py.
"""

import argparse
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from rubber_cases import UNDERCUTS, before, rule_for
from rubber_pull import largest_stretch


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--only", default="", help="undercuts whose name has this")
    parser.add_argument("--library", action="store_true", help="by FElupe's elements")
    asked = parser.parse_args()
    wanted = asked.only
    if asked.library:
        _by_library(wanted)
        return
    print("| undercut | before | eased: elements, rule | pulled straight: elements, rule |")
    print("|---|---|---|---|")
    for name, shape in UNDERCUTS.items():
        if wanted not in name:
            continue
        eased, pulled = rule_for(shape)
        # A core cannot be eased aside: it must be pulled through.
        judged = "-" if shape.is_core else f"{largest_stretch(shape, is_aside=True):.2f}"
        straight = largest_stretch(shape, is_aside=False)
        print(
            f"| {name} | {before(shape):.2f} | {judged}, {eased:.2f} | {straight:.2f}, "
            f"{pulled:.2f} |",
            flush=True,
        )


def _by_library(wanted):
    from rubber_judge import stretch_at_rest

    for name, shape in UNDERCUTS.items():
        if wanted in name and not (shape.flare or shape.is_core):
            try:
                stretch = f"{stretch_at_rest(shape):.2f}"
            except ValueError:
                stretch = "-"
            print(f"| {name} | {stretch} | {rule_for(shape)[0]:.2f} |", flush=True)


if __name__ == "__main__":
    main()
