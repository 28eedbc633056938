"""Commands about the mesh itself: check with its picture, repair, scale and one-sided scans.

Volumes are closed forms of the bodies made here.
"""

import sys

import numpy as np
import pdfplumber
import pytest
import shapes
import trimesh

from castplan import cli
from castplan.part.load import read_part

# Sources: closed forms of `shapes`; exit codes as drawn in castplan/errors.py.


@pytest.fixture
def run(capsys, monkeypatch):
    """Run the command line; returns (exit code, stdout, stderr)."""

    def run_it(*arguments):
        monkeypatch.setattr(sys, "argv", ["castplan", *map(str, arguments)])
        try:
            cli.main()
            code = 0
        except SystemExit as end:
            code = end.code or 0
        out, err = capsys.readouterr()
        return code, out, err

    return run_it


@pytest.fixture
def holed(tmp_path):
    """A ball of 4,189 mm3 with a hole, and a speck beside it."""
    ball, speck = shapes.sphere(10.0, 64), shapes.box(0.5, 0.5, 0.5)
    middle = ball.vertices_mm[ball.faces].mean(axis=1)
    kept = ball.faces[np.linalg.norm(middle - (10.0, 0.0, 0.0), axis=1) > 3.0]
    vertices = np.concatenate((ball.vertices_mm, speck.vertices_mm + 12.0))
    faces = np.concatenate((kept, speck.faces + len(ball.vertices_mm)))
    path = tmp_path / "ball.stl"
    path.write_bytes(trimesh.Trimesh(vertices, faces, process=False).export(file_type="stl"))
    return path


def test_check_names_each_fault_and_its_effect(run, holed):
    code, out, err = run("check", holed, "--units", "mm")
    assert (code, err) == (0, "")
    lines = dict(line.split(":", 1) for line in out.splitlines())
    assert lines["Holes"].startswith(" 1, ") and "may be off by" in lines["Holes"]
    assert "1 speck under 1 % of the largest body; it is planned as a part" in lines["Bodies"]
    assert "no facet passes through another" in lines["Crossings"]
    assert {"Joints", "Facets", "Noise", "Resolution"} <= set(lines)


def test_check_of_a_one_sided_scan_says_what_a_plan_needs(run, tmp_path):
    body = shapes.frustum(20.0, 16.0, 6.0)
    kept = body.faces[(body.vertices_mm[body.faces][:, :, 2] > 0).any(axis=1)]
    path = tmp_path / "face.stl"
    path.write_bytes(trimesh.Trimesh(body.vertices_mm, kept, process=False).export(file_type="stl"))
    code, out, _ = run("check", path, "--units", "mm")
    assert code == 0 and "One side is missing" in out and "--close-to-plane" in out
    code, out, err = run("plan", path, "--units", "mm", "--out", tmp_path / "plan")
    assert (code, out) == (3, "") and err.splitlines()[-1].startswith("face.stl: found a surface")
    code, out, _ = run("check", path, "--units", "mm", "--close-to-plane")
    assert code == 0 and "Closed: yes" in out and "Changed for the plan: closed 1 open side" in out
    code, out, err = run("check", path, "--units", "mm", "--close-to-plane", "--thickness", "2")
    assert (code, out, err.count("\n")) == (2, "", 1)


def test_check_draws_the_holes(run, holed, tmp_path):
    picture = tmp_path / "mesh.pdf"
    code, _, _ = run("check", holed, "--units", "mm", "--picture", picture)
    assert code == 0
    first = picture.read_bytes()
    with pdfplumber.open(picture) as document:
        (page,) = document.pages
        text = page.extract_text()
        # The rim, in vermilion (Okabe and Ito), in each of the three views.
        rims = [
            c for c in page.curves + page.lines if np.allclose(c["stroking_color"], RIM, atol=0.01)
        ]
    assert "ball: the mesh" in text and "above" in text and "Holes: 1" in text
    assert len(rims) >= 3
    code, _, err = run("check", holed, "--units", "mm", "--picture", picture)
    assert code == 2 and "--replace" in err
    code, _, _ = run("check", holed, "--units", "mm", "--picture", picture, "--replace")
    assert code == 0 and picture.read_bytes() == first
    assert sorted(path.name for path in tmp_path.iterdir()) == ["ball.stl", "mesh.pdf"]


RIM = tuple(int("D55E00"[k : k + 2], 16) / 255 for k in (0, 2, 4))


@pytest.mark.parametrize("suffix", [".3mf", ".stl"])
def test_heal_writes_a_closed_copy_and_a_list(run, holed, tmp_path, suffix):
    before = holed.read_bytes()
    out_path = tmp_path / f"repaired{suffix}"
    code, out, err = run("repair", holed, "--units", "mm", "--out", out_path)
    assert (code, err) == (0, "")
    assert holed.read_bytes() == before
    part = read_part(out_path, unit=None if suffix == ".3mf" else "mm")
    assert part.check.is_watertight and part.check.n_bodies == 1
    # The ball less the cap over a rim of up to 3.5 mm: pi h^2 (3 r - h) / 3 is 12 mm3.
    assert part.check.volume_mm3 == pytest.approx(shapes.sphere(10.0, 64).volume_mm3, abs=13.0)
    listed = (tmp_path / f"repaired{suffix}.txt").read_text(encoding="utf-8")
    assert listed == out
    assert "- dropped 1 loose speck " in out and "- closed 1 hole flat" in out
    assert "computed the surface anew" not in out


def test_heal_never_writes_over_the_original(run, holed, tmp_path):
    before = holed.read_bytes()
    for out_path in (holed, tmp_path / "." / "ball.stl"):
        code, out, err = run("repair", holed, "--units", "mm", "--out", out_path, "--replace")
        assert (code, out, err.count("\n")) == (2, "", 1)
        assert "the original itself" in err
    assert holed.read_bytes() == before
    taken = tmp_path / "taken.stl"
    taken.write_text("keep")
    code, _, err = run("repair", holed, "--units", "mm", "--out", taken)
    assert code == 2 and "--replace" in err and taken.read_text() == "keep"
    code, _, err = run("repair", holed, "--units", "mm", "--out", tmp_path / "repaired.obj")
    assert code == 2 and "one of .stl, .3mf" in err
    code, _, err = run("repair", holed, "--units", "mm", "--out", tmp_path / "no" / "repaired.stl")
    assert code == 2 and "no such folder" in err


def test_heal_that_fails_to_write_leaves_nothing(run, holed, tmp_path, monkeypatch):
    from castplan.files import mesh_file

    def fail(part, path):
        path.write_bytes(b"half")
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(mesh_file, "write_mesh", fail)
    code, _, err = run("repair", holed, "--units", "mm", "--out", tmp_path / "repaired.stl")
    assert code == 4 and "No space left on device" in err
    assert [path.name for path in tmp_path.iterdir()] == ["ball.stl"]


def test_a_measured_length_is_shown(run, holed):
    code, out, _ = run("check", holed, "--measured", "longest=45")
    assert code == 0 and "Unit: set by the measured length" in out
    assert "set the scale by the measured longest=45" in out
