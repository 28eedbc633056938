"""Meshes as people have them: read, refused or a fault, held against two judges.

``python tests/bench/sweep_meshes.py [--plans N] [--out CSV]``

Bodies made with trimesh and manifold3d, and meshes that installed packages
ship, are damaged by script and written to files as programs write them. Each
is read; what comes out is held against manifold3d (closed solids, volume) and
trimesh (closed, volume). `--plans` plans that many of them too. Some minutes;
no test.
"""

import argparse
import csv
import resource
import sys
import tempfile
import time
import traceback
from importlib import metadata
from pathlib import Path

import manifold3d
import numpy as np
import trimesh

sys.path.insert(0, str(Path(__file__).parents[1]))
import shapes

from castplan.errors import SIZE, CastplanError
from castplan.part.health import examine
from castplan.part.load import load_part
from castplan.records import Job

# Corners moved by 1e-6 of the size move volumes of these bodies by less.
CLOSE = 1e-4
Manifold = manifold3d.Manifold


def of_solid(solid):
    mesh = solid.to_mesh64()
    return np.array(mesh.vert_properties[:, :3]), np.array(mesh.tri_verts, dtype=np.int64)


def solid_of(vertices, faces):
    mesh = manifold3d.Mesh64(np.array(vertices, float), np.array(faces, dtype=np.uint64))
    return Manifold(mesh)


def made_bodies():
    """Closed solids by name: (vertices, faces), in mm."""
    plate = Manifold.cube((120, 80, 12), True)
    for x in (-40, 0, 40):
        plate -= Manifold.cylinder(30, 6, 6, 48, True).translate((x, 15, 0))
    ribs = Manifold.cube((100, 60, 4), True)
    for x in range(-40, 41, 20):
        ribs += Manifold.cube((3, 60, 15), True).translate((x, 0, 8))
    lattice = Manifold()
    for k in range(-2, 3):
        lattice += Manifold.cube((90, 5, 5), True).translate((0, 18 * k, 0))
        lattice += Manifold.cube((5, 90, 5), True).translate((18 * k, 0, 3))
    bosses = Manifold.cube((80, 80, 6), True)
    for k in range(9):
        place = (25 * (k % 3 - 1), 25 * (k // 3 - 1), 2)
        bosses += Manifold.cylinder(12, 6, 4, 32).translate(place)
    shell = Manifold.sphere(30, 64) - Manifold.sphere(27, 64) - Manifold.cube((60, 60, 30))
    solids = {
        "drilled plate": plate,
        "ribs": ribs,
        "lattice": lattice,
        "bosses": bosses,
        "thin shell": shell,
        "fine ball": Manifold.sphere(25, 200),
    }
    bodies = {name: of_solid(solid) for name, solid in solids.items()}
    for name in ("box", "torus", "lipped_cup", "t_slot", "bell", "hook", "two_towers", "tray"):
        body = shapes.ALL[name]()
        bodies[name] = (np.array(body.vertices_mm), np.array(body.faces, dtype=np.int64))
    return bodies


def shipped_meshes():
    """Paths of the meshes that installed packages ship, with a unit that makes sense."""
    units = {"gymnasium-robotics": "m", "pymeshfix": "mm", "pyvista": "mm"}
    seen = set()
    for package, unit in units.items():
        try:
            entries = metadata.files(package) or ()
        except metadata.PackageNotFoundError:
            continue
        for entry in entries:
            path = Path(entry.locate())
            if path.suffix.lower() in (".stl", ".ply", ".obj") and path.is_file():
                key = (path.stat().st_size, path.read_bytes()[:2000])
                if key not in seen:
                    seen.add(key)
                    # Most of the robots' collision shapes are in metres, the hand's in mm.
                    mesh = trimesh.load_mesh(path, process=False)
                    is_mm = float(np.ptp(mesh.vertices, axis=0).max()) > 3.0
                    yield f"{package}: {path.stem}", path, "mm" if is_mm else unit


# -- damage: soup of corners (m, 3, 3) in mm -> soup, and whether it is closed still ------


def as_it_is(soup, rng):
    return soup, True


def inverted(soup, rng):
    return soup[:, ::-1], True


def flipped(soup, rng):
    some = rng.random(len(soup)) < 0.2
    return np.where(some[:, None, None], soup[:, ::-1], soup), True


def torn(soup, rng):
    middle = soup.mean(axis=1)
    away = np.linalg.norm(middle - middle[rng.integers(len(soup))], axis=1)
    return soup[away > 0.04 * np.ptp(soup, axis=(0, 1)).max()], False


def doubled(soup, rng):
    return np.concatenate((soup, soup[rng.random(len(soup)) < 0.1])), None


def shuffled(soup, rng):
    turned = np.take_along_axis(
        soup, ((np.arange(3) + rng.integers(0, 3, len(soup))[:, None]) % 3)[..., None], axis=1
    )
    return turned[rng.permutation(len(soup))], True


def moved(share, part):
    def damage(soup, rng):
        size = float(np.ptp(soup, axis=(0, 1)).max())
        some = rng.random(soup.shape[:2]) < part
        return soup + some[..., None] * rng.uniform(-share, share, soup.shape) * size, True

    return damage


def noisy(soup, rng):
    points, where = np.unique(soup.reshape(-1, 3), axis=0, return_inverse=True)
    points = points + rng.normal(0, 2e-4 * np.ptp(points, axis=0).max(), points.shape)
    return points[where.ravel()].reshape(-1, 3, 3), None


def t_junctions(soup, rng):
    """A part of the facets cut in four, without their neighbours."""
    some = rng.random(len(soup)) < 0.3
    a, b, c = np.moveaxis(soup[some], 1, 0)
    ab, bc, ca = (a + b) / 2, (b + c) / 2, (c + a) / 2
    pieces = [(a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca)]
    return np.concatenate([soup[~some], *(np.stack(p, axis=1) for p in pieces)]), True


def far_off(soup, rng):
    return soup + np.array([5_000.0, -3_000.0, 800.0]), None


def nested(soup, rng):
    middle = (soup.min(axis=(0, 1)) + soup.max(axis=(0, 1))) / 2
    return np.concatenate((soup, middle + 0.1 * (soup - middle))), None


def duplicated(soup, rng):
    return np.concatenate((soup, soup)), None


DAMAGE = {
    "as it is": as_it_is,
    "inverted": inverted,
    "flipped": flipped,
    "torn": torn,
    "doubled": doubled,
    "shuffled": shuffled,
    "moved 1e-9": moved(1e-9, 1.0),
    "moved 1e-6": moved(1e-6, 1.0),
    "2 % moved 1e-6": moved(1e-6, 0.02),
    "noise": noisy,
    "T-junctions": t_junctions,
    "far off": far_off,
    "nested": nested,
    "duplicated": duplicated,
}
WRITTEN = [("stl", "mm", 1.0), ("stl", "in", 1 / 25.4), ("ply", "m", 1e-3), ("obj", "mm", 1.0)]


def cases(folder):
    """Name, path, unit, volume that manifold3d has for the body before damage, closed still."""
    n = 0
    for name, (vertices, faces) in made_bodies().items():
        solid = solid_of(vertices, faces)
        assert solid.status() == manifold3d.Error.NoError, name
        for told, damage in DAMAGE.items():
            rng = np.random.default_rng(n)
            soup, is_closed = damage(vertices[faces], rng)
            suffix, unit, per_mm = WRITTEN[n % len(WRITTEN)]
            points = (soup * per_mm).reshape(-1, 3).astype(np.float32)
            path = folder / f"{n:03d}.{suffix}"
            mesh = trimesh.Trimesh(points, np.arange(len(points)).reshape(-1, 3), process=False)
            data = mesh.export(file_type=suffix)
            path.write_bytes(data.encode() if isinstance(data, str) else data)
            yield f"{name}, {told}, {suffix} in {unit}", path, unit, solid.volume(), is_closed
            n += 1
    for name, path, unit in shipped_meshes():
        mesh = trimesh.load_mesh(path)
        scale = {"mm": 1.0, "m": 1e3}[unit] ** 3
        is_one = mesh.is_watertight and mesh.body_count == 1
        yield name, path, unit, abs(mesh.volume) * scale if is_one else None, is_one or None


def look(name, path, unit, volume_mm3, is_closed):
    """One row: what became of the file, and what the judges say of it."""
    row = {"name": name, "outcome": "", "s": 0.0, "n": 0, "closed": "", "judges": "", "note": ""}
    begin = time.process_time()
    part = None
    try:
        part = load_part(path, unit=unit)
        examine(part)
        row["outcome"] = "read"
    except CastplanError as error:
        # A size that is hard to believe is asked about, whatever the mesh.
        row["outcome"] = "asked" if error.asks == SIZE else "refused"
        row["note"] = str(error)[:160]
    except Exception as error:
        row["outcome"], row["note"] = "FAULT", repr(error)[:160]
        traceback.print_exc()
    row["s"] = round(time.process_time() - begin, 2)
    if part is None:
        if is_closed and row["outcome"] == "refused":
            row["judges"] = "REFUSED THOUGH CLOSED"
        return row, None
    row["n"], row["closed"] = part.check.n_triangles, part.check.is_watertight
    wrong = []
    if is_closed is True and not part.check.is_watertight:
        wrong.append(f"OPEN, {part.check.n_open_edges} edges")
    if is_closed is False and part.check.is_watertight:
        wrong.append("CLOSED THOUGH TORN")
    if part.check.is_watertight:
        mesh = trimesh.Trimesh(part.vertices_mm, part.faces, process=False)
        if is_closed is True:
            solid = solid_of(part.vertices_mm, part.faces)
            if not mesh.is_watertight:
                wrong.append("trimesh: open")
            if solid.status() != manifold3d.Error.NoError:
                wrong.append(f"manifold3d: {solid.status().name}")
    if volume_mm3 and is_closed is True:
        off = part.check.volume_mm3 / volume_mm3 - 1
        if abs(off) > CLOSE:
            wrong.append(f"volume {100 * off:+.3f} %")
    elif volume_mm3 and "nested" in name and abs(part.check.volume_mm3 / volume_mm3 - 1) > CLOSE:
        # The small twin lies in solid, in a hollow or across the wall.
        row["note"] = f"volume {100 * (part.check.volume_mm3 / volume_mm3 - 1):+.3f} %"
    row["judges"] = "; ".join(wrong)
    return row, part


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--plans", type=int, default=0)
    parser.add_argument("--out", type=Path)
    asked = parser.parse_args()
    rows, parts = [], []
    with tempfile.TemporaryDirectory() as folder:
        for case in cases(Path(folder)):
            row, part = look(*case)
            rows.append(row)
            if part is not None:
                parts.append((row, part))
            print(*row.values(), sep=" | ", flush=True)
    # A step past the number of kinds of damage, so that each kind has its turn.
    step = max(1, len(parts) // max(asked.plans, 1))
    step += step % len(DAMAGE) == 0
    planned = [parts[k * step % len(parts)] for k in range(asked.plans)]
    if planned:
        from castplan.planning import build_plan

        for row, part in planned:
            begin, outcome = time.process_time(), "planned"
            try:
                plan = build_plan(part, Job())
                stops = [f.code for f in plan.findings if f.severity == "stop"]
                outcome = f"planned, stops {stops}" if stops else outcome
            except CastplanError as error:
                outcome = f"refused: {str(error)[:120]}"
            except Exception as error:
                outcome = f"FAULT {error!r}"
            row["plan"] = f"{time.process_time() - begin:.1f} s {outcome}"
            print("plan", row["name"], row["plan"], sep=" | ", flush=True)
    outcomes = [row["outcome"] for row in rows]
    seconds = np.array([row["s"] for row in rows])
    print(f"{len(rows)} files:", {kind: outcomes.count(kind) for kind in sorted(set(outcomes))})
    print("judged otherwise:", sum(bool(row["judges"]) for row in rows))
    quantiles = np.quantile(seconds, [0.5, 0.9, 1.0])
    print("processor s, median, ninth decile, most:", *np.round(quantiles, 2))
    print("most memory MB:", resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024)
    if asked.out:
        with open(asked.out, "w", newline="", encoding="utf-8") as file:
            writer = csv.DictWriter(file, [*rows[0], "plan"])
            writer.writeheader()
            writer.writerows(rows)


if __name__ == "__main__":
    main()
