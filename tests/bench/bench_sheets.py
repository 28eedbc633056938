"""How long the paper takes beside the plan itself.

    python tests/bench/bench_sheets.py [PART.stl]

Not a test: machines differ. Seconds of one core's work (user and system) are
shown for laying out, writing and both on either paper, and as a share of the
planning of the same part within the same run. Without a part, the sample
whose sheets take longest is used. Kernels and fonts are warmed first.
"""

import argparse
import time
from dataclasses import replace
from pathlib import Path

PARTS = Path(__file__).resolve().parents[2] / "sample_parts"
SUBJECT = "louvre_grille"  # the most pages
LIMIT_S = 6.0  # what the sheets of the largest sample may take
N_RUNS = 5


def seconds(work):
    """What `work` returns, and the least of some runs' seconds on one core."""
    times = []
    for _ in range(N_RUNS):
        begun = time.process_time()
        made = work()
        times.append(time.process_time() - begun)
    return made, min(times)


def main():
    """Plan one part, then print it."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("part", nargs="?", type=Path, default=PARTS / f"{SUBJECT}.stl")
    path = parser.parse_args().part
    from castplan.paper.pdf import pdf_bytes
    from castplan.paper.sheets import build_sheets
    from castplan.part.load import load_part
    from castplan.planning import build_plan
    from castplan.records import Job

    part = load_part(path, unit="mm")
    plan = build_plan(part, Job())
    pdf_bytes(build_sheets(plan), title="", version="")
    plan, plan_s = seconds(lambda: build_plan(part, Job()))
    print(f"{path.stem}: planning {plan_s:.2f} s on one core")
    for paper in ("A4", "Letter"):
        told = replace(plan, job=replace(plan.job, paper=paper))
        pages, lay_s = seconds(lambda told=told: build_sheets(told))
        data, write_s = seconds(lambda pages=pages: pdf_bytes(pages, title="", version=""))
        both_s = lay_s + write_s
        print(
            f"{paper}: {len(pages)} pages, {len(data) / 1000:.0f} kB: laying out {lay_s:.3f} s, "
            f"writing {write_s:.3f} s, together {both_s:.3f} s, {both_s / plan_s:.2f} of the "
            f"planning, {LIMIT_S / both_s:.0f} times under {LIMIT_S:g} s"
        )


if __name__ == "__main__":
    main()
