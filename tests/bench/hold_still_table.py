"""Which verdicts flip when a body is written down in another way: bodies by changes.

`python tests/bench/hold_still_table.py [--changes a,b] [--bodies a,b]` prints a line
for each pair that differs, with a star where a plan of the two says that a choice lies
within what it can tell, and the counts at the end.
"""

import argparse
import sys
import time
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

HERE = Path(__file__).resolve()
sys.path[:0] = [str(HERE.parents[1]), str(HERE.parents[2])]

import hold_still  # noqa: E402


def _row(name, changes):
    vertices, faces, choices = hold_still.make(name)
    plain = hold_still.judge(vertices, faces, choices)
    found = hold_still.symmetries(vertices, faces)
    out = []
    for change in changes:
        try:
            moved, triangles, turn = hold_still.CHANGES[change](vertices, faces)
            other = hold_still.judge(moved, triangles, choices, turn)
            differs = hold_still.flips(plain, other, found)
            star = ["*"] if differs and (plain.is_told or other.is_told) else []
            out.append((change, differs + star))
        except Exception as error:  # one fault must not cost the table
            out.append((change, [f"fault {type(error).__name__}: {error}"[:120]]))
    return name, out


def main():
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--changes", default=",".join(hold_still.CHANGES))
    parser.add_argument("--bodies", default=",".join(hold_still.BODIES))
    parser.add_argument("--workers", type=int, default=1)
    asked = parser.parse_args()
    changes, names = asked.changes.split(","), asked.bodies.split(",")
    begun = time.perf_counter()
    n_flipped, n_all = Counter(), Counter()
    with ProcessPoolExecutor(asked.workers) as pool:
        for name, row in pool.map(_row, names, [changes] * len(names)):
            for change, differs in row:
                n_all[change] += 1
                n_flipped[change] += bool(differs)
                if differs:
                    print(f"{name:28} {change:13} {'; '.join(differs)}", flush=True)
    print()
    for change in changes:
        print(f"{change:13} {n_flipped[change]:3} of {n_all[change]}")
    print(f"all           {n_flipped.total():3} of {n_all.total()}", end=", ")
    print(f"{time.perf_counter() - begun:.0f} s")


if __name__ == "__main__":
    main()
