"""Solids on disk: read back by trimesh; 3MF against its core specification."""

import io
import xml.etree.ElementTree as ElementTree
import zipfile

import numpy as np
import pytest
import shapes
import trimesh

from castplan.files import solids
from castplan.records import Solid

CORE = "{http://schemas.microsoft.com/3dmanufacturing/core/2015/02}"


def solid_of(body, name="upper half"):
    return Solid(name=name, vertices_mm=body.vertices_mm, faces=body.faces)


def test_volume_by_the_divergence_theorem():
    for body in (shapes.sphere(), shapes.torus(), shapes.hook()):
        assert solid_of(body).volume_mm3 == pytest.approx(body.volume_mm3, rel=1e-9)


def test_stl_comes_back_whole():
    body = shapes.torus()
    data = solids.stl_bytes(solid_of(body))
    assert len(data) == 84 + 50 * len(body.faces)
    # A text STL starts with "solid"; a binary one must not.
    assert not data.startswith(b"solid")
    assert b"millimetres" in data[:80]
    mesh = trimesh.load_mesh(io.BytesIO(data), file_type="stl")
    assert mesh.is_watertight
    # STL holds 24 bits a number.
    assert mesh.volume == pytest.approx(body.volume_mm3, rel=1e-6)


def test_files_stay_closed_where_its_numbers_run_out():
    """A ball far from the origin: some of its corners become one in 24 bits."""
    body = shapes.sphere(radius_mm=0.02, n_sides=128)
    far = Solid(name="far", vertices_mm=body.vertices_mm + 1000.0, faces=body.faces)
    data = solids.stl_bytes(far)
    assert len(data) < 84 + 50 * len(body.faces)
    assert trimesh.load_mesh(io.BytesIO(data), file_type="stl").is_watertight
    scene = trimesh.load(io.BytesIO(solids.threemf_bytes((far,), title="far")), file_type="3mf")
    assert all(mesh.is_watertight for mesh in scene.geometry.values())


def test_3mf_comes_back_whole_with_its_unit():
    made = (solid_of(shapes.torus()), solid_of(shapes.box(), "bed 1 of 2 <&>"))
    data = solids.threemf_bytes(made, title="hook & eye")
    scene = trimesh.load(io.BytesIO(data), file_type="3mf")
    assert scene.units in ("mm", "millimeter")
    volumes = sorted(mesh.volume for mesh in scene.geometry.values())
    assert volumes == pytest.approx(sorted(s.volume_mm3 for s in made), rel=1e-6)
    assert all(mesh.is_watertight for mesh in scene.geometry.values())


def test_3mf_keeps_to_the_core_specification():
    """3MF core 1.2: three parts, unit millimeter, positive ids, items for objects."""
    data = solids.threemf_bytes((solid_of(shapes.box()),), title="box")
    archive = zipfile.ZipFile(io.BytesIO(data))
    assert archive.namelist() == ["[Content_Types].xml", "_rels/.rels", "3D/3dmodel.model"]
    root = ElementTree.fromstring(archive.read("3D/3dmodel.model"))
    assert root.tag == f"{CORE}model"
    assert root.get("unit") == "millimeter"
    objects = root.findall(f"{CORE}resources/{CORE}object")
    items = root.findall(f"{CORE}build/{CORE}item")
    assert [o.get("id") for o in objects] == [i.get("objectid") for i in items] == ["1"]
    n = len(objects[0].findall(f"{CORE}mesh/{CORE}vertices/{CORE}vertex"))
    for triangle in objects[0].iter(f"{CORE}triangle"):
        corners = {int(triangle.get(k)) for k in ("v1", "v2", "v3")}
        assert len(corners) == 3
        assert max(corners) < n


def test_the_same_solids_give_the_same_bytes():
    made = (solid_of(shapes.torus()),)
    assert solids.threemf_bytes(made, title="a") == solids.threemf_bytes(made, title="a")
    assert solids.stl_bytes(made[0]) == solids.stl_bytes(made[0])


def test_names_on_disk():
    assert solids.file_name(solid_of(shapes.box()), ".stl") == "upper_half.stl"
    assert solids.file_name(solid_of(shapes.box(), "bed 1 of 2"), ".stl") == "bed_1_of_2.stl"


def test_a_solid_is_read_only():
    body = solid_of(shapes.box())
    with pytest.raises(ValueError, match="read-only"):
        body.vertices_mm[0, 0] = 1.0
    assert body.faces.dtype == np.int32
