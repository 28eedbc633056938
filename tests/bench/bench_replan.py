"""What one change of a choice costs on the page, against a plan made anew.

    python tests/bench/bench_replan.py [--triangles 100000]

Times are of one run, kernels warm, best of three; processor seconds beside the
clock's, because machines do other things too. Not a test.
"""

import argparse
import time
from dataclasses import replace

import numpy as np
from bench_plan import subdivided

from castplan.files import record
from castplan.memory import Memory
from castplan.planning import build_plan
from castplan.records import Job

N_BEST = 3


def timed(work):
    """Seconds of the clock and of the processor, and the answer."""
    clock, processor = time.perf_counter(), time.process_time()
    answer = work()
    return time.perf_counter() - clock, time.process_time() - processor, answer


def changes_of(plan):
    """Name of a change, and jobs that make it each in another way."""
    job = plan.job
    base = float(plan.split.parting.heights_mm[0])
    middle = float(plan.split.line.box_height_mm) - base
    frame = plan.air.openings.frame
    vents = [
        tuple(float(v) for v in frame.to_part(np.array(port.place_mm)))
        for port in plan.mould.block.ports
        if port.kind == "vent"
    ]
    moved = [
        tuple(tuple(np.add(place, (0, 0.1 * k, 0)).tolist()) for place in vents)
        for k in range(1, 4)
    ]
    return {
        "height of the split": [
            replace(job, parting="level", parting_height_mm=middle + 0.3 * k) for k in (1, 2, 3)
        ],
        "vents": [replace(job, vents_at=places) for places in moved],
        "copies": [replace(job, copies=k) for k in (2, 3, 4)],
        "resin's temperature": [replace(job, shop_temperature_c=c) for c in (18.0, 19.0, 20.0)],
        "bore of the gate": [replace(job, gate_mm=mm) for mm in (5.0, 6.5, 7.0)],
        "stand": [replace(job, up=up) for up in ((0, 0, 1), (0, 1, 0), (1, 0, 0))],
        "wall": [replace(job, wall_mm=mm) for mm in (14.0, 15.0, 16.0)],
    }


def main():
    """Print a line for each change."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--triangles", type=int, default=100_000)
    part = subdivided(parser.parse_args().triangles)
    build_plan(part, Job())  # compiled kernels
    runs = [timed(lambda: build_plan(part, Job())) for _ in range(N_BEST)]
    whole_s, whole_cpu_s, plan = min(runs, key=lambda run: run[0])
    print(f"{len(part.faces):,} triangles, anew: {whole_s:.2f} s, {whole_cpu_s:.2f} s of processor")
    memory = Memory()
    with memory.at_work():
        build_plan(part, Job())
        for name, jobs in changes_of(plan).items():
            seen = []
            for job in jobs:
                memory.n_asked = memory.n_worked = 0
                seen.append((*timed(lambda job=job: build_plan(part, job)), memory.n_worked))
            clock_s, cpu_s, _, n_worked = min(seen, key=lambda run: run[0])
            print(
                f"{name}: {clock_s:.3f} s, {cpu_s:.3f} s of processor, {n_worked} of "
                f"{memory.n_asked} stages; {whole_s / clock_s:.0f} times faster"
            )
        with memory.at_work():
            last = build_plan(part, jobs[-1])
    assert record.plan_json(last) == record.plan_json(build_plan(part, jobs[-1]))


if __name__ == "__main__":
    main()
