"""Which mould is chosen for bodies that a mould maker would judge at sight.

    python tests/bench/try_kinds.py [WORD ...] [--shipped N] [--pictures DIR] [--markdown FILE]
                                    [--times]

Not a test: the six samples, bodies made for it (`tests/kind_bodies.py`) and meshes that
installed packages ship are planned with the kind left to castplan. A row says what was
chosen, what every other kind would take or why it is none, and how many stops the plan
has; the pictures are the overviews, to be looked at one by one. WORD takes the bodies
whose name holds it. `--times` plans each in two halves as well and tells the processor's
seconds of both.
"""

import argparse
import os
import sys
import time
import traceback
from pathlib import Path

os.environ.setdefault("CASTPLAN_HOME", "/nonexistent")  # not the shop's own cards
sys.path[:0] = [str(Path(__file__).parents[k]) for k in (0, 1, 2)]

import kind_bodies  # noqa: E402
import sweep_meshes  # noqa: E402

from castplan import step_pictures  # noqa: E402
from castplan.errors import CastplanError  # noqa: E402
from castplan.part.load import Reading, Source, load_part, part_from_arrays  # noqa: E402
from castplan.planning import build_plan  # noqa: E402
from castplan.records import Job  # noqa: E402
from castplan.words.kinds import kind_sentence  # noqa: E402

SAMPLES = Path(__file__).parents[2] / "sample_parts"
# Robots' shells of many bodies take minutes, furniture fits no bench.
MOST_MM, MOST_FACETS = 350.0, 25_000
COARSE = {"n_directions": 120, "n_attitudes": 120}


def parts(n_shipped):
    """Name, maker of a part and the kinds that would be expected, or nothing."""
    for path in sorted(SAMPLES.glob("*.stl")):
        yield path.stem, lambda path=path: read(path, "mm"), (), {}
    for name, (make, kinds) in kind_bodies.BODIES.items():
        yield name, lambda make=make, name=name: made(make, name), kinds, COARSE
    found = sorted(sweep_meshes.shipped_meshes(), key=lambda item: item[0])
    step = max(1, -(-len(found) // n_shipped)) if n_shipped else 1
    for name, path, unit in found[::step] if n_shipped else ():
        yield name.split(": ")[1], lambda path=path, unit=unit: read(path, unit), (), COARSE


def read(path, unit):
    """A file as a part."""
    reading = Reading(unit=unit, measured=None, closing=None, is_size_meant=True)
    return load_part(path, reading)


def made(make, name):
    """A body of manifold3d as a part."""
    points, faces = kind_bodies.mesh_of(make())
    return part_from_arrays(points, faces, name=name, source=Source())


def offer_words(offer):
    """One kind in a few numbers."""
    if offer.why_not:
        return f"{offer.kind}: {offer.why_not}"
    return (
        f"{offer.kind}: {offer.silicone_g:.0f} g, {offer.hands_on_min / 60:.1f} h, "
        f"{offer.n_marks} marks, {offer.rubber}, {offer.effort_min:.0f}"
    )


def row_of(name, part, kinds, choices, *, is_timed):
    """What is chosen for a part and why, in words and numbers."""
    begun = time.process_time()
    plan = build_plan(part, Job(**choices))
    auto_s = time.process_time() - begun
    times = f"{auto_s:.1f}"
    if is_timed:
        begun = time.process_time()
        build_plan(part, Job(**choices, mould="two-part"))
        two_s = time.process_time() - begun
        times = f"{auto_s:.2f} / {two_s:.2f} = {auto_s / two_s:.2f}"
    size = " x ".join(f"{v:.0f}" for v in part.check.extent_mm)
    stops = sorted({f.code for f in plan.findings if f.severity == "stop"})
    kind = plan.split.kind
    is_other = bool(kinds) and kind not in kinds
    asked = "; ".join(
        f"{'seen' if each.is_seen else 'hidden'}: {each.offer.kind}" for each in plan.answers
    )
    cells = {
        "part": name,
        "mm": size,
        "kind": f"{kind} (expected {' or '.join(kinds)})" if is_other else kind,
        "sentence": kind_sentence(plan),
        "offers": "; ".join(offer_words(each) for each in plan.offers),
        "asks which side": asked,
        "stops": ", ".join(stops),
        "s": times,
    }
    return plan, cells


def main():
    """Run the bodies that are named, or all."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("words", nargs="*", help="bodies whose name holds one; all if left out")
    parser.add_argument("--shipped", type=int, default=1000, help="at most about so many")
    parser.add_argument("--pictures", type=Path, help="folder for the overview of each")
    parser.add_argument("--markdown", type=Path, help="file for the table")
    parser.add_argument("--times", action="store_true", help="plan each in two halves as well")
    chosen = parser.parse_args()
    if chosen.pictures:
        chosen.pictures.mkdir(parents=True, exist_ok=True)
    rows = []
    for name, make, kinds, choices in parts(chosen.shipped):
        if chosen.words and not any(word in name for word in chosen.words):
            continue
        try:
            part = make()
            check = part.check
            if max(check.extent_mm) > MOST_MM or len(part.faces) > MOST_FACETS:
                continue
            plan, cells = row_of(name, part, kinds, choices, is_timed=chosen.times)
        except CastplanError as error:
            print(f"{name} | refused: {error}", flush=True)
            continue
        except Exception as error:  # a plan that fails is a row too
            print(f"{name} | FAILED {type(error).__name__}: {error}", flush=True)
            traceback.print_exc(limit=-2, file=sys.stderr)
            continue
        rows.append(cells)
        print(" | ".join(cells.values()), flush=True)
        if chosen.pictures:
            file = chosen.pictures / f"{len(rows):02d} {name.replace('/', ' ')}.png"
            file.write_bytes(step_pictures.draw_picture(plan, "overview").png())
    if chosen.markdown and rows:
        lines = [" | ".join(rows[0]), " | ".join("---" for _ in rows[0])]
        lines += [" | ".join(row.values()) for row in rows]
        chosen.markdown.write_text("".join(f"| {line} |\n" for line in lines), encoding="utf-8")


if __name__ == "__main__":
    main()
