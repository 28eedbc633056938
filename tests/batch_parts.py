"""Small parts to plan by the dozen, and children of workers that misbehave when told to."""

import dataclasses
import os
from pathlib import Path

import shapes
import trimesh

from castplan.batch.bench import Limits
from castplan.batch.order import Order
from castplan.batch.store import Entry
from castplan.door import Planned
from castplan.part.load import load_part
from castplan.planning import build_plan
from castplan.records import Job

# A coarse plan: what is asked is where it is made, not how well.
QUICK = Job(draw=(0.0, 0.0, 1.0), n_attitudes=8, memory_mb=0.3)
# Far above what a small part takes on a loaded machine.
EASY = Limits(seconds=120.0, memory_mb=4000.0)

# Read by every Python that starts with this folder on its path. In a child it
# logs each part as it is loaded, with the worker that owns the child, and does
# what the part's name says.
_SITE = """
import os, sys
if "castplan.batch.child" in sys.orig_argv:
    import threading, time
    from pathlib import Path
    import castplan.part.load as load
    home, load_part = Path(os.environ["BATCH_TEST_HOME"]), load.load_part

    def watched(path, *reading):
        name = Path(path).stem
        with open(home / "log.txt", "a") as log:
            log.write(f"{name} {os.getppid()} {os.getpid()}\\n")
        if name == "hangs":
            lock = threading.Lock()
            lock.acquire()
            lock.acquire()
        if name == "eats":
            held = []
            while True:
                held.append(bytearray(b"x") * 20_000_000)
                time.sleep(0.01)
        if name == "dies":
            os.kill(os.getpid(), 9)
        if name == "faulty":
            raise RuntimeError("no such\\nthing")
        if name == "waits":
            # Until it is let go, or its worker is gone and with it this process.
            while not (home / "go").exists():
                time.sleep(0.02)
        return load_part(path, *reading)

    load.load_part = watched
"""


def watch_children(folder: Path, monkeypatch) -> Path:
    """Log what children plan, and let them misbehave; returns the log's path."""
    folder.mkdir(exist_ok=True)
    (folder / "sitecustomize.py").write_text(_SITE)
    # Before what was there, or the children would work with another castplan.
    others = [path for path in [os.environ.get("PYTHONPATH")] if path]
    monkeypatch.setenv("PYTHONPATH", os.pathsep.join([str(folder), *others]))
    monkeypatch.setenv("BATCH_TEST_HOME", str(folder))
    return folder / "log.txt"


def starts(log: Path) -> list[tuple[str, int, int]]:
    """Part, worker and child of every planning that was begun."""
    lines = log.read_text().splitlines() if log.exists() else []
    return [(name, int(owner), int(child)) for name, owner, child in map(str.split, lines)]


def write_box(folder: Path, name: str, *, size_mm=(20.0, 14.0, 10.0)) -> Path:
    """A box as an STL file."""
    body = shapes.box(*size_mm)
    mesh = trimesh.Trimesh(body.vertices_mm, body.faces, process=False)
    path = folder / f"{name}.stl"
    path.write_bytes(mesh.export(file_type="stl"))
    return path


def box_order(folder: Path, name: str, *, size_mm=(20.0, 14.0, 10.0), job=QUICK) -> Order:
    """An order for a box of this name."""
    return Order(name=name, path=write_box(folder, name, size_mm=size_mm), job=job, unit="mm")


def serial_files(path: Path, folder: Path, *, job=QUICK) -> dict[str, bytes]:
    """The files of the plan folder that one process alone writes for a part."""
    Planned(build_plan(load_part(path, unit="mm"), job)).write(folder)
    return files_of(folder)


def files_of(folder: Path) -> dict[str, bytes]:
    """All files below a folder, by their path in it."""
    paths = (path for path in folder.rglob("*") if path.is_file())
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in paths}


DIGEST = {
    "part": "hook",
    "size_mm": [40.0, 20.0, 60.0],
    "part_ml": 12.0,
    "draw": [0.0, 0.0, 1.0],
    "split": "level",
    "trapped_ml": 0.2,
    "verdict": "flexes out",
    "pockets": [
        {
            "number": 1,
            "verdict": "flexes out",
            "needs_fraction": 0.12,
            "allowed_fraction": 0.2,
        }
    ],
    "up": [0.0, 0.0, 1.0],
    "n_vents": 2,
    "air_left_ml": 0.0,
    "silicone": "silicone-tin-25a",
    "silicone_g": 420.0,
    "resin": "polyurethane-fast-70d",
    "resin_g": 85.0,
    "copies": 1,
    "n_moulds": 1,
    "buy": [
        {"card": "silicone-tin-25a", "need_a_g": 400.0, "need_b_g": 20.0, "packs": []},
        {"card": "polyurethane-fast-70d", "need_a_g": 45.0, "need_b_g": 40.0, "packs": []},
    ],
    "material_cost": None,
    "cost": None,
    "currency": "",
    "hands_on_min": 400.0,
    "worst": [{"severity": "warn", "message": "Thin here.", "do": "Look."}],
    "findings": ["warn thin"],
    "pot": None,
    "says": ["Turn it.", "Clay.", "Box.", "Stand it.", "Weigh."],
    "picture": {"width": 10, "height": 10, "outline": "M0 0L9 0L9 9Z", "lines": "", "pockets": ""},
}


def entry(name="hook", *, digest=None, **changes) -> Entry:
    """A record of a part; `digest` changes what is said of it if it is planned."""
    is_planned = changes.get("status", "planned") == "planned"
    told = {
        "name": name,
        "file": f"{name}.stl",
        "key": "k",
        "mesh_sha256": "m",
        "choices": {},
        "version": "1",
        "status": "planned",
        "error": "",
        "seconds": 1.0,
        "limit_s": 10.0,
        "memory_mb": 100.0,
        "digest": DIGEST | (digest or {}) if is_planned else None,
    }
    return Entry(**(told | changes))


def replace_job(**changes) -> Job:
    """The coarse job with other choices."""
    return dataclasses.replace(QUICK, **changes)
