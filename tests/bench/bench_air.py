"""How long air takes: the attitude map, one attitude, and GUDHI on voxels for the same.

    python tests/bench/bench_air.py [--quick]

Not a test: times are the best of several within one run, and the comparison
with GUDHI is a ratio within that run. Kernels are compiled first.
"""

import argparse
import json
import time

import gudhi
import numpy as np
from bench_plan import subdivided

from castplan.air import attitude, ups
from castplan.columns import field as columns
from castplan.columns.peaks import find_peaks
from castplan.geometry import frames
from castplan.records import Job

UP = (0.3, 0.2, 1.0)
NO_FACES = np.empty((0, 3), dtype=np.int32)


def best_s(run, *, repeats):
    """Shortest of several runs, seconds."""
    spans = []
    for _ in range(repeats):
        begun = time.perf_counter()
        run()
        spans.append(time.perf_counter() - begun)
    return min(spans)


def sampled(part, across):
    """The part seen along `UP`, its longest side cut into `across` columns."""
    pitch_mm = max(part.check.extent_mm) / across
    return columns.sample(
        part.vertices_mm, part.faces, NO_FACES, frames.turn_to(UP), pitch_mm=pitch_mm
    )


def time_map(n_triangles, *, across, repeats):
    """500 directions on the stand-in, finer rounds included; a plan takes `MAP_ACROSS`."""
    part = subdivided(n_triangles)
    attitude.MAP_ACROSS = across
    attitude.map_ups(part, Job(n_attitudes=20))
    begun_s = time.process_time()
    span_s = best_s(lambda: attitude.map_ups(part, Job(n_attitudes=500)), repeats=repeats)
    # All threads together: what the time would be on one quiet core.
    cpu_s = (time.process_time() - begun_s) / repeats
    return {
        "triangles": len(part.faces),
        "directions": 500,
        "columns_across": across,
        "seconds": round(span_s, 2),
        "cpu_s": round(cpu_s, 2),
    }


def time_one(n_triangles, *, across, repeats):
    """One attitude from mesh to scored openings."""
    part, job = subdivided(n_triangles), Job()
    ups.judge_field(sampled(part, 32), job)
    sample_s = best_s(lambda: sampled(part, across), repeats=repeats)
    field = sampled(part, across)
    judge_s = best_s(lambda: ups.judge_field(field, job), repeats=repeats)
    return {
        "triangles": len(part.faces),
        "columns_across": across,
        "sample_s": round(sample_s, 3),
        "judge_s": round(judge_s, 3),
        "seconds": round(sample_s + judge_s, 3),
    }


def voxels_of(field):
    """The same columns as cubic voxels: height negated inside, infinite outside."""
    z = np.arange(field.low_mm[2] + 0.5 * field.pitch_mm, field.high_mm[2], field.pitch_mm)
    height = np.full((field.n_x * field.n_y, z.size), np.inf)
    for interval, column in enumerate(field.column_of):
        inside = (z > field.bottom_mm[interval]) & (z < field.top_mm[interval])
        height[column, inside] = -z[inside]
    return height.reshape(field.n_y, field.n_x, z.size)


def time_gudhi(n_triangles, *, across, repeats):
    """Peaks of one attitude by the tree, and by GUDHI's cubical complex on the voxels."""
    field = sampled(subdivided(n_triangles), across)
    find_peaks(field)
    ours_s = best_s(lambda: find_peaks(field), repeats=10 * repeats)
    voxels = voxels_of(field)

    def judge():
        cubes = gudhi.CubicalComplex(vertices=voxels)
        cubes.compute_persistence(min_persistence=0.0)
        return cubes.persistence_intervals_in_dimension(0)

    gudhi_s = best_s(judge, repeats=repeats)
    limit_mm = 3 * field.pitch_mm
    bars = judge()
    n_gudhi = int((bars[:, 1] - bars[:, 0] > limit_mm).sum())
    return {
        "columns_across": across,
        "voxels": int(voxels.size),
        "ours_s": round(ours_s, 4),
        "gudhi_s": round(gudhi_s, 2),
        "ratio": round(gudhi_s / ours_s),
        "peaks_ours_gudhi": [int((find_peaks(field).rise_mm > limit_mm).sum()), n_gudhi],
    }


def main():
    """Run all and print one line each."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--quick", action="store_true", help="fewer repeats, no million triangles")
    repeats = 2 if parser.parse_args().quick else 5
    sizes = (100_000,) if repeats == 2 else (100_000, 1_000_000)
    for n in sizes:
        for across in (attitude.MAP_ACROSS, 128):
            found = time_map(n, across=across, repeats=repeats)
            print("map   ", json.dumps(found), flush=True)
        print("one   ", json.dumps(time_one(n, across=512, repeats=repeats)), flush=True)
    for across in (64, 96):
        found = time_gudhi(100_000, across=across, repeats=min(repeats, 2))
        print("gudhi ", json.dumps(found), flush=True)


if __name__ == "__main__":
    main()
