"""Times of step pictures: every picture of a plan, at about so many triangles.

    python tests/bench/bench_step_pictures.py [TRIANGLES] [SAMPLE ...]

The sample's facets are split until there are as many. Each picture is drawn once before
it is timed: kernels are compiled, and the plan's bodies made, as they are in a shop's
second plan. Wall clock and processor time, the best of three.
"""

import sys
import time
from pathlib import Path

import numpy as np
import trimesh

import castplan
from castplan import step_pictures

SAMPLES = Path(__file__).parents[2] / "sample_parts"


def split_to(mesh, n_triangles):
    """The mesh with its longest edges split until it has so many facets."""
    vertices, faces = mesh.vertices, mesh.faces
    longest = float(mesh.edges_unique_length.max())
    while len(faces) < n_triangles:
        longest *= 0.8
        vertices, faces = trimesh.remesh.subdivide_to_size(
            mesh.vertices, mesh.faces, max_edge=longest, max_iter=40
        )
    return np.asarray(vertices), np.asarray(faces)


def best_of(draw, n=3):
    """Least wall clock and processor time of some calls [s]."""
    draw()
    times = []
    for _ in range(n):
        wall, cpu = time.perf_counter(), time.process_time()
        draw()
        times.append((time.perf_counter() - wall, time.process_time() - cpu))
    return np.min(times, axis=0)


def main():
    """Print a line for each picture."""
    n_triangles = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    for name in sys.argv[2:] or ("coat_hook", "sliding_catch", "drawer_pull", "louvre_grille"):
        mesh = trimesh.load_mesh(SAMPLES / f"{name}.stl")
        vertices, faces = split_to(mesh, n_triangles)
        plan = castplan.plan((vertices, faces), unit="mm").record
        print(f"{name}: {len(plan.part.faces)} triangles")
        for picture in step_pictures.list_names(plan):
            wall, cpu = best_of(
                lambda plan=plan, one=picture: step_pictures.draw_picture(plan, one)
            )
            print(f"  {picture:12} {1000 * wall:6.0f} ms, {1000 * cpu:6.0f} ms of a core")


if __name__ == "__main__":
    main()
