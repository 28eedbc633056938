"""How long box, keys and halves take, and how many triangles the halves have.

    python tests/bench/bench_mould.py [--triangles 100000]

Not a test: times are shown, not judged. Processor seconds stand beside the
clock's, since other programs may run at the same time; best of three.
"""

import argparse
import sys
import time
from itertools import pairwise
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import bodies
import moulds
import shapes
from output.neutral import filled

from castplan import records
from castplan.mould.bed import make_bed
from castplan.mould.cut import Cut
from castplan.mould.halves import make_halves
from castplan.mould.keys import lay_out_keys
from castplan.split.box import choose_box

SURFACES = {
    "level": lambda x, y: np.zeros_like(x),
    "tilted": lambda x, y: 0.1 * x,
    "following": lambda x, y: 3.0 * np.sin(x / 20.0) * np.cos(y / 17.0),
}
N_NODES = 129  # across the box, as a plan has them


def main(arguments=None):
    """Time each kind of surface on a torus of so many triangles."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--triangles", type=int, default=100_000)
    wanted = parser.parse_args(arguments)
    n_tube = max(int(np.sqrt(wanted.triangles / 6.4)), 8)
    n_ring = max(wanted.triangles // (2 * n_tube), 8)
    body = shapes.torus(n_ring=n_ring, n_tube=n_tube)
    part = shapes.part_of(body.vertices_mm, body.faces)
    field = bodies.look(body.vertices_mm, body.faces, pitch_mm=80 / 512)
    job, up = records.Job(), moulds.UPRIGHT
    print(f"{len(body.faces):,} triangles; clock s / processor s, best of three")
    for name, height in SURFACES.items():
        best, halves = {}, None
        for _ in range(3):
            marks = [("", time.perf_counter(), time.process_time())]

            def note(step, marks=marks):
                marks.append((step, time.perf_counter(), time.process_time()))

            box = choose_box(field, job, part_mm3=body.volume_mm3)
            note("box")
            surface = moulds.surface_over(box, height, n=N_NODES)
            ports = (
                moulds.port(box, (30.0, 0.0, 9.9), kind="gate", diameter_mm=8.0, label="G"),
                moulds.port(box, (-30.0, 0.0, 9.9)),
            )
            mould = filled(records.MouldResult, ports=ports)
            keys = lay_out_keys(field, moulds.split_of(box, surface), mould, job)
            note("keys")
            cut = Cut(frame=up, surface=surface, box=box, keys=keys, ports=ports)
            halves = make_halves(part, cut)
            note("halves")
            spent = {step: (b - a, q - p) for (_, a, p), (step, b, q) in pairwise(marks)}
            spent["all"] = tuple(map(sum, zip(*spent.values(), strict=True)))
            best = {k: min(v, best.get(k, v), key=lambda pair: pair[1]) for k, v in spent.items()}
        times = "  ".join(f"{k} {a:.2f}/{b:.2f}" for k, (a, b) in best.items())
        n = len(halves.upper.faces) + len(halves.lower.faces)
        off = halves.upper.volume_mm3 + halves.lower.volume_mm3
        off = (off + halves.cavity_mm3 + halves.ports_mm3) / halves.box_mm3 - 1
        ratio = n / len(body.faces)
        print(f"{name:10} {times}  halves {ratio:.2f} x the triangles, law {off:.0e}")
    start = time.process_time()
    bed = make_bed(field, cut, job)
    print(f"bed        {time.process_time() - start:.2f} s, {sum(len(b.faces) for b in bed):,} tri")


if __name__ == "__main__":
    main()
