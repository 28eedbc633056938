"""The bench's log through the command line, on a plan that was really made.

An inch is 25.4 mm by definition.
"""

import json
import subprocess
import sys
from pathlib import Path
from types import SimpleNamespace

import manifold3d
import numpy as np
import pdfplumber
import pytest
import trimesh
import typer

from castplan import cli
from castplan.after.places import FACES, box_at_rest, face_of, place_on_face
from castplan.cli.cast_options import read_defect
from castplan.errors import CastplanError
from castplan.files import record
from castplan.files.part_file import write_part
from castplan.files.plan_folder import read_plan
from castplan.files.write import write_plan
from castplan.part.load import load_part
from castplan.planning import build_plan
from castplan.records import Job
from castplan.words.formats import raised

PART = Path(__file__).parents[2] / "sample_parts" / "coat_hook.stl"


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    """A plan, and its folder."""
    job = Job(draw=(1.0, 0.0, 0.0), up=(0.0, -1.0, 0.0), pitch_mm=0.8, n_directions=20)
    plan = build_plan(load_part(PART, unit="mm"), job)
    folder = tmp_path_factory.mktemp("jobs") / "plan"
    write_plan(plan, folder, replace=False)
    return plan, folder


@pytest.fixture
def folder(made):
    """The plan's folder with an empty log."""
    (made[1] / "casts.jsonl").unlink(missing_ok=True)
    return made[1]


def call(capsys, *words):
    """What a command prints."""
    with pytest.raises(SystemExit) as ended:
        cli.app([str(word) for word in words])
    assert ended.value.code == 0
    return capsys.readouterr().out


def refused(*words):
    """The error of a command that the program's own main would print."""
    with pytest.raises(CastplanError) as error:
        cli.app([str(word) for word in words], standalone_mode=False)
    return str(error.value)


def test_a_plan_comes_back_as_it_was_written(made):
    plan, folder = made
    again = read_plan(folder)
    assert json.loads(record.plan_json(again)) == json.loads(record.plan_json(plan))
    for name in ("vertices_mm", "faces", "cap_faces"):
        assert np.array_equal(getattr(again.part, name), getattr(plan.part, name))


@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        (lambda text: text.replace("castplan-plan-2", "castplan-plan-1"), "another castplan"),
        (lambda text: text.replace('"rocking":', '"swinging":'), "another castplan"),
        (lambda text: text[:1000], "no plan"),
        (lambda text: text.replace('"n_triangles":396', '"n_triangles":397'), "another mesh"),
    ],
)
def test_a_spoiled_plan_is_refused(made, tmp_path, spoil, said):
    for path in made[1].iterdir():
        (tmp_path / path.name).write_bytes(path.read_bytes())
    path = tmp_path / "plan.json"
    path.write_text(spoil(path.read_text("utf-8")), encoding="utf-8")
    assert said in refused("cast", tmp_path)


def test_the_kept_mesh_has_the_same_bytes_each_time(made, tmp_path):
    plan, folder = made
    told = record.plan_json(plan)
    write_part(plan.part, tmp_path / "again.npz", record=told)
    assert (tmp_path / "again.npz").read_bytes() == (folder / "part.npz").read_bytes()


def test_a_place_may_be_told_in_inches(made):
    plan, _ = made
    assert read_defect("void@0.5,-1,2in", plan).where_mm == pytest.approx((12.7, -25.4, 50.8))
    metric = read_defect("void@top:25.4,12.7,5.08", plan).where_mm
    assert read_defect("void@top:1,0.5,0.2in", plan).where_mm == pytest.approx(metric)
    assert read_defect("void@1,2,3=0.1in", plan).size_mm == pytest.approx(2.54)


def test_a_place_on_a_face_is_told_from_its_lower_left_corner_seen_from_outside(made):
    # 20 across, 11 up, 3 deep; by hand from the box's corners as it rests.
    plan, _ = made
    (x0, y0, z0), (x1, y1, z1) = box_at_rest(plan)
    by_hand = {
        "top": (x0 + 20, y0 + 11, z1 - 3),
        "bottom": (x1 - 20, y0 + 11, z0 + 3),
        "front": (x0 + 20, y0 + 3, z0 + 11),
        "back": (x1 - 20, y1 - 3, z0 + 11),
        "right": (x1 - 3, y0 + 20, z0 + 11),
        "left": (x0 + 3, y1 - 20, z0 + 11),
    }
    assert by_hand.keys() == set(FACES)
    for name, expected in by_hand.items():
        place = place_on_face(plan, name, (20.0, 11.0), depth_mm=3.0)
        assert plan.air.openings.frame.to_frame(np.array(place)) == pytest.approx(
            expected, abs=1e-3
        )


def test_the_port_of_the_plan_is_where_its_route_leaves(made):
    # The sheets tell a port from the corner of the face that it leaves by.
    plan, _ = made
    for port, route in zip(plan.mould.block.ports, plan.mould.vents.routes, strict=True):
        across, up = route.exit_from_corner_mm
        start = face_of(plan, route.exit_face).point_mm(across_mm=across, up_mm=up)
        exit_mm = plan.air.openings.frame.to_frame(
            plan.split.draw.frame.to_part(np.array(route.exit_mm))
        )
        assert start == pytest.approx(exit_mm, abs=1e-6)
        if route.route in ("straight", "groove"):
            place = place_on_face(plan, route.exit_face, (across, up))
            port_mm = plan.air.openings.frame.to_part(np.array(port.place_mm))
            # The port stands on its column's top, within the pitch of the mesh.
            assert np.linalg.norm(np.array(place) - port_mm) < 0.8


def test_log_list_withdraw_and_table(folder, tmp_path, capsys):
    told = call(
        capsys, "cast", folder, "--date", "2026-12-01", "--result", "usable",
        "--defect", "void@12,30,4=3mm", "--defect", "warp", "--weighed", "44.7,40.3",
        "--size", "y=95.4+-0.1", "--shot", 31.6,
    )  # fmt: skip
    assert "line 1" in told and "casting 1, usable; a void at 12,30,4, 3 mm across" in told
    call(capsys, "cast", folder, "--date", "2026-12-02", "--result", "good")
    assert "both stay" in call(capsys, "cast", folder, "--withdraw", 1, "--note", "wrong mould")
    listed = call(capsys, "cast", folder).splitlines()
    assert listed[0].startswith("1 (withdrawn)") and "casting 1, good" in listed[1]
    assert listed[2] == "3  takes back line 1: wrong mould"
    call(capsys, "cast", folder, "--csv", tmp_path / "casts.csv")
    assert (tmp_path / "casts.csv").read_bytes().count(b"\r\n") == 4


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--result", "good"], "--date: found nothing"),
        (["--date", "2026-12-01", "--result", "good", "--defect", "hole"], "need one of void"),
        (["--date", "2026-12-01", "--result", "good", "--defect", "void@top:1"], "the place"),
        (["--date", "2026-12-01", "--result", "good", "--defect", "void@top:0,0"], "no part under"),
        (["--date", "2026-12-01", "--result", "good", "--size", "q=3"], "need one of x, y, z"),
        (["--date", "2026-12-01", "--result", "good", "--weighed", "3"], "grams of A and of B"),
        (["--date", "2026-12-01", "--result", "good", "--humidity", "130"], "0 to 100"),
        (["--withdraw", "1", "--date", "2026-12-01"], "one of them"),
        (["--withdraw", "1"], "need one before line 1"),
    ],
)
def test_what_cannot_be_logged_is_said_in_one_line(folder, words, said):
    message = refused("cast", folder, *words)
    assert said in message and "\n" not in message
    log = folder / "casts.jsonl"
    assert not log.exists() or log.read_bytes() == b""


def test_a_replaced_plan_takes_its_log_along(folder, made, tmp_path, capsys):
    target = tmp_path / "plan"
    write_plan(made[0], target, replace=False)
    call(capsys, "cast", target, "--date", "2026-12-01", "--result", "good")
    before = (target / "casts.jsonl").read_bytes()
    write_plan(made[0], target, replace=True)
    assert (target / "casts.jsonl").read_bytes() == before
    assert (tmp_path / "plan.previous" / "casts.jsonl").read_bytes() == before


def test_help_starts_without_the_heavy_libraries():
    script = "import sys; from castplan.cli import cast; print('numpy' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True)
    assert done.stdout.strip() == "False"


def test_diagnose_and_revise_through_the_command_line(folder, made, tmp_path, capsys):
    plan, _ = made
    # Every copy is told with a void at the plan's vent: it let no air out.
    port = plan.mould.block.ports[1]
    x, y, z = plan.air.openings.frame.to_part(np.array(port.place_mm))
    told = call(
        capsys, "cast", folder, "--date", "2026-12-01", "--result", "scrap",
        "--defect", f"off-size@{x:.3f},{y:.3f},{z:.3f}", "--defect", "soft", "--temperature", "12",
    )  # fmt: skip
    assert "Most likely cause of a soft or sticky place: It was cold" in told
    sheet = tmp_path / "diagnosis.pdf"
    told = call(capsys, "diagnose", folder, "--sheet", sheet)
    assert "Test: Keep it for a day" in told and "Mould 1: 1 of about 20" in told
    assert sheet.read_bytes().startswith(b"%PDF")
    assert "no defect that a change" in refused("revise", folder, "--out", tmp_path / "next")
    assert not (tmp_path / "next").exists()
    assert "--replace" in refused("diagnose", folder, "--sheet", sheet)


def test_learnt_numbers_are_shown_kept_and_taken_back(folder, shop_folder, capsys):
    for length in (95.2, 95.3, 95.4):
        call(
            capsys, "cast", folder, "--date", "2026-12-01", "--result", "good",
            "--size", f"y={length}", "--thick-after", 4, "--temperature", 23,
        )  # fmt: skip
    told = call(capsys, "materials", "learn", folder)
    assert "shrinkage by length" in told and "3 observed" in told and "Nothing is changed" in told
    assert not list(shop_folder.rglob("*.toml"))  # never silently
    words = ("materials", "learn", folder, "--card", "polyurethane-fast-70d", "--keep", "ours")
    assert "undo ours" in call(capsys, *words)
    assert "found one of yours" in refused(*words)
    assert "own log, 3 pours" in call(capsys, "materials", "show", "ours")
    assert "nothing contradicts" in call(capsys, "materials", "check", "ours")
    call(capsys, "materials", "undo", "ours")
    assert "ours" not in call(capsys, "materials", "list")
    assert "--card" in refused("materials", "learn", folder, "--keep", "ours")
    assert "one of shrinkage" in refused("materials", "learn", folder, "--number", "colour")


def test_an_insert_through_the_command_line_says_the_same_on_paper(made, tmp_path, capsys):
    _, folder = made
    # A pin of 6 x 6 x 8 mm let 3 mm into the plate's back, z = 0, between the tongues.
    pin = manifold3d.Manifold.cube((6, 6, 8)).translate((-3, -3, -8))
    mesh = pin.to_mesh64()
    body = trimesh.Trimesh(np.asarray(mesh.vert_properties)[:, :3], np.asarray(mesh.tri_verts))
    body.export(tmp_path / "pin.stl")
    sheet = tmp_path / "pin.pdf"
    told = call(
        capsys, "clearance", folder, "--insert", tmp_path / "pin.stl", "--units", "mm",
        "--at", "0,47,3", "--bed", 0.5, "--keep", "tongue=-7,56,5,7,86,46", "--sheet", sheet,
    )  # fmt: skip
    # The plate is 5 mm thick: 2 mm are left over the pin.
    assert "stands out by 5.00 mm" in told and "least wall is 2.00 mm" in told
    assert "1.50 mm once the gap" in told and "Keep-out tongue is not touched" in told
    with pdfplumber.open(sheet) as pages:
        printed = " ".join(" ".join(p.extract_text() or "" for p in pages.pages).split())
    for line in told.splitlines()[:-1]:
        line = line.removeprefix("Take care. ")
        assert " ".join(raised(line).split())[:40] in printed
    for words, said in (
        (["--at", "1,2"], "3 or 6 numbers"),
        (["--at", "0,47,3", "--keep", "t=1,2,3"], "6 numbers"),
        (["--at", "0,47,3", "--keep", "t=1,2,3,0,9,9"], "lower corner first"),
        (["--at", "0,470,3"], "outside the casting"),
    ):
        assert said in refused(
            "clearance", folder, "--insert", tmp_path / "pin.stl", "--units", "mm", *words
        )


def test_on_a_terminal_what_is_missing_is_asked_for(folder, monkeypatch, capsys):
    answers = {"Day of the pour, YYYY-MM-DD": "2026-12-05", "good, usable, scrap": "scrap"}
    monkeypatch.setattr(sys, "stdin", SimpleNamespace(isatty=lambda: True))
    monkeypatch.setattr(typer, "prompt", answers.pop)
    told = call(capsys, "cast", folder, "--shot", 30)
    assert "2026-12-05 mould 1 casting 1, scrap" in told and not answers
