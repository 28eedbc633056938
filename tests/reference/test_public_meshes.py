"""Meshes that others made: each gives a plan or a finding with a name.

They come with packages of the test requirements and are read where these are
installed; none is kept here.

| package | meshes | licence |
|---|---|---|
| gymnasium-robotics | kitchen furniture, made by hand: overlaps, open undersides | package MIT, \
assets Apache 2.0 |
| pymeshfix | StanfordBunny.ply, a scan with 71 holes; planar_mesh.ply, a one-sided piece | GPL 3, \
data of the examples; the scan is of the Stanford 3D Scanning Repository |
"""

import functools
from importlib import metadata
from pathlib import Path

import manifold3d
import numpy as np
import pytest
import trimesh

from castplan.columns import field
from castplan.errors import GeometryError, InputError
from castplan.files import record
from castplan.part.close import Closing
from castplan.part.load import Reading, load_part, read_part
from castplan.planning import build_plan
from castplan.records import Job

KITCHEN = "kitchen_assets/meshes/"
# name -> package, folder, unit of the file, what comes of it: an error, or the
# findings about the mesh by severity.
MESHES = {
    "burnerplate.stl": ("m", {"volume-differs", "several-bodies"}),
    "cabinetbase.stl": ("m", "a size of 2521 x 2134 x 1550 mm"),
    "cabinetdrawer.stl": ("m", set()),
    "cabinethandle.stl": ("m", {"open-mesh", "several-bodies"}),
    "countertop.stl": ("m", "one side missing"),
    "faucet.stl": ("m", "one side missing"),
    "handle2.stl": ("m", {"volume-differs", "several-bodies"}),
    "hood.stl": ("m", set()),
    "kettlehandle.stl": ("m", {"several-bodies"}),
    "knob.stl": ("m", "one side missing"),
    "lightswitch.stl": ("m", {"open-mesh"}),
    "lightswitchbase.stl": ("m", set()),
    "microfeet.stl": ("m", {"open-mesh", "several-bodies"}),
    "microhandle.stl": ("m", set()),
    "ovenhandle.stl": ("m", set()),
    "oventop.stl": ("m", set()),
    "stoverim.stl": ("m", "one side missing"),
    "wall.stl": ("m", "a size of 2400 x 18 x 1199 mm"),
    "StanfordBunny.ply": ("mm", {"open-mesh"}),
    "planar_mesh.ply": ("mm", "one side missing"),
}
# Of each outcome some; the others are long.
SOON = ("burnerplate.stl", "cabinethandle.stl", "countertop.stl", "microfeet.stl", "wall.stl")
# A coarse plan: what is asked here is that there is one.
JOB = Job(draw=(0.0, 0.0, 1.0), memory_mb=0.5, n_attitudes=16)


@functools.cache
def installed():
    """Path of each mesh in the installed packages."""
    found = {}
    for package in ("gymnasium-robotics", "pymeshfix"):
        for entry in metadata.files(package):
            if entry.name in MESHES and (KITCHEN in str(entry) or package == "pymeshfix"):
                found[entry.name] = Path(entry.locate())
    return found


def reference(name):
    """The mesh as trimesh reads it, corners merged, in mm."""
    mesh = trimesh.load_mesh(installed()[name])
    return mesh.apply_scale({"m": 1000.0, "mm": 1.0}[MESHES[name][0]])


def test_there_are_enough_of_them():
    assert len(MESHES) >= 15
    assert set(installed()) == set(MESHES)


@pytest.mark.parametrize("name", MESHES)
def test_size_and_facets_agree_with_trimesh(name):
    part = read_part(installed()[name], unit=MESHES[name][0])
    mesh = reference(name)
    assert part.check.n_triangles + part.check.n_dropped_triangles == len(mesh.faces)
    # Both read float32 coordinates of up to 2.5 m.
    assert part.check.extent_mm == pytest.approx(mesh.extents, rel=1e-6)
    if mesh.is_watertight and part.check.n_inner_shells == 0:
        assert part.check.is_watertight
        assert part.check.volume_mm3 == pytest.approx(abs(mesh.volume), rel=1e-6)


@pytest.mark.parametrize(
    "name",
    [pytest.param(name, marks=() if name in SOON else pytest.mark.long) for name in MESHES],
)
def test_each_gives_a_plan_or_a_named_reason(name):
    unit, outcome = MESHES[name]
    if isinstance(outcome, str):
        with pytest.raises((InputError, GeometryError), match=outcome) as caught:
            load_part(installed()[name], unit=unit)
        assert "\n" not in str(caught.value)
        return
    plan = build_plan(load_part(installed()[name], unit=unit), JOB)
    # What is said of the face that shows is no matter of the mesh's soundness.
    told = {f.code for f in plan.findings if f.stage == "check"}
    assert told - {"show-face-guessed", "show-face-unknown"} == outcome
    assert len(record.plan_json(plan)) > 1000
    doubt = plan.bench.doubt
    assert doubt.volume_low_mm3 <= doubt.volume_high_mm3
    # Only the feet, cups without a top, leave more open than they hold.
    assert doubt.is_trusted == (name != "microfeet.stl")


@pytest.mark.parametrize("name", ["burnerplate.stl", "handle2.stl"])
def test_overlapping_bodies_count_once_as_in_an_exact_union(name):
    part = load_part(installed()[name], unit="m")
    solids = [
        manifold3d.Manifold(
            manifold3d.Mesh64(np.array(body.vertices), np.array(body.faces, dtype=np.uint64))
        )
        for body in reference(name).split(only_watertight=False)
    ]
    union_mm3 = manifold3d.Manifold.batch_boolean(solids, manifold3d.OpType.Add).volume()
    columns = field.sample(
        part.vertices_mm,
        part.faces,
        part.cap_faces,
        np.eye(3),
        pitch_mm=part.check.extent_mm[1] / 256,
    )
    # Sampled at 256 columns; the bodies' own sum is over by 10 % and more.
    assert columns.volume_mm3 == pytest.approx(union_mm3, rel=5e-3)
    assert part.check.volume_mm3 > 1.05 * union_mm3


@pytest.mark.parametrize("name", ["knob.stl", "faucet.stl"])
def test_one_sided_ones_are_planned_once_closed(name):
    part = load_part(installed()[name], Reading(unit="m", closing=Closing()))
    assert part.check.is_watertight or part.check.n_holes
    plan = build_plan(part, JOB)
    assert "changed" in {finding.code for finding in plan.findings}
