"""What `castplan plan` costs on any part: processor seconds and memory, as quantiles.

    python tests/bench/bench_meshes.py [--only WORD] [--shipped N] [--csv FILE]

Meshes that installed packages ship, bodies made by script and bodies of trim are
each planned by the whole command in a process of its own, kernels compiled
before. Processor time is that of the process with all its threads, so that a busy
machine changes it little. Not a test: times are shown, not judged.
"""

import argparse
import csv
import subprocess
import sys
import tempfile
from pathlib import Path

import manifold3d
import numpy as np
import trimesh

sys.path.insert(0, str(Path(__file__).parents[1]))
import shapes
import sweep_meshes
import trim_bodies
from manifold3d import CrossSection, Manifold

LIMIT_S = 180
WATCH = """
import resource, subprocess, sys
code = subprocess.run(sys.argv[1:], stdout=subprocess.DEVNULL).returncode
used = resource.getrusage(resource.RUSAGE_CHILDREN)
print(code, used.ru_utime + used.ru_stime, used.ru_maxrss)
"""
OP_ADD = manifold3d.OpType.Add
QUANTILES = {"median": 50, "ninth decile": 90, "worst": 100}


def sponge(periods, cells, size_mm=80.0):
    """Gyroid walls in a cube: at every period a few high points and dips."""
    scale = 2 * np.pi * periods / size_mm

    def inside(x, y, z):
        x, y, z = scale * x, scale * y, scale * z
        wave = np.sin(x) * np.cos(y) + np.sin(y) * np.cos(z) + np.sin(z) * np.cos(x)
        return 0.5 - abs(wave)

    half = size_mm / 2
    box = (-half, -half, -half, half, half, half)
    return Manifold.level_set(inside, box, size_mm / cells).simplify(0.05)


def balls(n_along):
    """Balls that touch in a sheet, so many along each side."""
    ball = Manifold.sphere(5.0, 24)
    places = [(9.0 * i, 9.0 * k, 0.0) for i in range(n_along) for k in range(n_along)]
    return Manifold.batch_boolean([ball.translate(p) for p in places], OP_ADD)


def pocketed(n_along):
    """A block with slots from one side that widen inside: each holds its half."""
    pitch = 4.0
    size = pitch * n_along
    cut = Manifold.cube((2.0, 2.0, 4.0), True) + Manifold.cube((3.0, 3.0, 1.0), True)
    place = [(pitch * (i + 0.5), pitch * (k + 0.5), 8.0) for i, k in np.ndindex(n_along, n_along)]
    cuts = Manifold.batch_boolean([cut.translate(p) for p in place], OP_ADD)
    return Manifold.cube((size, size, 10.0)) - cuts


def lettered(text, *, is_raised, size_mm=9.0):
    """A plate with raised or sunk letters, outlines of the sheets' typeface."""
    from matplotlib.textpath import TextPath

    rings = TextPath((0, 0), text, size=size_mm).to_polygons()
    letters = CrossSection([ring[:-1] for ring in rings], manifold3d.FillRule.EvenOdd)
    x0, y0, x1, y1 = letters.bounds()
    raised = Manifold.extrude(letters, 1.2)
    plate = Manifold.cube((x1 - x0 + 10, y1 - y0 + 10, 3.0)).translate((x0 - 5, y0 - 5, -3.0))
    return plate + raised if is_raised else plate - raised.translate((0, 0, -1.0))


def wound(path, section):
    """A closed tube of a section (k, 2) carried along a path (n, 3), its z kept upright."""
    way = np.gradient(path, axis=0)
    side = np.cross(way, (0.0, 0.0, 1.0))
    side /= np.linalg.norm(side, axis=1)[:, None]
    over = np.cross(side, way)
    over /= np.linalg.norm(over, axis=1)[:, None]
    points = path[:, None] + section[:, :1] * side[:, None] + section[:, 1:] * over[:, None]
    n, k = points.shape[:2]
    at = np.arange(n * k).reshape(n, k)
    a, b = at[:-1], np.roll(at[:-1], -1, axis=1)
    c, d = np.roll(at[1:], -1, axis=1), at[1:]
    faces = [np.stack(t, axis=-1).reshape(-1, 3) for t in ((a, b, c), (a, c, d))]
    fan = np.stack([np.zeros(k - 2), np.arange(1, k - 1), np.arange(2, k)], axis=1).astype(int)
    faces += [fan[:, ::-1], at[-1][fan]]
    mesh = trimesh.Trimesh(points.reshape(-1, 3), np.concatenate(faces), process=False)
    if mesh.volume < 0:
        mesh.invert()
    return np.array(mesh.vertices), np.array(mesh.faces)


def helix(radius_mm, rise_mm, n_turns, n=96):
    angle = np.linspace(0, 2 * np.pi * n_turns, int(n * n_turns) + 1)
    x, y = radius_mm * np.cos(angle), radius_mm * np.sin(angle)
    return np.stack([x, y, rise_mm * angle / (2 * np.pi)], axis=1)


def ring(radius_mm, n=16):
    angle = np.linspace(0, 2 * np.pi, n, endpoint=False)
    return radius_mm * np.stack([np.cos(angle), np.sin(angle)], axis=1)


def threaded():
    """A bolt's shank: a wedge wound round a rod."""
    wedge = np.array([(-1.5, -1.2), (1.2, -0.2), (1.2, 0.2), (-1.5, 1.2)])
    wedge = sweep_meshes.solid_of(*wound(helix(9.0, 3.0, 10), wedge))
    return Manifold.cylinder(34, 8.2, 8.2, 96).translate((0, 0, -2)) + wedge


def slats(n, *, tilt_deg):
    frame = Manifold.cube((10 * n + 20, 70, 10), True) - Manifold.cube((10 * n, 56, 30), True)
    slat = Manifold.cube((2.0, 60, 11), True).rotate((0, tilt_deg, 0))
    places = [(10.0 * (k - (n - 1) / 2), 0, 0) for k in range(n)]
    return Manifold.batch_boolean([frame, *(slat.translate(p) for p in places)], OP_ADD)


def shell(half, wall_mm, n=96):
    """A dome of even wall, open below."""
    ball = Manifold.sphere(half, n) - Manifold.sphere(half - wall_mm, n)
    return ball.trim_by_plane((0, 0, 1), 0.0)


def ribbed(n, height_mm):
    base = Manifold.cube((6.0 * n, 80, 3))
    rib = Manifold.cube((1.5, 80, height_mm))
    return Manifold.batch_boolean(
        [base, *(rib.translate((6 * k + 2, 0, 0)) for k in range(n))], OP_ADD
    )


def lattice(n, size_mm=6.0):
    span = size_mm * n
    bars = []
    for i, k in np.ndindex(n + 1, n + 1):
        at, beside = size_mm * i, size_mm * k
        bars.append(Manifold.cube((span + 2, 2, 2)).translate((0, at, beside)))
        bars.append(Manifold.cube((2, span + 2, 2)).translate((at, 0, beside)))
        bars.append(Manifold.cube((2, 2, span + 2)).translate((at, beside, 0)))
    return Manifold.batch_boolean(bars, OP_ADD)


def hooks(n):
    plate = Manifold.cube((20.0 * n, 30, 4))
    hook = Manifold.cube((6, 6, 20)) + Manifold.cube((6, 16, 5)).translate((0, 0, 15))
    hook += Manifold.cube((6, 4, 9)).translate((0, 12, 9))
    return Manifold.batch_boolean(
        [plate, *(hook.translate((20 * k + 7, 6, 3)) for k in range(n))], OP_ADD
    )


MADE = {
    "sponge of 4 periods": lambda: sponge(4, 32),
    "sponge of 8 periods": lambda: sponge(8, 48),
    "sponge of 12 periods": lambda: sponge(12, 60),
    "100 balls": lambda: balls(10),
    "400 balls": lambda: balls(20),
    "400 pockets": lambda: pocketed(20),
    "2,025 pockets": lambda: pocketed(45),
    "raised letters": lambda: lettered("Saloon deck 3, ferry cabins 12 to 48", is_raised=True),
    "sunk letters": lambda: lettered("Saloon deck 3, ferry cabins 12 to 48", is_raised=False),
    "thread": threaded,
    "spring": lambda: wound(helix(15.0, 6.0, 8), ring(1.8)),
    "long spring": lambda: wound(helix(20.0, 9.0, 12), ring(2.5)),
    "dome of 1 mm": lambda: shell(40, 1.0),
    "dome of 0.4 mm": lambda: shell(40, 0.4),
    "12 ribs": lambda: ribbed(12, 20),
    "40 ribs": lambda: ribbed(40, 12),
    "lattice of 3": lambda: lattice(3),
    "lattice of 6": lambda: lattice(6),
    "12 slats": lambda: slats(12, tilt_deg=0),
    "12 leaning slats": lambda: slats(12, tilt_deg=35),
    "6 hooks": lambda: hooks(6),
    "rod of 600 mm": lambda: Manifold.cylinder(600, 4, 4, 64).rotate((0, 90, 0)),
    "strip of 600 mm": lambda: Manifold.cube((600, 25, 2)),
    "100,000 facets": lambda: Manifold.sphere(30, 456).scale((1.6, 1.0, 0.6)),
    "1,000,000 facets": lambda: Manifold.sphere(30, 1416).scale((1.6, 1.0, 0.6)),
}


def bodies(n_shipped, only=""):
    """Name, vertices with faces or a path, and unit, one after the other."""
    for name, make in MADE.items():
        if only not in f"made: {name}":
            continue
        body = make()
        points, faces = sweep_meshes.of_solid(body) if isinstance(body, Manifold) else body
        yield f"made: {name}", (points, faces), "mm"
    points, faces = sweep_meshes.of_solid(sponge(4, 32))
    # A scan that misses a patch or two.
    middle = points[faces].mean(axis=1)
    gone = np.linalg.norm(middle - middle[::997][:3, None], axis=2).min(axis=0) < 5.0
    yield "open: sponge of 4 periods", (points, faces[~gone]), "mm"
    points, faces = sweep_meshes.of_solid(shell(40, 2.0))
    middle = points[faces].mean(axis=1)
    yield "open: dome", (points, faces[np.linalg.norm(middle - (28, 0, 28), axis=1) > 6]), "mm"
    for name, make in shapes.ALL.items():
        body = make()
        yield f"shape: {name}", (np.array(body.vertices_mm), np.array(body.faces)), "mm"
    for maker in trim_bodies.MAKERS:
        body = trim_bodies.make(maker)
        yield f"trim: {maker}", (np.array(body.vertices_mm), np.array(body.faces)), "mm"
    found = sorted(sweep_meshes.shipped_meshes(), key=lambda item: item[0])
    step = max(1, -(-len(found) // n_shipped)) if n_shipped else 1
    for name, path, unit in found[::step] if n_shipped else ():
        yield name, path, unit


def is_closed(path):
    mesh = trimesh.load_mesh(path)
    mesh.merge_vertices()
    return bool(mesh.is_watertight)


def plan(path, unit, out):
    """Exit code, processor seconds and peak memory [MB] of one command."""
    command = [sys.executable, "-m", "castplan", "plan", str(path), "--units", unit]
    command += ["--out", str(out), "--yes"]
    # Started from here a process would count the peak of this one, which makes the meshes.
    watched = [sys.executable, "-c", WATCH, "timeout", str(LIMIT_S), *command]
    done = subprocess.run(watched, capture_output=True, text=True, check=True)
    code, used_s, peak_kb = done.stdout.split()
    return int(code), float(used_s), float(peak_kb) / 1024, done.stderr


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--only", default="", help="plan bodies whose name holds this")
    parser.add_argument("--shipped", type=int, default=1000, help="at most about so many")
    parser.add_argument("--csv", type=Path)
    chosen = parser.parse_args()
    rows = []
    with tempfile.TemporaryDirectory() as folder:
        folder = Path(folder)
        warm = Path(__file__).parents[2] / "sample_parts" / "coat_hook.stl"
        plan(warm, "mm", folder / "warm")
        for name, body, unit in bodies(chosen.shipped, chosen.only):
            if chosen.only not in name:
                continue
            path = body
            if isinstance(body, tuple):
                path = folder / "body.stl"
                trimesh.Trimesh(*body, process=False).export(path)
            code, used_s, peak_mb, told = plan(path, unit, folder / f"plan {len(rows)}")
            rows.append((name, code, is_closed(path), round(used_s, 2), round(peak_mb)))
            reason = told.strip().splitlines()[-1][:90] if code else ""
            print(*rows[-1], reason, sep="\t", flush=True)
    planned = [row for row in rows if row[1] == 0]
    for label, wanted in (("closed", True), ("open", False)):
        some = np.array([row[3:] for row in planned if row[2] == wanted])
        if not len(some):
            continue
        print(f"{label}: {len(some)} planned of {sum(row[2] == wanted for row in rows)}")
        for said, q in QUANTILES.items():
            used_s, peak_mb = np.percentile(some, q, axis=0)
            print(f"  {said}: {used_s:.1f} s of processor, {peak_mb:.0f} MB")
    if chosen.csv:
        with open(chosen.csv, "w", newline="") as file:
            csv.writer(file).writerows([("body", "exit", "closed", "processor_s", "mb"), *rows])


if __name__ == "__main__":
    main()
