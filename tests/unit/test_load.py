"""Mesh files in, parts out: every format, every way a file can be wrong.

Sizes are of the files made here, by hand.
"""

import importlib.util
import io
import zipfile

import numpy as np
import pytest
import shapes
import step_file
import trimesh

from castplan import ordinary
from castplan.errors import CastplanError, GeometryError, InputError, ResourceError
from castplan.part import step as step_reader
from castplan.part.load import read_part
from castplan.part.read import FORMATS

# Sources: volumes and areas are the closed forms of `shapes`; the files are
# written by trimesh, an independent implementation of each format.

# (suffix, trimesh file type, export options, relative error of the format).
# Binary STL and PLY store float32, rounded to 6e-8; the others are printed with
# eight digits or more. A body's volume may collect a few of those roundings.
WRITTEN = [
    pytest.param(".stl", "stl", {}, 1e-6, id="stl-binary"),
    pytest.param(".STL", "stl_ascii", {}, 1e-6, id="stl-ascii"),
    pytest.param(".obj", "obj", {}, 1e-6, id="obj"),
    pytest.param(".ply", "ply", {}, 1e-6, id="ply-binary"),
    pytest.param(".ply", "ply", {"encoding": "ascii"}, 1e-6, id="ply-ascii"),
    pytest.param(".off", "off", {}, 1e-6, id="off"),
    pytest.param(".3mf", "3mf", {}, 1e-6, id="3mf"),
    pytest.param(".glb", "glb", {}, 1e-6, id="glb"),
]


def as_mesh(body):
    return trimesh.Trimesh(body.vertices_mm, body.faces, process=False)


def write(folder, body, suffix=".stl", kind="stl", **options):
    data = as_mesh(body).export(file_type=kind, **options)
    path = folder / f"coat_hook{suffix}"
    path.write_bytes(data.encode() if isinstance(data, str) else data)
    return path


def with_unit(path, unit):
    """Rewrite a 3MF file so that its model states `unit` (None: no attribute)."""
    with zipfile.ZipFile(path) as archive:
        files = {name: archive.read(name) for name in archive.namelist()}
    name = next(n for n in files if n.lower() == "3d/3dmodel.model")
    assert files[name].count(b'unit="millimeter"') == 1
    stated = b"" if unit is None else f'unit="{unit}"'.encode()
    files[name] = files[name].replace(b'unit="millimeter"', stated)
    with zipfile.ZipFile(path, "w") as archive:
        for member, data in files.items():
            archive.writestr(member, data)


@pytest.mark.parametrize(("suffix", "kind", "options", "tolerance"), WRITTEN)
def test_each_format_gives_the_body_back(tmp_path, suffix, kind, options, tolerance):
    body = shapes.t_slot()
    vertices_mm = shapes.rotated(body.vertices_mm, 5) + np.array([500.0, -20.0, 3.0])
    turned = body._replace(vertices_mm=vertices_mm)
    part = read_part(write(tmp_path, turned, suffix, kind, **options), unit="mm")
    check = part.check
    assert part.name == "coat_hook"
    assert check.n_triangles == len(body.faces)
    assert check.n_vertices == len(body.vertices_mm)
    assert check.is_watertight and check.is_winding_consistent and not check.is_inverted
    assert (check.n_bodies, check.n_holes, check.n_open_edges) == (1, 0, 0)
    # Coordinates near 500 of a body 50 long lose a digit.
    assert check.volume_mm3 == pytest.approx(body.volume_mm3, rel=10 * tolerance)
    assert check.area_mm2 == pytest.approx(body.area_mm2, rel=10 * tolerance)
    assert check.extent_mm == pytest.approx(np.ptp(vertices_mm, axis=0), rel=10 * tolerance)


def test_the_listed_formats_are_the_tested_ones():
    written = {case.values[0].lower().lstrip(".") for case in WRITTEN}
    assert written | {"step", "stp"} == set(FORMATS)


PROFILE = [(0, 0), (40, 0), (40, 8), (8, 8), (8, 30), (0, 30)]


@pytest.mark.parametrize(("prefix", "per_mm"), [(".MILLI.", 1.0), ("$", 0.001)])
def test_step_comes_in_its_own_unit(tmp_path, prefix, per_mm):
    # Closed form of an L-shaped bar: 40 x 8 + 8 x 22, 20 long.
    profile = [(x * per_mm, y * per_mm) for x, y in PROFILE]
    path = tmp_path / "bracket.step"
    path.write_bytes(step_file.extrusion(profile, 20.0 * per_mm, prefix=prefix))
    check = read_part(path).check
    assert check.is_watertight
    # The converter writes float32 metres: 6e-8 of 0.04 m, three times in a volume.
    assert check.volume_mm3 == pytest.approx(9920.0, rel=1e-6)
    assert sorted(check.extent_mm) == pytest.approx([20.0, 30.0, 40.0], rel=1e-6)


def test_a_damaged_step_is_one_line(tmp_path):
    path = tmp_path / "bracket.stp"
    data = step_file.extrusion(PROFILE, 20.0)
    path.write_bytes(data[:3000])
    with pytest.raises(InputError, match="a STEP file without its end"):
        read_part(path)
    path.write_bytes(data.replace(b"MANIFOLD_SOLID_BREP", b"MANIFOLD_HOLY_BREP"))
    with pytest.raises((InputError, GeometryError), match=r"could not be read|no triangles"):
        read_part(path)


def test_step_without_its_reader_says_how_to_get_it(tmp_path, monkeypatch):
    path = tmp_path / "bracket.step"
    path.write_bytes(step_file.extrusion(PROFILE, 20.0))
    monkeypatch.setattr(importlib.util, "find_spec", lambda name: None)
    with pytest.raises(InputError, match=r"pip install 'castplan\[step\]'"):
        read_part(path)


def test_a_step_that_holds_the_reader_up_is_ended(tmp_path, monkeypatch):
    path = tmp_path / "bracket.step"
    path.write_bytes(step_file.extrusion(PROFILE, 20.0))
    monkeypatch.setattr(step_reader, "_CONVERT", "import time; time.sleep(60)")
    monkeypatch.setattr(step_reader, "TIME_LIMIT_S", 0.3)
    monkeypatch.setattr(step_reader, "TIME_LIMIT_S_PER_MB", 0.0)
    with pytest.raises(ResourceError, match="still not converted"):
        read_part(path)


def test_glb_is_in_metres_unless_told(tmp_path):
    # glTF 2.0 Specification, 3.4: all linear distances are in metres.
    path = write(tmp_path, shapes.box(0.5, 0.25, 0.125), ".glb", "glb")
    check = read_part(path).check
    assert (check.unit, check.file_unit) == ("m", "m")
    assert check.extent_mm == pytest.approx((500.0, 250.0, 125.0), rel=1e-12)
    # Many programs write millimetres all the same: the shop's word counts.
    assert read_part(path, unit="in").check.extent_mm[0] == pytest.approx(12.7, rel=1e-12)


def test_the_unit_scales_the_part(tmp_path):
    body = shapes.box(1.0, 2.0, 3.0)
    part = read_part(write(tmp_path, body), unit="in")
    assert part.check.extent_mm == pytest.approx((25.4, 50.8, 76.2), rel=1e-12)
    # 6 in3, CM3_PER_IN3 by definition of the inch.
    assert part.check.volume_mm3 == pytest.approx(6 * 16387.064, rel=1e-12)
    assert (part.check.unit, part.check.file_unit) == ("in", None)
    assert part.check.mm_per_unit == 25.4


@pytest.mark.parametrize(
    ("stated", "short", "size_mm"),
    # 3MF Core Specification, attribute "unit" of "model"; default millimeter.
    [
        ("inch", "in", 25.4),
        ("micron", "um", 0.001),
        ("foot", "ft", 304.8),
        ("centimeter", "cm", 10.0),
        ("meter", "m", 1000.0),
        (None, "mm", 1.0),
    ],
)
def test_3mf_states_its_unit(tmp_path, stated, short, size_mm):
    path = write(tmp_path, shapes.box(1.0, 1.0, 1.0), ".3mf", "3mf")
    with_unit(path, stated)
    check = read_part(path).check
    assert (check.unit, check.file_unit) == (short, short)
    assert check.extent_mm == pytest.approx((size_mm,) * 3, rel=1e-12)


def test_the_same_unit_twice_is_fine_another_is_not(tmp_path):
    path = write(tmp_path, shapes.box(), ".3mf", "3mf")
    with_unit(path, "inch")
    assert read_part(path, unit="inches").check.unit == "in"
    with pytest.raises(InputError, match=r"found in stated in the file, but --units mm"):
        read_part(path, unit="mm")


def test_3mf_with_an_unknown_unit(tmp_path):
    path = write(tmp_path, shapes.box(), ".3mf", "3mf")
    with_unit(path, "furlong")
    with pytest.raises(InputError, match="the unit 'furlong'"):
        read_part(path)


def test_3mf_items_are_placed_where_the_build_puts_them(tmp_path):
    scene = trimesh.Scene()
    mesh = as_mesh(shapes.box(2.0, 2.0, 2.0))
    for step in (0.0, 10.0):
        scene.add_geometry(mesh, transform=trimesh.transformations.translation_matrix([step, 0, 0]))
    path = tmp_path / "pair.3mf"
    path.write_bytes(scene.export(file_type="3mf"))
    check = read_part(path).check
    assert check.n_bodies == 2
    assert check.extent_mm == pytest.approx((12.0, 2.0, 2.0), rel=1e-12)
    assert check.volume_mm3 == pytest.approx(16.0, rel=1e-12)


def test_a_mirrored_item_of_a_3mf_still_points_outward(tmp_path):
    scene = trimesh.Scene()
    mirror = np.diag([-1.0, 1.0, 1.0, 1.0])
    scene.add_geometry(as_mesh(shapes.t_slot()), transform=mirror)
    scene.add_geometry(as_mesh(shapes.box(2.0, 2.0, 2.0)).apply_translation([0, 0, 90]))
    path = tmp_path / "mirrored.3mf"
    path.write_bytes(scene.export(file_type="3mf"))
    check = read_part(path).check
    assert not check.is_inverted
    # Inside out the box would count against the block.
    assert check.volume_mm3 == pytest.approx(shapes.t_slot().volume_mm3 + 8.0, rel=1e-9)


def test_a_missing_unit_shows_both_sizes_in_words(tmp_path):
    path = write(tmp_path, shapes.box(142.0, 61.0, 38.0))
    with pytest.raises(InputError) as caught:
        read_part(path, unit=None)
    assert str(caught.value) == (
        "coat_hook.stl: found no unit (a size of 142 x 61 x 38 mm, about a hand's length, "
        "or 142 x 61 x 38 in, larger than a door), need one. "
        "Give --units mm or --units in (or um, cm, m, ft)."
    )


def test_an_unknown_unit_is_refused_before_the_file_is_read(tmp_path):
    with pytest.raises(InputError, match="--units parsec: found the unit 'parsec'"):
        read_part(tmp_path / "absent.stl", unit="parsec")


def test_unused_vertices_do_not_count(tmp_path):
    path = tmp_path / "loose.obj"
    path.write_text(as_mesh(shapes.box(2.0, 2.0, 2.0)).export(file_type="obj") + "\nv 99 99 99\n")
    assert read_part(path, unit="mm").check.extent_mm == pytest.approx((2.0, 2.0, 2.0))


@pytest.mark.parametrize(("suffix", "kind", "options", "tolerance"), WRITTEN)
@pytest.mark.parametrize("kept", [0.98, 0.9, 0.6, 0.3, 0.05])
def test_a_file_cut_off_is_never_planned(tmp_path, suffix, kind, options, tolerance, kept):
    path = write(tmp_path, shapes.t_slot(), suffix, kind, **options)
    data = path.read_bytes()
    path.write_bytes(data[: int(len(data) * kept)])
    if suffix == ".obj":
        # OBJ states no counts: cut within its facets it may read as a part with holes.
        try:
            assert not read_part(path, unit="mm").check.is_watertight
        except (InputError, GeometryError) as error:
            assert "\n" not in str(error)
        return
    with pytest.raises((InputError, GeometryError)) as caught:
        read_part(path, unit="mm")
    assert "\n" not in str(caught.value)


def test_the_second_solid_of_a_cut_ascii_stl_is_missed(tmp_path):
    text = as_mesh(shapes.box()).export(file_type="stl_ascii")
    path = tmp_path / "two.stl"
    path.write_text(text + text[: len(text) // 2])
    with pytest.raises(InputError, match="12 whole facets of 17"):
        read_part(path, unit="mm")


@pytest.mark.parametrize("suffix", [f".{kind}" for kind in FORMATS])
@pytest.mark.parametrize(
    "data",
    [
        pytest.param(b"Dear sirs,\nplease find the part attached.\n" * 20, id="text"),
        pytest.param(bytes(range(256)) * 20, id="bytes"),
        pytest.param(b"solid\n", id="head"),
        pytest.param(b"PK\x03\x04", id="zip-head"),
    ],
)
def test_rubbish_is_one_clear_line(tmp_path, suffix, data):
    path = tmp_path / f"rubbish{suffix}"
    path.write_bytes(data)
    with pytest.raises((InputError, GeometryError)) as caught:
        read_part(path, unit="mm")
    assert str(caught.value).startswith("rubbish")
    assert "\n" not in str(caught.value)
    assert len(str(caught.value)) < 300


@pytest.mark.parametrize("suffix", [f".{kind}" for kind in FORMATS])
def test_an_empty_file(tmp_path, suffix):
    path = tmp_path / f"empty{suffix}"
    path.touch()
    with pytest.raises(InputError, match="found an empty file"):
        read_part(path, unit="mm")


def test_a_missing_file_and_a_folder(tmp_path):
    with pytest.raises(InputError, match="found no such file"):
        read_part(tmp_path / "absent.stl", unit="mm")
    folder = tmp_path / "folder.stl"
    folder.mkdir()
    with pytest.raises(InputError):
        read_part(folder, unit="mm")


def test_an_unknown_suffix(tmp_path):
    with pytest.raises(InputError, match=r"found the suffix '.dwg'.*\.stl"):
        read_part(tmp_path / "part.dwg", unit="mm")


def test_a_file_that_may_not_be_read(tmp_path, monkeypatch):
    path = write(tmp_path, shapes.box())

    def refuse(path, **most):
        raise PermissionError(13, "Permission denied", str(path))

    monkeypatch.setattr(ordinary, "read_bytes", refuse)
    with pytest.raises(ResourceError, match="Permission denied"):
        read_part(path, unit="mm")


def test_too_little_memory(tmp_path, monkeypatch):
    path = write(tmp_path, shapes.box(), ".ply", "ply")

    def refuse(*args, **kwargs):
        raise MemoryError

    monkeypatch.setattr(trimesh, "load_scene", refuse)
    with pytest.raises(ResourceError, match="too little memory"):
        read_part(path, unit="mm")


@pytest.mark.parametrize("value", [np.nan, np.inf, -np.inf, 1e30])
def test_a_coordinate_that_is_no_length(tmp_path, value):
    body = shapes.box()
    vertices_mm = body.vertices_mm.copy()
    vertices_mm[3, 1] = value
    path = tmp_path / "bad.off"
    rows = [f"{x} {y} {z}" for x, y, z in vertices_mm]
    rows += [f"3 {a} {b} {c}" for a, b, c in body.faces]
    path.write_text("OFF\n8 12 0\n" + "\n".join(rows) + "\n")
    with pytest.raises(InputError, match="1 vertices whose coordinates are not numbers"):
        read_part(path, unit="mm")


@pytest.mark.parametrize("size", [3e-44, 1e-13])
def test_a_part_smaller_than_an_atom_has_no_size(tmp_path, size):
    """A glTF whose numbers were read one byte off: float32 at the edge of nothing."""
    path, body = tmp_path / "part.obj", shapes.t_slot()
    corners = body.vertices_mm * (size / np.ptp(body.vertices_mm))
    lines = ["v {!r} {!r} {!r}".format(*map(float, corner)) for corner in corners]
    # One facet is missing: what its hole leaves open is what took so long.
    lines += ["f {} {} {}".format(*(1 + face)) for face in body.faces[1:]]
    path.write_text("\n".join(lines))
    with pytest.raises(GeometryError, match="no size along x and y and z, need a solid body"):
        read_part(path, unit="mm")


def test_points_without_a_surface(tmp_path):
    path = tmp_path / "points.ply"
    path.write_bytes(trimesh.PointCloud(shapes.box().vertices_mm).export(file_type="ply"))
    with pytest.raises(GeometryError, match="found no triangles"):
        read_part(path, unit="mm")


def test_nothing_outside_the_file_is_opened(tmp_path, monkeypatch):
    text = as_mesh(shapes.box()).export(file_type="obj")
    (tmp_path / "paint.mtl").write_text("newmtl a\nmap_Kd paint.png\n")
    path = tmp_path / "painted.obj"
    path.write_text(f"mtllib paint.mtl\nusemtl a\n{text}")
    opened = []
    real = io.open

    def spy(file, *args, **kwargs):
        opened.append(str(file))
        return real(file, *args, **kwargs)

    monkeypatch.setattr("builtins.open", spy)
    monkeypatch.setattr(io, "open", spy)
    assert read_part(path, unit="mm").check.is_watertight
    assert any(name.endswith("painted.obj") for name in opened), "the spy sees nothing"
    assert not [name for name in opened if "paint.mtl" in name or "paint.png" in name]


def test_a_document_type_in_a_3mf_reads_no_file(tmp_path):
    secret = tmp_path / "secret.txt"
    secret.write_text("7")
    path = write(tmp_path, shapes.box(2.0, 2.0, 2.0), ".3mf", "3mf")
    with zipfile.ZipFile(path) as archive:
        files = {name: archive.read(name) for name in archive.namelist()}
    name = next(n for n in files if n.lower() == "3d/3dmodel.model")
    start = files[name].index(b"<model")
    entity = f'<!DOCTYPE model [<!ENTITY e SYSTEM "{secret.as_uri()}">]>'.encode()
    files[name] = (files[name][:start] + entity + files[name][start:]).replace(
        b'x="-1.0"', b'x="&e;"'
    )
    assert b"&e;" in files[name]
    with zipfile.ZipFile(path, "w") as archive:
        for member, data in files.items():
            archive.writestr(member, data)
    with pytest.raises(CastplanError):
        read_part(path)
