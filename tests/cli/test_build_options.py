"""Options about box, keys, bed, equipment and solids; the files that they add."""

import re
import sys
from pathlib import Path

import ezdxf
import pytest
import shapes
import trimesh

import castplan.door
from castplan import cli
from castplan.cli.options import read_lengths
from castplan.cli.plan import read_job, read_solids
from castplan.errors import GeometryError, InputError
from castplan.files.plan_folder import read_plan
from castplan.records import Job

NOTHING = {"solids": None, "shop": None, "uses": None}


def test_solids_are_named_in_the_order_of_making():
    assert read_solids(None) == ()
    assert read_solids("bed, Halves") == ("halves", "bed")
    assert read_solids("all") == ("halves", "bed", "walls", "case")


def test_an_unknown_solid_is_refused():
    with pytest.raises(InputError, match="--solids: found 'lid', need halves"):
        read_solids("halves,lid")


def test_lengths_are_counted():
    assert read_lengths("--pot", None, count=2) is None
    assert read_lengths("--pot", "200, 180.5", count=2) == (200.0, 180.5)
    for bad in ("200", "200,0", "200,x", "1,2,3", "200,nan"):
        with pytest.raises(InputError, match="--pot"):
            read_lengths("--pot", bad, count=2)


def test_nothing_asked_leaves_the_job_alone():
    job, solids = read_job(NOTHING)
    assert vars(job) == vars(Job())
    assert solids == ()


def test_choices_are_the_jobs_words():
    job, _ = read_job(NOTHING | {"box": "round", "bed": "printed", "kerf": 0.2})
    assert (job.box, job.bed, job.kerf_mm) == ("round", "printed", 0.2)
    # A bed that is printed is what the part lies in, unless another is asked for.
    assert read_job(NOTHING | {"solids": "bed"})[0].bed == "printed"
    assert read_job(NOTHING | {"solids": "bed", "bed": "clay"})[0].bed == "clay"
    with pytest.raises(InputError, match="--board"):
        read_job(NOTHING | {"board": 0.0})
    with pytest.raises(InputError, match="--kerf"):
        read_job(NOTHING | {"kerf": -0.1})


def test_a_mesh_without_solids_still_gets_its_plan(tmp_path, monkeypatch, capsys):
    def refuse(plan, wanted):
        raise GeometryError("block", found="a sheet", need="a solid", do="Repair it.")

    monkeypatch.setattr(castplan.door, "build_solids", refuse)
    monkeypatch.setattr(sys, "argv", ["castplan", *words(tmp_path).split()])
    with pytest.raises(SystemExit) as ended:
        cli.main()
    assert not ended.value.code
    assert "no solids written. block: found a sheet" in capsys.readouterr().err
    assert (tmp_path / "plan" / "plan.json").is_file()
    assert not (tmp_path / "plan" / "solids").exists()


def words(folder):
    """Write a block into a folder; the command that plans it with every solid."""
    body = shapes.box(60.0, 40.0, 20.0)
    mesh = trimesh.Trimesh(body.vertices_mm, body.faces, process=False)
    (folder / "block.stl").write_bytes(mesh.export(file_type="stl"))
    return (
        f"plan {folder / 'block.stl'} --units mm --out {folder / 'plan'} --draw +z --up +z "
        "--pitch 1 --solids all --kerf 0.2 --pot 200,150 --printer 90,90,120"
    )


@pytest.fixture(scope="module")
def planned(tmp_path_factory):
    """A plan of a block with every solid, from the command line."""
    folder = tmp_path_factory.mktemp("block")
    before = sys.argv
    sys.argv = ["castplan", *words(folder).split()]
    try:
        with pytest.raises(SystemExit) as ended:
            cli.main()
    finally:
        sys.argv = before
    assert not ended.value.code
    return folder / "plan"


def test_the_steps_take_the_printed_bed(planned):
    text = " ".join(str(step.text) for step in read_plan(planned).bench.schedule.steps)
    assert "printed bed" in text
    assert "keys into the clay" not in text
    assert "keys on the board" not in text


def test_boards_are_always_written(planned):
    document = ezdxf.readfile(planned / "boards.dxf")
    assert document.header["$INSUNITS"] == 4
    assert (planned / "boards.svg").read_bytes().startswith(b"<?xml")


def test_every_solid_asked_for_is_written_and_closed(planned):
    made = {path.name for path in (planned / "solids").iterdir()}
    beds = {name for name in made if name.startswith("bed")}
    assert len(beds) > 1  # 93 mm of bed on a plate of 90, less its margin
    kinds = {re.sub(r"_\d+_of_\d+", "", Path(name).stem) for name in made}
    halves = {"upper_half", "lower_half", "case_lower", "case_upper"}
    assert kinds == {"all", "bed", "box_wall", *halves}
    for name in made - {"all.3mf"}:
        assert trimesh.load_mesh(planned / "solids" / name).is_watertight, name
    scene = trimesh.load(planned / "solids" / "all.3mf")
    assert len(scene.geometry) == len(made) - 1
