"""The front door: what comes in, what is refused, and that nothing is imported too early.

An inch is 25.4 mm by definition; other values are invented here.
"""

import json
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import trimesh

import castplan
from castplan.errors import GeometryError, InputError
from castplan.files.record import plan_json

SAMPLES = Path(__file__).parents[2] / "sample_parts"
HOOK = SAMPLES / "coat_hook.stl"


@pytest.fixture(scope="module")
def planned():
    return castplan.plan(HOOK, unit="mm", wall_mm=14)


def test_a_choice_by_name_reaches_the_plan(planned):
    assert planned.job.wall_mm == 14
    assert planned.split.box.wall_mm == 14


def without_name(planned):
    document = json.loads(plan_json(planned.record))
    document["part"].pop("name")
    return document


def test_a_path_a_mesh_and_arrays_give_the_same_plan(planned):
    # Read by trimesh, an independent reader of STL: three corners to a facet, as in the file.
    mesh = trimesh.load_mesh(HOOK)
    loose = mesh.triangles.reshape(-1, 3)
    arrays = loose, np.arange(len(loose)).reshape(-1, 3)
    assert without_name(castplan.plan(arrays, unit="mm", wall_mm=14)) == without_name(planned)
    # Joined and put in another order by trimesh: the same within sampling.
    other = castplan.plan(mesh, unit="mm", wall_mm=14)
    assert other.part.check.volume_mm3 == pytest.approx(mesh.volume, rel=1e-9)
    assert other.split.line.kind == planned.split.line.kind
    for one, two in zip(other.bench.amounts.mixes, planned.bench.amounts.mixes, strict=True):
        assert one.mass_g == pytest.approx(two.mass_g, rel=2e-3)


@pytest.mark.long
def test_inches_are_converted():
    # 25.4 mm exactly (international yard and pound agreement, 1959).
    box = trimesh.creation.box(extents=(2.0, 1.0, 0.5))
    planned = castplan.plan(box, unit="in")
    assert planned.part.check.extent_mm == pytest.approx((50.8, 25.4, 12.7))


@pytest.mark.parametrize(
    ("source", "choices", "said"),
    [
        (trimesh.creation.box(extents=(9, 9, 9)), {}, "unit: found none"),
        (trimesh.creation.box(extents=(9, 9, 9)), {"unit": "mm", "wal_mm": 3}, "named wal_mm"),
        (42, {"unit": "mm"}, "found a int"),
        (trimesh.creation.box(extents=(9, 9, 9)), {"unit": "cubit"}, "cubit"),
    ],
)
def test_what_cannot_be_used_is_told_in_one_line(source, choices, said):
    with pytest.raises(InputError) as refused:
        castplan.plan(source, **choices)
    assert said in str(refused.value)
    assert "\n" not in str(refused.value)


def test_one_side_of_a_part_is_refused_as_from_a_file():
    # A closed box less one of its larger sides: a third of its surface.
    box = trimesh.creation.box(extents=(40, 30, 20))
    open_box = np.asarray(box.faces)[box.face_normals[:, 2] < 0.5]
    with pytest.raises(GeometryError, match="one side missing"):
        castplan.plan((box.vertices, open_box), unit="mm")


def test_a_folder_is_written_and_read_again(planned, tmp_path):
    folder = planned.write(tmp_path / "plan")
    assert {"plan.json", "part.npz", "sheets.pdf", "view.html"} <= {
        path.name for path in folder.iterdir()
    }
    again = castplan.read_plan(folder)
    assert again.summary() == planned.summary()
    with pytest.raises(InputError):
        planned.write(folder)


def test_a_printed_bed_that_is_asked_for_is_what_the_part_lies_in():
    box = trimesh.creation.box(extents=(40, 30, 20))
    quick = {"n_directions": 20, "n_attitudes": 20, "draw": (0, 0, 1)}
    printed = castplan.plan(box, unit="mm", solids=("bed",), **quick)
    assert printed.job.bed == "printed"
    assert printed.mould.block.bedding.kind == "printed-bed"
    assert "bed" in {solid.name.split()[0] for solid in printed.solids}


def test_a_bed_that_the_steps_do_not_use_is_refused(planned, tmp_path):
    assert planned.job.bed == "clay"
    said = "bed: found a bed to print, and a part that lies in clay, need one of them."
    with pytest.raises(InputError) as refused:
        planned.with_solids({"halves", "bed"})
    assert str(refused.value).startswith(said)
    # Before anything is planned: the part is never looked at.
    with pytest.raises(InputError) as refused:
        castplan.door.plan_part(None, planned.job, solids=iter(("bed",)))
    assert str(refused.value).startswith(said)


def test_solids_are_made_and_proven(planned):
    made = planned.with_solids({"halves"})
    assert [solid.name for solid in made.solids] == ["upper half", "lower half"]
    assert made.split.proof.solids_mm3 is not None
    assert made.why_no_solids == ""


def test_a_plan_is_short_to_look_at(planned):
    assert len(repr(planned)) < 200
    assert "coat_hook" in repr(planned)
    html = planned._repr_html_()
    assert html.count("<svg") == 3
    assert "findings" in dir(planned)


def test_nothing_heavy_is_imported_before_it_is_asked_for():
    show = "import sys, castplan; print(sorted({'numpy', 'numba', 'scipy'} & set(sys.modules)))"
    told = subprocess.run([sys.executable, "-c", show], capture_output=True, text=True, check=True)
    assert told.stdout.strip() == "[]"
    with pytest.raises(AttributeError):
        castplan.nothing_of_the_kind  # noqa: B018
