"""Many parts: rate against one process, and what the scheduler adds.

    python tests/bench/bench_batch.py [--quick] [--parts N] [--workers N]

Not a test: machines differ and are noisy, so both figures are ratios within one
run; run it where nothing else runs. 200 meshes: bodies of the tests at random
sizes and angles, random solids, and the meshes that packages of the test
requirements ship. Every part is planned and written as `castplan plan` does it.

- rate: parts in a given time, on workers of one thread each, against one
  process on one core. Before both, one part warms what is compiled. Starting
  workers and their children counts.
- machine: the same for every fifth part without any scheduler, in as many bare
  processes, each warmed: what caches and memory shared by the cores leave of it.
- overhead: parts that sleep for a second and come back as large as a plan does,
  against the seconds that they sleep; workers are up before.
- ceiling: parts a second that come through when planning takes no time, and
  that the result folder takes; what more machines cannot raise.
"""

import argparse
import contextlib
import json
import multiprocessing
import os
import sys
import tempfile
import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "reference"))

import bodies
import bodies_split
import numpy as np
import shapes
import test_public_meshes
import trimesh

from castplan.batch import cluster
from castplan.batch.bench import ONE_THREAD, Limits
from castplan.batch.child import plan_parcel
from castplan.batch.order import Order, key_of, pack
from castplan.batch.outcome import Outcome
from castplan.batch.run import WRITERS, plan_missing
from castplan.batch.store import Store
from castplan.records import Job

BODIES = (
    shapes.bell,
    shapes.lipped_cup,
    shapes.t_slot,
    shapes.dovetail,
    shapes.staircase,
    shapes.hook,
    shapes.two_towers,
    shapes.tray,
    shapes.cross_hole_plate,
    shapes.torus,
    bodies.slot_block,
    bodies.bored_block,
    bodies.notched_tray,
    bodies.u_rod,
    bodies.posts,
    bodies_split.hourglass,
    bodies_split.saddle_plate,
    bodies_split.bored_rod,
)
LIMITS = Limits(seconds=600.0, memory_mb=4000.0)
PLAN_BYTES = 900_000  # about what a plan folder holds
SLEEP_S = 1.0


def random_solid(rng):
    """Two to four boxes, balls and cylinders, added or taken away."""
    solid = None
    for _ in range(rng.integers(2, 5)):
        x, y, z = rng.uniform(10, 40, 3)
        kind = rng.integers(3)
        body = (
            shapes.box(x, y, z),
            shapes.sphere(x / 2, 32),
            shapes.frustum(x / 2, y / 2, z, 32),
        )[kind]
        turn = shapes.rotation(int(rng.integers(1 << 30)))
        brick = bodies.solid_of(*bodies.moved(body, rng.uniform(-15, 15, 3), turn))
        if solid is None:
            solid = brick
            continue
        changed = solid - brick if rng.random() < 0.4 else solid + brick
        solid = changed if changed.volume() > 500 else solid
    return bodies.arrays(solid)


def write_stl(path, vertices_mm, faces):
    mesh = trimesh.Trimesh(vertices_mm, faces, process=False)
    path.write_bytes(mesh.export(file_type="stl"))


def make_orders(folder, n_parts):
    """So many parts: shipped meshes that a plan can be made of, then made ones."""
    orders = []
    for name, (unit, outcome) in sorted(test_public_meshes.MESHES.items()):
        if not isinstance(outcome, str):
            path = test_public_meshes.installed()[name]
            orders.append(Order(name=f"shipped-{path.stem}", path=path, job=Job(), unit=unit))
    # A quick run has some of each.
    orders = orders[: n_parts // 3]
    rng = np.random.default_rng(1)
    for number in range(n_parts - len(orders)):
        make = BODIES[number % len(BODIES)]
        if number % 2:
            vertices_mm, faces = random_solid(rng)
        else:
            body = make()
            vertices_mm, faces = shapes.rotated(body.vertices_mm, number), body.faces
        name = f"made-{number}"
        write_stl(folder / f"{name}.stl", rng.uniform(0.8, 2.5) * vertices_mm, faces)
        orders.append(Order(name=name, path=folder / f"{name}.stl", job=Job(), unit="mm"))
    return orders


@contextlib.contextmanager
def one_core():
    """Keep this process to one core: some libraries start threads that no variable limits."""
    if not hasattr(os, "sched_setaffinity"):
        yield
        return
    cores = os.sched_getaffinity(0)

    def keep_to(chosen):
        for thread in os.listdir("/proc/self/task"):
            os.sched_setaffinity(int(thread), chosen)

    keep_to({min(cores)})
    try:
        yield
    finally:
        keep_to(cores)


def time_serial(orders):
    """Seconds of each part by the clock, of the processor for all, and how they ended."""
    plan_parcel(pack(orders[-1]))
    begun_cpu, statuses, seconds = time.process_time(), [], []
    for order in orders:
        begun = time.perf_counter()
        statuses.append(plan_parcel(pack(order)).status)
        seconds.append(time.perf_counter() - begun)
    return seconds, time.process_time() - begun_cpu, statuses


def plan_in_turn(orders, waiting, ready):
    """Plan parts by number, as they come, until none is left."""
    plan_parcel(pack(orders[-1]))
    ready.put(True)
    for number in iter(waiting.get, None):
        plan_parcel(pack(orders[number]))


def time_bare(orders, n_workers):
    """Seconds for all parts in bare processes, once these are warm."""
    spawn = multiprocessing.get_context("spawn")
    waiting, ready = spawn.Queue(), spawn.Queue()
    workers = [
        spawn.Process(target=plan_in_turn, args=(orders, waiting, ready)) for _ in range(n_workers)
    ]
    for worker in workers:
        worker.start()
    for _ in workers:
        ready.get()
    begun = time.perf_counter()
    for number in [*range(len(orders)), *[None] * n_workers]:
        waiting.put(number)
    for worker in workers:
        worker.join()
    return time.perf_counter() - begun


def time_batch(orders, folder, n_workers):
    """Seconds of the whole run on workers, and how the parts ended."""
    store = Store(folder)
    settings = cluster.Settings(limits=LIMITS, n_workers=n_workers)
    begun = time.perf_counter()
    plan_missing(orders, store, settings, is_wanted=lambda: True, report=lambda n_done, n_all: None)
    elapsed_s = time.perf_counter() - begun
    return elapsed_s, store.entries()


def sleep_for_a_plan(parcel, limits):
    """A part of a second whose plan is all zeros, but as large as plans are."""
    time.sleep(SLEEP_S)
    return Outcome(status="planned", files=(("plan", bytes(PLAN_BYTES)),), digest={})


def give_a_plan(parcel, limits):
    """The same without the second."""
    return Outcome(status="planned", files=(("plan", bytes(PLAN_BYTES)),), digest={})


def time_mock(do, orders, n_workers, n_parts):
    """Seconds for so many parts that a worker does `do` for, once workers are up.

    By the clock, and of the processor in this process: client and scheduler.
    """
    orders = [orders[number % len(orders)] for number in range(n_parts)]
    settings = cluster.Settings(limits=LIMITS, n_workers=n_workers)
    cluster.plan_parcel_here = do
    up = []
    for _ in cluster.run_orders(
        orders,
        settings,
        started=lambda client: up.extend((time.perf_counter(), time.process_time())),
    ):
        ended = time.perf_counter(), time.process_time()
    return ended[0] - up[0], ended[1] - up[1]


def time_keeping(entries, folder, n_parts):
    """Seconds that a result folder takes for so many plans."""
    store = Store(folder)
    entry = next(entry for entry in entries if entry.is_planned)
    plan = store.place.parent / "out" / "plans" / entry.name
    files = tuple((path.name, path.read_bytes()) for path in plan.iterdir() if path.is_file())
    outcome = Outcome(status="planned", files=files, digest=entry.digest)
    begun = time.perf_counter()
    with ThreadPoolExecutor(max_workers=WRITERS) as pool:
        names = (f"part-{number}" for number in range(n_parts))
        list(pool.map(lambda name: store.keep(replace(entry, name=name), outcome), names))
    return time.perf_counter() - begun


def main():
    """Print one line of figures for each of the three."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--quick", action="store_true", help="12 parts, to see that it runs")
    parser.add_argument("--parts", type=int, default=200)
    parser.add_argument("--workers", type=int, default=os.cpu_count())
    chosen = parser.parse_args()
    if ONE_THREAD.items() - os.environ.items():
        # Libraries read these as they load: one process of one thread to compare with.
        os.execve(sys.executable, [sys.executable, *sys.argv], os.environ | ONE_THREAD)
    n_parts = 12 if chosen.quick else chosen.parts
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        orders = make_orders(folder, n_parts)
        assert len({key_of(order, order.name) for order in orders}) == n_parts
        with one_core():
            seconds, serial_cpu_s, alone = time_serial(orders)
        serial_s = sum(seconds)
        batch_s, entries = time_batch(orders, folder / "out", chosen.workers)
        assert sorted(alone) == sorted(entry.status for entry in entries)
        sizes = [
            sum(path.stat().st_size for path in plan.rglob("*") if path.is_file())
            for plan in (folder / "out" / "plans").iterdir()
        ]
        rate = {
            "parts": n_parts,
            "workers": chosen.workers,
            "planned": alone.count("planned"),
            "serial_s": round(serial_s, 1),
            "batch_s": round(batch_s, 1),
            "ratio": round(serial_s / batch_s, 2),
            "part_cpu_s": round(serial_cpu_s / n_parts, 2),
            "mesh_kb": round(np.mean([order.path.stat().st_size for order in orders]) / 1e3),
            "plan_kb": round(np.mean(sizes) / 1e3),
        }
        print("rate    ", json.dumps(rate), flush=True)
        bare_s = time_bare(orders[::5], chosen.workers)
        machine = {"parts": len(orders[::5]), "ratio": round(sum(seconds[::5]) / bare_s, 2)}
        print("machine ", json.dumps(machine), flush=True)
        n_sleeps = chosen.workers * (10 if chosen.quick else 60)
        slept_s, _ = time_mock(sleep_for_a_plan, orders, chosen.workers, n_sleeps)
        overhead = slept_s / (SLEEP_S * n_sleeps / chosen.workers) - 1
        print("overhead", json.dumps({"parts": n_sleeps, "fraction": round(overhead, 4)}))
        n_quick = 20 * n_sleeps
        passed_s, passed_cpu_s = time_mock(give_a_plan, orders, chosen.workers, n_quick)
        kept_s = time_keeping(entries, folder / "kept", n_sleeps)
        ceiling = {
            "passed_a_s": round(n_quick / passed_s, 1),
            "pass_cpu_ms": round(1000 * passed_cpu_s / n_quick, 2),
            "kept_a_s": round(n_sleeps / kept_s, 1),
        }
        print("ceiling ", json.dumps(ceiling))


if __name__ == "__main__":
    main()
