"""Several parts in one box from the command line: read once each, planned together, refused."""

import re
import sys

import numpy as np
import pytest
import shapes
import trimesh

import castplan
from castplan import cli
from castplan.after.places import face_of
from castplan.cli.cast_options import read_defect
from castplan.part import load

QUICK = ("--units", "mm", "--pitch", "1")


def write_stl(folder, name, body):
    path = folder / f"{name}.stl"
    mesh = trimesh.Trimesh(body.vertices_mm, body.faces, process=False)
    path.write_bytes(mesh.export(file_type="stl"))
    return path


@pytest.fixture
def files(tmp_path):
    return {
        "block": write_stl(tmp_path, "block", shapes.box(30, 20, 16)),
        "cone": write_stl(tmp_path, "cone", shapes.frustum()),
    }


@pytest.fixture
def run(monkeypatch, capsys):
    """Run the command line in this process: exit code, stdout, stderr."""

    def run(*arguments):
        monkeypatch.setattr(sys, "argv", ["castplan", *map(str, arguments)])
        with pytest.raises(SystemExit) as ended:
            cli.main()
        captured = capsys.readouterr()
        return ended.value.code or 0, captured.out, captured.err

    return run


def test_parts_are_laid_in_the_order_they_are_named(run, files, tmp_path):
    out = tmp_path / "box"
    arguments = ["plan", files["cone"], "--with", files["block"], "--with", files["block"]]
    code, said, told = run(*arguments, *QUICK, "--out", out)
    assert code == 0
    assert "1 cone, 2 block, 3 block (2)" in said
    assert re.search(r"One box for (the )?3 parts", said)
    # Its stages are told as they end, the nesting among them.
    assert re.search(r"^nest \d", told, flags=re.MULTILINE)
    plan = castplan.read_plan(out)
    assert [(part.name, part.copy) for part in plan.nest.parts] == [
        ("cone", 1),
        ("block", 1),
        ("block", 2),
    ]
    exact_mm3 = 2 * 30 * 20 * 16 + shapes.frustum().volume_mm3
    # A binary STL keeps four-byte floats, seven digits.
    assert plan.part.check.volume_mm3 == pytest.approx(exact_mm3, rel=1e-5)
    # What is wrong is logged on its part, by that part's own file, and counted with it.
    told = ("--date", "2026-12-01", "--result", "good", "--part", "3=scrap")
    defects = ("--defect", "void@2/15,10,14=3", "--defect", "warp@3", "--size", "2/x=29.8")
    code, said, _ = run("cast", out, *told, *defects)
    assert code == 0
    for words in ("part 3 scrap", "a void on part 2 at 15,10,14, 3 mm across", "a warp on part 3"):
        assert words in said
    assert "block x of part 2 29.8 mm" in said
    assert "Most likely cause of a void on part 2" in said
    code, said, _ = run("diagnose", out)
    assert code == 0
    assert "Part 2 block: 1 casting (1 good, 0 usable, 0 scrap). Logged so far: a void." in said
    assert "Part 3 block (2): 1 casting (0 good, 0 usable, 1 scrap)." in said
    # A face of the box tells the part by itself; a number that is another's is refused.
    spot = plan.nest.parts[1].label_mm
    rest = plan.air.openings.frame
    corner = face_of(plan, "top").corner_mm
    across, up, _ = rest.to_frame(np.array(spot)) - corner
    place = f"top:{across:.2f},{up:.2f}"
    assert read_defect(f"dimple@{place}", plan).part == 2
    for words, found in (
        (f"dimple@3/{place}", "which is on part 2"),
        ("void@15,10,14", "in a box of 3 parts"),
        ("warp@4", "part: found 4, need 1 to 3"),
    ):
        code, _, told = run(
            "cast", out, *("--date", "2026-12-01", "--result", "good"), "--defect", words
        )
        assert (code, found in told) == (2, True), told


def test_a_file_that_is_named_again_is_read_once(run, files, tmp_path, monkeypatch):
    read = []
    real = load.read_lists
    monkeypatch.setattr(
        load, "read_lists", lambda path, **more: read.append(path.name) or real(path, **more)
    )
    arguments = ["plan", files["block"], "--with", files["block"], *QUICK]
    assert run(*arguments, "--out", tmp_path / "box")[0] == 0
    assert read == ["block.stl"]


def test_more_than_twelve_are_refused_in_one_line(run, files, tmp_path):
    others = [word for _ in range(12) for word in ("--with", files["block"])]
    out = tmp_path / "box"
    code, _, told = run("plan", files["block"], *others, *QUICK, "--out", out)
    assert code == 2
    assert "--with: found 13 parts for one box, need 2 to 12" in told
    assert not out.exists()


def test_one_that_is_not_there_is_named(run, files, tmp_path):
    arguments = ["plan", files["block"], "--with", tmp_path / "lost.stl", *QUICK]
    code, _, told = run(*arguments, "--out", tmp_path / "box")
    assert code == 2
    assert "lost.stl: found" in told


def test_python_takes_files_and_meshes_beside_each_other(files):
    body = shapes.frustum()
    mesh = (body.vertices_mm, body.faces)
    choices = {"pitch_mm": 1.0, "n_directions": 40, "n_attitudes": 40}
    plan = castplan.plan(files["block"], others=[mesh, mesh], unit="mm", **choices)
    assert [part.copy for part in plan.nest.parts] == [1, 1, 2]
