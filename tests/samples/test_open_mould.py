"""An open mould: bodies whose answer is plain, and what the plan then says of it.

Volumes are closed forms of the bodies; that the block leaves is asked of
manifold3d, by moving the finished solid over the part.
"""

import json
import re
from pathlib import Path

import manifold3d
import numpy as np
import pypdf
import pytest
import trimesh

import castplan
from castplan.errors import InputError

SAMPLES = Path(__file__).parents[2] / "sample_parts"


def solid(mesh):
    """A trimesh mesh as a solid of manifold3d."""
    return manifold3d.Manifold(
        manifold3d.Mesh64(
            np.array(mesh.vertices, np.float64, order="C"),
            np.array(mesh.faces, np.uint64, order="C"),
        )
    )


def half_ball(radius_mm=25.0):
    ball = manifold3d.Manifold.sphere(radius_mm, 128)
    return ball.trim_by_plane((0, 0, 1), 0.0)


def dumb_bell():
    ends = [manifold3d.Manifold.sphere(14.0, 64).translate((x, 0, 0)) for x in (-30.0, 30.0)]
    bar = manifold3d.Manifold.cylinder(60.0, 6.0, 6.0, 64).rotate((0, 90, 0)).translate((-30, 0, 0))
    return ends[0] + ends[1] + bar


def plate(*, holes=0, across=False):
    body = manifold3d.Manifold.cube((80.0, 40.0, 12.0))
    for n in range(holes):
        body -= manifold3d.Manifold.cylinder(14.0, 3.0, 3.0, 48).translate((15 + 20 * n, 20, -1))
    if across:  # both ways, so that it lies flat on no side without a pin
        pin = manifold3d.Manifold.cylinder(120.0, 3.0, 3.0, 48)
        body -= pin.rotate((90, 0, 0)).translate((20, 80, 6))
        body -= pin.rotate((0, 90, 0)).translate((-20, 30, 6))
    return body


def dished_back(deep_mm):
    """A plate whose back has a pocket that the board shuts."""
    return plate() - manifold3d.Manifold.cube((40.0, 20.0, deep_mm)).translate((20, 10, 0))


def planned(body, **choices):
    mesh = body.to_mesh()
    part = trimesh.Trimesh(
        np.asarray(mesh.vert_properties)[:, :3], np.asarray(mesh.tri_verts), process=False
    )
    return castplan.plan(part, unit="mm", **choices)


@pytest.mark.parametrize(
    ("body", "kind"),
    [
        (half_ball(), "open"),
        (plate(), "open"),
        (plate(holes=3), "open"),
        (dumb_bell(), "two-part"),
        (plate(across=True), "loose"),
    ],
    ids=["half ball", "plate", "plate with holes", "dumb-bell", "plate with cross holes"],
)
def test_the_kind_is_chosen_by_the_back(body, kind):
    assert planned(body, mould="auto").split.kind == kind


def test_a_half_ball_takes_the_box_less_itself():
    plan = planned(half_ball(), mould="open")
    block = plan.mould.block
    size = np.subtract(block.high_mm, block.low_mm)
    ball_ml = half_ball().volume() / 1000
    # The box is 12 mm wider all round and 12 mm higher, up to whole millimetres.
    assert size == pytest.approx((74, 74, 37), abs=1.0)
    assert block.upper_ml == pytest.approx(size.prod() / 1000 - ball_ml, rel=1e-6)
    assert (block.lower_ml, block.ports, len(plan.mould.keys.places_mm)) == (0.0, (), 0)
    assert plan.air.openings.left_mm3 == 0.0  # every column of it rises to the back


@pytest.mark.parametrize("name", ["louvre_grille", "sliding_catch"])
def test_the_block_leaves_and_nothing_is_lost(name):
    planned = castplan.plan(SAMPLES / f"{name}.stl", unit="mm", mould="open", solids={"halves"})
    plan, (block,) = planned.record, planned.solids
    mould = solid(trimesh.Trimesh(block.vertices_mm, block.faces, process=False))
    turned = plan.part.vertices_mm @ plan.split.draw.frame.rotation.T
    part = solid(trimesh.Trimesh(turned, plan.part.faces, process=False))
    assert len(mould.decompose()) == 1
    # A hair of a micrometre is left under the block.
    assert mould.volume() + part.volume() == pytest.approx(1000 * plan.mould.block.box_ml, rel=1e-3)
    height_mm = float(np.ptp(turned[:, 2]))
    for step in (0.1, 0.3, 0.6, 1.0):
        lifted = mould.translate((0, 0, step * height_mm))
        assert (lifted ^ part).volume() < 1e-3  # mm3


def test_the_face_that_shows_never_lies_on_the_board():
    plan = planned(half_ball(), mould="auto", show_face=(0, 0, -1))
    assert (plan.split.kind, plan.split.back) == ("two-part", None)


def test_a_hollow_that_the_board_shuts_is_told_or_refused():
    told = planned(dished_back(0.5), mould="open", show_face=(0, 0, 1))
    assert told.split.back.hollow_ml == pytest.approx(0.4, rel=0.03)  # columns of 0.4 mm
    assert "open-hollow" in [finding.code for finding in told.findings]
    # The copy is solid there.
    assert told.mould.block.part_ml == pytest.approx(plate().volume() / 1000, rel=1e-3)
    # Turned over the pocket is up and filled like any other.
    other = planned(dished_back(6.0), mould="open", show_face=(0, 0, -1))
    assert (other.split.back.hollow_ml, other.split.back.is_free) == (0.0, True)
    # A deep one is no flat back, and the sides left hold silicone in it.
    deep = planned(dished_back(6.0), mould="auto", show_face=(0, 0, 1))
    assert deep.split.kind == "two-part"
    with pytest.raises(InputError, match="flat back"):
        planned(dumb_bell(), mould="open")


@pytest.mark.parametrize(
    "named", [{"parting": "level"}, {"up": (0, 0, 1)}, {"gate_mm": 5.0}, {"bed": "printed"}]
)
def test_what_the_back_decides_is_not_to_be_named(named):
    with pytest.raises(InputError, match="--mould"):
        planned(plate(), mould="open", **named)
    assert planned(plate(), mould="auto", **named).split.kind == "two-part"


def test_a_plan_in_two_says_that_an_open_mould_would_do():
    two = castplan.plan(SAMPLES / "louvre_grille.stl", unit="mm", mould="two-part")
    (told,) = [one for one in two.findings if one.code == "open-mould-would-do"]
    both = castplan.plan(SAMPLES / "louvre_grille.stl", unit="mm", mould="open")
    saved_ml = two.mould.block.box_ml - both.mould.block.box_ml
    said_ml = float(re.search(r"saves about (\d+) ml", str(told.message))[1])
    # Of the same outline: the box in two is wider where its keys need room.
    assert 0.5 * saved_ml < said_ml <= saved_ml
    assert not any(finding.code == "open-mould-would-do" for finding in both.findings)


@pytest.mark.parametrize("name", ["louvre_grille", "sliding_catch", "lamp_bezel"])
def test_no_sheet_speaks_of_a_second_half_or_of_a_gate(name, tmp_path):
    planned = castplan.plan(SAMPLES / f"{name}.stl", unit="mm", mould="open")
    folder = planned.write(tmp_path / "plan")
    pages = [page.extract_text() for page in pypdf.PdfReader(folder / "sheets.pdf").pages]
    text = " ".join(pages + list(planned.summary()))
    for word in (
        "lower half",
        "for the second half",
        "upper half",
        "gate G",
        "vent 1",
        "Both halves",
    ):
        assert word not in text, word
    assert castplan.read_plan(folder).split.is_open
    assert json.loads((folder / "plan.json").read_text())["split"]["kind"] == "open"


def test_the_steps_pour_once_and_strike_off():
    plan = castplan.plan(SAMPLES / "sliding_catch.stl", unit="mm", mould="open")
    kinds = [step.kind for step in plan.bench.schedule.steps]
    assert kinds.count("pour") == 1 and "turn" not in kinds and "keys" not in kinds
    told = " ".join(str(step.text) for step in plan.bench.schedule.steps)
    assert "Strike it off" in told and "open back up" in told
    two = castplan.plan(SAMPLES / "sliding_catch.stl", unit="mm", mould="two-part")
    cure_min = [step.wait_min for step in two.bench.schedule.steps if step.kind == "pour"]
    saved_min = sum(s.wait_min for s in two.bench.schedule.steps) - sum(
        s.wait_min for s in plan.bench.schedule.steps
    )
    assert len(cure_min) == 2 and saved_min >= cure_min[1]
