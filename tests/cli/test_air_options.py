"""Options about air, from the command line into the job."""

import pytest
import shapes
import trimesh
from typer.testing import CliRunner

import castplan.door
from castplan import cli
from castplan.cli.job_options import read_options
from castplan.cli.options import read_place, read_spot
from castplan.errors import InputError
from castplan.files import write
from castplan.records import Job


@pytest.fixture
def job_of(tmp_path, monkeypatch):
    """The job that a command makes of its options; nothing is planned."""
    body, seen = shapes.box(), {}
    path = tmp_path / "box.stl"
    mesh = trimesh.Trimesh(body.vertices_mm, body.faces, process=False)
    path.write_bytes(mesh.export(file_type="stl"))
    monkeypatch.setattr(
        castplan.door, "build_plan", lambda part, job, *, progress: seen.update(job=job)
    )
    monkeypatch.setattr(castplan.door.plan_folder, "as_kept", lambda plan: plan)
    monkeypatch.setattr(castplan.door, "build_scene", lambda plan: None)
    monkeypatch.setattr(write, "write_plan", lambda *args, **more: None)
    monkeypatch.setattr(castplan.door, "summary_lines", lambda plan: [])

    def run(*options):
        out = tmp_path / f"plan{len(seen)}"
        command = ["plan", str(path), "--units", "mm", "--out", str(out), *options]
        CliRunner().invoke(cli.app, command, catch_exceptions=False)
        return seen["job"]

    return run


def test_options_reach_the_job(job_of):
    job = job_of("--max-vents", "3", "--air-left", "0.5", "--vent-pitch", "40", "--gate", "6")
    assert (job.max_vents, job.air_left_ml, job.vent_pitch_mm, job.gate_mm) == (3, 0.5, 40.0, 6.0)


def test_without_options_the_defaults_stand(job_of):
    job, plain = job_of(), Job()
    for name in ("max_vents", "air_left_ml", "vent_pitch_mm", "gate_mm", "feed", "n_attitudes"):
        assert getattr(job, name) == getattr(plain, name)


@pytest.mark.parametrize("option", ["max_vents", "air_left", "vent_pitch", "gate"])
def test_nothing_and_less_is_refused(option):
    with pytest.raises(InputError, match="need at least"):
        read_options({option: -1})


def test_places_of_vents_reach_the_job(job_of):
    job = job_of("--vent", "10,0,24.5", "--vent=-3,1,2")
    assert job.vents_at == ((10.0, 0.0, 24.5), (-3.0, 1.0, 2.0))


def test_places_to_keep_off_reach_the_job(job_of):
    job = job_of("--keep-off", "10,0,24.5", "--keep-off=-3,1,2,12")
    assert job.keep_off == ((10.0, 0.0, 24.5, 5.0), (-3.0, 1.0, 2.0, 12.0))


@pytest.mark.parametrize("text", ["10,0", "a,b,c", "1,2,inf", "1,2,3,0", "1,2,3,-4", "1,2,3,4,5"])
def test_a_place_to_keep_off_that_is_none_is_refused(text):
    with pytest.raises(InputError, match=r"three coordinates in mm.* and a radius above 0"):
        read_spot("--keep-off", text, radius_mm=5.0)


@pytest.mark.parametrize("text", ["10,0", "a,b,c", "1,2,inf"])
def test_a_place_that_is_none_is_refused(text):
    with pytest.raises(InputError, match="three coordinates in mm"):
        read_place("--vent", text)
