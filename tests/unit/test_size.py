"""Scale: a measured length corrects or sets it, and absurd sizes need a yes.

Sizes are worked by hand; an inch is 25.4 mm by definition.
"""

import re
import zipfile

import numpy as np
import pytest
import shapes
import trimesh

from castplan.errors import GeometryError, InputError
from castplan.part import size
from castplan.part.load import Reading, load_part, read_part
from castplan.planning import build_plan
from castplan.records import Job


@pytest.fixture
def stl(tmp_path):
    def write(*sides):
        body = shapes.box(*sides)
        path = tmp_path / "box.stl"
        mesh = trimesh.Trimesh(body.vertices_mm, body.faces, process=False)
        path.write_bytes(mesh.export(file_type="stl"))
        return path

    return write


def test_a_measured_length_corrects_the_scale(stl):
    part = load_part(stl(140.0, 60.0, 40.0), Reading(unit="mm", measured="x=142"))
    # 142 / 140 along every axis; the volume by its cube.
    assert part.check.extent_mm == pytest.approx((142.0, 60 * 142 / 140, 40 * 142 / 140))
    assert part.check.volume_mm3 == pytest.approx(336_000 * (142 / 140) ** 3)
    assert tuple(map(str, part.check.changes)) == ("scaled by 1.0143 to the measured x=142",)
    assert part.check.unit == "mm"


def test_a_measured_length_sets_the_scale_where_none_is_known(stl):
    part = load_part(stl(5.0, 2.0, 1.0), Reading(measured="longest=127.0"))
    assert part.check.extent_mm == pytest.approx((127.0, 50.8, 25.4))
    assert (part.check.unit, part.check.mm_per_unit) == ("measured", pytest.approx(25.4))
    assert tuple(map(str, part.check.changes)) == (
        "set the scale by the measured longest=127.0: 1 unit is 25.4 mm",
    )


def test_the_measured_length_may_carry_a_unit(stl):
    part = load_part(stl(140.0, 60.0, 40.0), Reading(unit="mm", measured=" Z = 1.6in "))
    assert part.check.extent_mm[2] == pytest.approx(40.64)  # 1.6 x 25.4


def test_a_measured_length_unmasks_a_wrong_unit(stl):
    # 5.5 in read as mm; the original measures 139.7 mm.
    told = r"5.5 mm along x but 139.7 mm measured: the unit mm is wrong.* is 1 in: say --units in"
    with pytest.raises(InputError, match=told):
        load_part(stl(5.5, 2.0, 1.0), Reading(unit="mm", measured="x=139.7"))


def test_a_measured_length_that_fits_no_unit_is_the_wrong_one(stl):
    with pytest.raises(InputError, match="no unit fits, so the measured length is wrong"):
        load_part(stl(55.0, 20.0, 10.0), Reading(unit="mm", measured="x=110"))


@pytest.fixture
def stated(tmp_path):
    """A 3MF file of a box 100 units long that states its unit."""

    def write(unit):
        body = shapes.box(100.0, 50.0, 25.0)
        mesh = trimesh.Trimesh(body.vertices_mm, body.faces, process=False)
        mesh.units = unit
        path = tmp_path / "box.3mf"
        path.write_bytes(mesh.export(file_type="3mf"))
        with zipfile.ZipFile(path) as archive:
            files = {name: archive.read(name) for name in archive.namelist()}
        # 3MF Core Specification, attribute "unit" of "model".
        model = next(name for name in files if name.lower() == "3d/3dmodel.model")
        files[model] = re.sub(b'unit="[a-z]+"', f'unit="{unit}"'.encode(), files[model])
        with zipfile.ZipFile(path, "w") as archive:
            for name, data in files.items():
                archive.writestr(name, data)
        return path

    return write


def test_a_measured_length_corrects_a_stated_unit_by_up_to_a_quarter(stated):
    part = load_part(stated("millimeter"), Reading(measured="x=120"))
    assert part.check.extent_mm == pytest.approx((120.0, 60.0, 30.0))
    assert part.check.unit == part.check.file_unit == "mm"


def test_a_stated_unit_that_the_measured_length_contradicts_is_told(stated):
    # 100 in = 2540 mm; the original measures 101 mm, so the file is in mm.
    path = stated("inch")
    told = r"2540 mm along x but 101 mm measured: the in stated in the file is wrong.*--units mm"
    with pytest.raises(InputError, match=told):
        load_part(path, Reading(measured="x=101"))
    # What the message says to do works, and nothing less does.
    part = load_part(path, Reading(measured="x=101", unit="mm"))
    assert part.check.extent_mm[0] == pytest.approx(101.0)
    assert (part.check.unit, part.check.file_unit) == ("mm", "in")
    with pytest.raises(InputError, match="in stated in the file, but --units mm"):
        load_part(path, unit="mm")


def test_of_two_units_the_measured_length_says_which_is_wrong(stated):
    path = stated("millimeter")
    with pytest.raises(InputError, match=r"--units in, but the measured length fits the mm"):
        load_part(path, Reading(unit="in", measured="x=99"))
    with pytest.raises(InputError, match=r"--units in and the mm in the file is wrong.* 1 cm"):
        load_part(path, Reading(unit="in", measured="x=1000"))


@pytest.mark.parametrize("text", ["", "x", "x=", "w=3", "x=-3", "x=0", "x=1.2.3", "142", "x=inf"])
def test_a_measure_that_cannot_be_read(stl, text):
    with pytest.raises(InputError, match="--measured: found"):
        read_part(stl(5.0, 2.0, 1.0), Reading(unit="mm", measured=text))


def test_a_measure_in_an_unknown_unit(stl):
    with pytest.raises(InputError, match="the unit 'ell'"):
        read_part(stl(5.0, 2.0, 1.0), Reading(measured="x=3ell"))


@pytest.mark.parametrize(
    ("sides", "is_believed"),
    [
        ((2.9, 2.0, 1.0), False),
        ((3.0, 2.0, 1.0), True),
        ((2000.0, 9, 9), True),
        ((2001, 9, 9), False),
    ],
)
def test_absurd_sizes_need_a_yes(stl, sides, is_believed):
    path = stl(*sides)
    if is_believed:
        assert load_part(path, unit="mm").check.n_triangles == 12
        return
    with pytest.raises(InputError, match=r"found a size of .* mm, .*say --yes"):
        load_part(path, unit="mm")
    assert load_part(path, Reading(unit="mm", is_size_meant=True)).check.n_triangles == 12
    assert read_part(path, unit="mm").check.n_triangles == 12


@pytest.mark.parametrize(
    ("sides", "n_tiles"),
    # Sheets of A4 show 196 x 174 mm each; 40 mm of wall all round, rounded up by hand.
    [((100.0, 60.0, 30.0), 1), ((600.0, 400.0, 100.0), 12), ((1900.0, 1500.0, 20.0), 110)],
)
def test_a_plan_of_many_sheets_is_asked_about_first(stl, sides, n_tiles):
    assert size.tiles_needed(sides) == n_tiles
    path = stl(*sides)
    if n_tiles <= size.MOST_TILES:
        assert load_part(path, unit="mm").check.n_triangles == 12
        return
    with pytest.raises(InputError, match=r"take about 110 sheets each.*say --yes") as caught:
        load_part(path, unit="mm")
    assert caught.value.asks == "size"
    assert load_part(path, Reading(unit="mm", is_size_meant=True)).check.n_triangles == 12


def test_a_scale_error_within_the_bound_is_no_wrong_unit():
    # The bound lies far from every ratio of two units (2.54 is the smallest).
    ten = size.InFile(name="a", stated=None, extent=np.full(3, 10.0))
    size.check_scale(ten, size.Measured("x", 12.4), unit="mm")
    with pytest.raises(InputError):
        size.check_scale(ten, size.Measured("x", 25.4), unit="mm")


def test_a_part_between_the_columns_is_refused_in_one_line():
    body = shapes.box()
    part = shapes.part_of(0.001 * body.vertices_mm, body.faces)  # 0.04 mm long
    with pytest.raises(GeometryError, match=r"columns 0.02 mm apart, need at least 25"):
        build_plan(part, Job(draw=(0.0, 0.0, 1.0)))
