"""How long a plan takes, what it takes in memory, and how the search compares.

    python tests/bench/bench_plan.py [--quick]

Not a test: machines differ and are noisy, so times are shown, not judged, and
the search is given as a ratio against Embree within one run. Compiled kernels
are warmed first; every case runs in a process of its own, so that its peak
memory is its own.
"""

import argparse
import json
import subprocess
import sys
import time
from pathlib import Path

import numpy as np

PARTS = Path(__file__).resolve().parents[2] / "sample_parts"
SUBJECT = "coat_hook"


def subdivided(n_triangles):
    """The sample with every edge cut so often that it has about this many facets."""
    import manifold3d

    from castplan.part.load import load_part, part_from_arrays

    part = load_part(PARTS / f"{SUBJECT}.stl", unit="mm")
    mesh = manifold3d.Mesh64(np.array(part.vertices_mm), np.array(part.faces, dtype=np.uint64))
    pieces = max(1, round((n_triangles / len(part.faces)) ** 0.5))
    fine = manifold3d.Manifold(mesh).refine(pieces).to_mesh64()
    return part_from_arrays(
        fine.vert_properties[:, :3], fine.tri_verts, name=f"{SUBJECT} x{pieces}"
    )


def peak_mb():
    """Peak memory of this process so far."""
    import resource

    scale = 1 if sys.platform == "darwin" else 1024
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * scale / 1e6


def time_plan(n_triangles):
    """Seconds of each of three plans, by stage for the best, and peak memory."""
    from castplan.planning import build_plan
    from castplan.records import Job

    part = subdivided(n_triangles)
    build_plan(subdivided(1), Job())  # compiled kernels and imports
    runs = []
    for _ in range(3):
        spans, last = {}, ["start", time.perf_counter()]

        def report(stage, _fraction, spans=spans, last=last):
            now = time.perf_counter()
            spans[last[0]] = spans.get(last[0], 0.0) + now - last[1]
            last[:] = [stage, now]

        begun = time.perf_counter()
        build_plan(part, Job(), progress=report)
        runs.append((time.perf_counter() - begun, spans))
    best = min(runs, key=lambda run: run[0])
    return {
        "triangles": len(part.faces),
        "seconds": [round(run[0], 2) for run in runs],
        "stages": {name: round(span, 3) for name, span in best[1].items() if span > 0.005},
        "peak_mb": round(peak_mb()),
    }


def time_search(n_triangles, *, n_directions, n_rays):
    """The search's scoring of directions against one Embree ray per facet."""
    import trimesh

    from castplan.columns.scores import score_directions
    from castplan.geometry import frames
    from castplan.geometry.directions import lattice
    from castplan.geometry.standin import thin_out
    from castplan.split import draw_seen

    part = subdivided(n_triangles)
    pitch_mm = max(part.check.extent_mm) / draw_seen.SEARCH_ACROSS
    directions = lattice(count=n_directions)
    rotations = np.array([frames.turn_to(d) for d in directions])
    score_directions(part.vertices_mm, part.faces[:100], rotations[:2], pitch_mm=pitch_mm)

    begun = time.perf_counter()
    standin = thin_out(part, n_triangles=draw_seen.N_STANDIN_TRIANGLES, cell_mm=0.5 * pitch_mm)
    score_directions(*standin, rotations, pitch_mm=pitch_mm)
    ours = time.perf_counter() - begun

    mesh = trimesh.Trimesh(part.vertices_mm, part.faces, process=False)
    assert "pyembree" in type(mesh.ray).__module__ or "embree" in type(mesh.ray).__module__
    begun = time.perf_counter()
    origins = mesh.triangles_center
    facing = mesh.face_normals
    mesh.ray.intersects_any(origins[:1], facing[:1])  # builds the tree
    build = time.perf_counter() - begun
    begun = time.perf_counter()
    for direction in directions[:n_rays]:
        ahead = np.where((facing @ direction)[:, None] >= 0, direction, -direction)
        mesh.ray.intersects_any(origins + 1e-4 * facing, ahead)
    theirs = build + (time.perf_counter() - begun) * n_directions / n_rays
    return {
        "triangles": len(part.faces),
        "directions": n_directions,
        "ours_s": round(ours, 2),
        "embree_s": round(theirs, 2),
        "embree_directions_run": n_rays,
        "ratio": round(theirs / ours, 1),
    }


CASES = {
    "plan-10k": lambda: time_plan(10_000),
    "plan-100k": lambda: time_plan(100_000),
    "plan-1M": lambda: time_plan(1_000_000),
    "search-100k": lambda: time_search(100_000, n_directions=200, n_rays=200),
    "search-1M": lambda: time_search(1_000_000, n_directions=200, n_rays=20),
}


def main():
    """Run every case in its own process and print one line each."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--quick", action="store_true", help="leave out the million triangles")
    parser.add_argument("--case", choices=CASES, help="one case, in this process")
    chosen = parser.parse_args()
    if chosen.case:
        print(json.dumps(CASES[chosen.case]()))
        return
    for name in CASES:
        if chosen.quick and name.endswith("1M"):
            continue
        done = subprocess.run(
            [sys.executable, __file__, "--case", name], capture_output=True, text=True, check=True
        )
        print(f"{name:12s} {done.stdout.strip()}", flush=True)


if __name__ == "__main__":
    main()
