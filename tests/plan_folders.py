"""A sound plan folder, coarse and soon made, as bytes by file name."""

import functools
import io
import json
import shutil
from pathlib import Path

import numpy as np

from castplan.after.records import Defect, LoggedPour, Size
from castplan.files import cast_file, part_file, record
from castplan.files.plan_folder import RECORD_FILE, VIEW_FILE
from castplan.part.load import load_part
from castplan.planning import build_plan
from castplan.records import Gauge, Job, Part, Plan

SAMPLES = Path(__file__).parents[1] / "sample_parts"
# A void where air stays, and one defect of every other kind: each cause is looked into.
DEFECTS = (
    (Defect(kind="void", where_mm=(12.0, 30.0, 4.0), told="12,30,4", size_mm=3.0),),
    tuple(
        Defect(kind=kind)
        for kind in ("dimple", "pinholes", "short-fill", "soft", "flash", "step", "torn-mould")
    ),
    (Defect(kind="warp"), Defect(kind="off-size")),
)


@functools.cache
def coarse_plan() -> Plan:
    """The coat hook without a vent, so that air stays and a revision has what to drill."""
    job = Job(
        draw=(1.0, 0.0, 0.0),
        up=(0.0, 0.0, 1.0),
        pitch_mm=0.8,
        n_directions=8,
        n_attitudes=8,
        max_vents=0,
        gauges=(Gauge(name="peg", length_mm=20.0, tolerance_mm=0.1),),
    )
    return build_plan(load_part(SAMPLES / "coat_hook.stl", unit="mm"), job)


def write(folder: Path, plan: Plan) -> None:
    """Record, mesh and a view of a plan, without its sheets, which take seconds."""
    folder.mkdir(parents=True, exist_ok=True)
    told = record.plan_json(plan)
    (folder / RECORD_FILE).write_bytes(told)
    part_file.write_part(plan.part, folder / part_file.PART_FILE, record=told)
    (folder / VIEW_FILE).write_bytes(b"<!doctype html><title>view</title>")


def sound_files(folder: Path) -> dict[str, bytes]:
    """The files of a new folder: the coarse plan, and a log of three pours."""
    write(folder, coarse_plan())
    for day, defects in enumerate(DEFECTS, start=1):
        cast_file.add_line(
            folder,
            LoggedPour,
            date=f"2026-12-0{day}",
            defects=defects,
            sizes=(Size(name="x", length_mm=141.6, error_mm=0.05),),
            shot_g=31.6,
            temperature_c=21.0,
            opened_h=0.3,
        )
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir())}


def lay_out(folder: Path, files: dict[str, bytes]) -> None:
    """A folder of these files."""
    folder.mkdir()
    for name, data in files.items():
        (folder / name).write_bytes(data)


def clear(folder: Path) -> None:
    """Away with a folder."""
    shutil.rmtree(folder, ignore_errors=True)


def sealed(files: dict[str, bytes]) -> dict[str, bytes]:
    """The same with a seal over what they hold, where that can be read at all."""
    try:
        told = record.as_bytes(json.loads(files[RECORD_FILE]))
        with np.load(io.BytesIO(files[part_file.PART_FILE])) as stored:
            arrays = {name: stored[name] for name in ("vertices_mm", "faces", "cap_faces")}
        out = io.BytesIO()
        part_file.write_part(Part(name="", check=None, **arrays), out, record=told)
    except Exception:
        return files
    return files | {part_file.PART_FILE: out.getvalue()}
