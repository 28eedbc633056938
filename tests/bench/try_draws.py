"""Build the parting of every draw that a body of trim lists, and rank the draws by it.

    python tests/bench/try_draws.py [NAME ...] [--json FILE]

Not a test: it shows where the bill of the search and the bill of the finished line
disagree. A row a body, in it the listed draws, best first:

    cost     what the draw costs by the search's bill, minutes
    line     of it what the search took for its line (the least of holding and following)
    built    what the line that is built costs, its kind before it, and the cheapest kind's
    in all   the draw's cost with the line that is built

DRAW marks a body of which another listed draw costs less once built, KIND one of
which another kind of parting does along the chosen draw; by over half a minute.
"""

import argparse
import json
import os
import sys
from pathlib import Path

os.environ.setdefault("CASTPLAN_HOME", "/nonexistent")  # not the shop's own cards
sys.path[:0] = [str(Path(__file__).parents[1]), str(Path(__file__).parents[2])]

import numpy as np  # noqa: E402
import trim_bodies  # noqa: E402
import trim_trial  # noqa: E402

from castplan.columns import field as columns  # noqa: E402
from castplan.columns.gaps import find_gaps  # noqa: E402
from castplan.geometry import frames  # noqa: E402
from castplan.part.show_face import settle_show_face, show_slope  # noqa: E402
from castplan.records import Job  # noqa: E402
from castplan.split.box import choose_box  # noqa: E402
from castplan.split.draw import find_draw, tie_volume_mm3  # noqa: E402
from castplan.split.line import Drawn, find_lines  # noqa: E402
from castplan.split.parting import find_parting  # noqa: E402
from castplan.split.seam import find_seam, seam_heights  # noqa: E402
from castplan.split.wish import LineWish  # noqa: E402

ACROSS = 256  # columns along the longest side
WORTH_MIN = 0.5


def draws_of(part, job):
    """Listed draws of a part with the parting that is built for each, as rows."""
    _, job, _ = settle_show_face(part, job)
    draw = find_draw(part, job)
    return [_row(part, job, candidate) for candidate in draw.candidates]


def _row(part, job, candidate):
    tie_mm3, weights = tie_volume_mm3(part), job.draw_weights
    frame = frames.frame_along(candidate.direction, frames.hull_points(part))
    pitch_mm = max(part.check.extent_mm) / ACROSS
    pitch_mm = frames.view_pitch(part, job, frame, pitch_mm=pitch_mm)
    closed = part.vertices_mm, part.faces, part.cap_faces
    field = columns.sample(*closed, frame.rotation, pitch_mm=pitch_mm)
    gaps, slope = find_gaps(field), show_slope(frame, job)
    parting = find_parting(field, gaps, tie_mm3=tie_mm3, show_slope=slope)
    box = choose_box(field, job, part_mm3=part.check.volume_mm3)
    seam = find_seam(part, frame, field, job)
    heights = seam_heights(seam, within_mm=3 * field.pitch_mm)
    wish = LineWish(tie_mm3=tie_mm3, seam_heights=heights, show_slope=slope)
    drawn = Drawn(field=field, gaps=gaps, parting=parting)
    line = find_lines(drawn, job, wish, ends_mm=(box.low_mm, box.high_mm))[0].line
    extra_min = weights.trapped_min_per_ml * (candidate.trapped_mm3 - candidate.locked_mm3) / 1000
    following_min = weights.following_min + weights.line_min_per_mm * candidate.line_climb_mm
    costs = {option.kind: option.cost_min for option in line.options}
    taken_min = min(extra_min, following_min)
    return {
        "draw": [round(float(v), 3) + 0.0 for v in candidate.direction],
        "origin": candidate.origin,
        "cost_min": candidate.cost_min,
        "line_min": taken_min,
        "kind": line.kind,
        "built_min": costs[line.kind],
        "least_min": min(costs.values()),
        "all_min": candidate.cost_min - taken_min + costs[line.kind],
    }


def wrong(rows):
    """What is the matter with a ranking, in a few words."""
    found = []
    if rows[0]["all_min"] > min(row["all_min"] for row in rows) + WORTH_MIN:
        found.append("DRAW")
    if rows[0]["built_min"] > rows[0]["least_min"] + WORTH_MIN:
        found.append("KIND")
    return found


def told(row):
    """One draw as it is printed."""
    way = ",".join(f"{v:.2f}".rstrip("0").rstrip(".") for v in row["draw"])
    return (
        f"{way} cost {row['cost_min']:.1f} line {row['line_min']:.1f} {row['kind']} "
        f"{row['built_min']:.1f}/{row['least_min']:.1f} in all {row['all_min']:.1f}"
    )


def main():
    """Run the bodies that are named, or all."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("names", nargs="*", help="bodies; all if left out")
    parser.add_argument("--json", help="file for the rows")
    chosen = parser.parse_args()
    found = {}
    for name in chosen.names or trim_bodies.MAKERS:
        body, part = trim_trial.load(name)
        found[name] = draws_of(part, Job(**body.choices))
        draws = " | ".join(told(row) for row in found[name])
        print(f"{name:27} {draws}  {' '.join(wrong(found[name]))}", flush=True)
    for what in ("DRAW", "KIND"):
        n = sum(what in wrong(rows) for rows in found.values())
        print(f"{what}: {n} of {len(found)}")
    off = [abs(row["built_min"] - row["line_min"]) for rows in found.values() for row in rows]
    print(f"built line against the search's: median {np.median(off):.1f} min apart")
    if chosen.json:
        Path(chosen.json).write_text(json.dumps(found, indent=1), encoding="utf-8")


if __name__ == "__main__":
    main()
