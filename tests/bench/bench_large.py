"""Peak memory and time of a plan on five million triangles, closed and with holes.

    python tests/bench/bench_large.py [--triangles 5000000] [--dir DIR]

Each case runs in a process of its own; the bound is 4 GB. Linux only (it reads
the high-water mark of /proc). Not a test: it takes minutes.
"""

import argparse
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

BOUND_BYTES = 4e9
_RECORD = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("free", "<u2")])


def rippled_torus(n_triangles):
    """Vertices (n, 3) and faces (m, 3) of a ring with waves, 80 mm across."""
    n_tube = int(np.sqrt(n_triangles / 5))
    n_ring = n_triangles // (2 * n_tube)
    u, v = np.meshgrid(
        2 * np.pi * np.arange(n_ring) / n_ring,
        2 * np.pi * np.arange(n_tube) / n_tube,
        indexing="ij",
    )
    radius = 30 + 10 * np.cos(v) + 0.8 * np.sin(9 * u) * np.cos(3 * v)
    points = np.stack([radius * np.cos(u), radius * np.sin(u), 10 * np.sin(v)], axis=-1)
    i, j = np.arange(n_ring)[:, None], np.arange(n_tube)[None, :]
    a, b = i * n_tube + j, ((i + 1) % n_ring) * n_tube + j
    c, d = ((i + 1) % n_ring) * n_tube + (j + 1) % n_tube, i * n_tube + (j + 1) % n_tube
    faces = [np.stack(corners, axis=-1).reshape(-1, 3) for corners in ((a, b, c), (a, c, d))]
    return points.reshape(-1, 3).astype(np.float32), np.concatenate(faces)


def write_stl(path, points, faces):
    """Binary STL, in pieces."""
    with open(path, "wb") as file:
        file.write(bytes(80) + np.uint32(len(faces)).tobytes())
        for start in range(0, len(faces), 500_000):
            piece = faces[start : start + 500_000]
            records = np.zeros(len(piece), _RECORD)
            records["corners"] = points[piece]
            file.write(records.tobytes())


def run_case(path):
    """Plan a file in this process and print its figures."""
    from castplan.part.load import load_part
    from castplan.planning import build_plan
    from castplan.records import Job

    begun = time.perf_counter()
    part = load_part(path, unit="mm")
    loaded = time.perf_counter()
    load_mb = peak_mb()
    build_plan(part, Job())
    planned = time.perf_counter()
    print(
        f"{part.check.n_triangles:,} triangles, {part.check.n_holes} holes: "
        f"load {loaded - begun:.0f} s, {load_mb:.0f} MB; plan {planned - loaded:.0f} s; "
        f"peak {peak_mb():.0f} MB, {'within' if peak_mb() * 1e6 < BOUND_BYTES else 'BEYOND'} 4 GB"
    )


def peak_mb():
    """High-water mark of this process."""
    for line in Path("/proc/self/status").read_text().splitlines():
        if line.startswith("VmHWM"):
            return int(line.split()[1]) * 1024 / 1e6
    raise OSError("no high-water mark")


def main():
    """Write the two files and run each in a process of its own."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--triangles", type=int, default=5_000_000)
    parser.add_argument("--dir", help="where the files go, 250 MB each")
    parser.add_argument("--case", help=argparse.SUPPRESS)
    choices = parser.parse_args()
    if choices.case:
        run_case(choices.case)
        return
    points, faces = rippled_torus(choices.triangles)
    middle = points[faces].mean(axis=1)
    is_kept = np.ones(len(faces), dtype=bool)
    for centre in np.random.default_rng(0).choice(len(faces), 20):
        is_kept &= np.linalg.norm(middle - middle[centre], axis=1) > 1.5
    with tempfile.TemporaryDirectory(dir=choices.dir) as folder:
        for name, kept in (("closed", faces), ("holed", faces[is_kept])):
            path = Path(folder, f"{name}.stl")
            write_stl(path, points, kept)
            subprocess.run([sys.executable, __file__, "--case", str(path)], check=True)


if __name__ == "__main__":
    main()
