"""Loose pieces: bodies whose answer is plain, and what the plan then says of it.

Volumes are closed forms. That pieces and halves leave is asked of manifold3d, by
moving the finished solids, and of the rays of `tests/pull.py`; neither uses a
column of castplan.
"""

import json
import math
from dataclasses import replace

import numpy as np
import pypdf
import pytest

import castplan
from castplan.columns.field import sample
from castplan.planning import build_solids, prove_solids
from castplan.split.loose import Placed, blocked
from tests import loose_bodies as bodies
from tests.loose_bodies import HOLE_MM, as_solid, part_of, planned
from tests.pull import pull_apart

EVERY = {
    "plate with cross hole": (bodies.plate_with_cross_hole, ["rod"]),
    "lugs with a pin hole": (bodies.lugs_with_pin_hole, ["rod"]),
    "crossing holes": (bodies.crossing_holes, ["rod", "rod", "rod"]),
    "five holes": (bodies.five_holes, ["slide"]),
    "square hole": (bodies.square_hole, ["slide"]),
    "side pocket": (bodies.side_pocket, ["slide"]),
    "opposite pockets": (bodies.pockets_on_opposite_sides, ["slide", "slide"]),
    "T-slot": (bodies.t_slot, ["slide"]),
    "snap hook": (bodies.snap_hook, ["slide"]),
    "countersunk hole": (bodies.countersunk_cross_hole, ["slide"]),
}
# Part and silicone in one place: rounding of cuts that touch; a cubic millimetre is
# a hundredth of the least that is held here.
TOUCH_MM3 = 1.0


@pytest.fixture(scope="module", params=list(EVERY))
def mould(request):
    make, kinds = EVERY[request.param]
    plan = planned(make()).record
    return plan, kinds, build_solids(plan, {"halves"})


def test_what_held_is_freed_by_so_few_pieces(mould):
    plan, kinds, _ = mould
    loose = plan.split.loose
    assert plan.split.kind == "loose"
    assert [piece.kind for piece in loose.pieces] == kinds
    assert [piece.label for piece in loose.pieces] == ["L1", "L2", "L3"][: len(kinds)]
    assert loose.n_held > 0 and loose.held_mm3 > 100
    # Where a round end meets a round rod a wedge of a few cubic millimetres stays.
    assert loose.left_mm3 < 10.0
    # By columns of another pitch: 1 % is what their steps leave along a wall of 40 mm.
    assert all(piece.blocked_mm3 < 0.01 * piece.freed_mm3 for piece in loose.pieces)
    # The snap hook takes more resin than can be poured before the fast one sets.
    stops = {f.code for f in plan.findings if f.severity == "stop"} - {"no-time"}
    assert not stops


def test_nothing_of_the_box_is_lost(mould):
    plan, _, solids = mould
    names = [solid.name for solid in solids]
    pieces = plan.split.pieces
    assert names == ["upper half", "lower half", *(f"loose {piece.label}" for piece in pieces)]
    block = plan.mould.block
    points, faces = part_of(plan)
    part_mm3 = as_solid(points, faces).volume()
    whole_mm3 = sum(solid.volume_mm3 for solid in solids) + part_mm3
    # What the plan says of the ports is a column of resin of that length; the bores of
    # the solids meet the part a little deeper and at an angle.
    assert whole_mm3 + 1000 * block.ports_ml == pytest.approx(1000 * block.box_ml, rel=1e-3)
    planned_ml = block.upper_ml + block.lower_ml + block.part_ml
    planned_ml += sum(piece.volume_ml for piece in pieces)
    assert planned_ml == pytest.approx(block.box_ml, rel=1e-3)
    for piece, solid in zip(pieces, solids[2:], strict=True):
        # Columns of a fifth of a millimetre round fingers of 5 mm: their walls count 2 %.
        assert piece.volume_ml == pytest.approx(solid.volume_mm3 / 1000, rel=0.03)


def test_each_piece_comes_out_and_then_the_halves(mould):
    plan, _, solids = mould
    part = as_solid(*part_of(plan))
    made = [as_solid(solid.vertices_mm, solid.faces) for solid in solids]
    assert all(len([b for b in one.decompose() if b.volume() > TOUCH_MM3]) == 1 for one in made)
    halves, pieces = made[:2], made[2:]
    for k, (piece, body) in enumerate(zip(plan.split.pieces, pieces, strict=True)):
        way = plan.split.draw.frame.to_frame(piece.direction)
        for step in (0.2, 1.0, 3.0, 9.0, 27.0, piece.length_mm):
            moved = body.translate(tuple(step * way))
            for other in (part, *halves, *pieces[k + 1 :]):
                assert (moved ^ other).volume() < TOUCH_MM3, (piece.label, step)
    pulled = pull_apart(part_of(plan), *((s.vertices_mm, s.faces) for s in solids[:2]))
    assert pulled.locked_mm3 > 100  # what no parting alone would have released
    assert pulled.wide_mm3 < 2 * TOUCH_MM3


def test_a_rod_is_the_hole_and_a_seat_beyond():
    plan = planned(bodies.plate_with_cross_hole())
    (rod,) = plan.split.pieces
    deep_mm, wall_mm = 40.0, 12.0  # of the plate, and of silicone at its side
    assert rod.diameter_mm == pytest.approx(HOLE_MM, rel=1e-4)
    assert rod.seat_mm == 6.0
    # The inner end is found within a column of the hole's mouth, 0.2 mm.
    assert rod.length_mm == pytest.approx(deep_mm + wall_mm + 6.0, abs=0.2)
    area_mm2 = math.pi / 4 * HOLE_MM**2
    assert 1000 * rod.volume_ml == pytest.approx(area_mm2 * rod.length_mm, rel=1e-4)
    assert rod.freed_mm3 == pytest.approx(area_mm2 * deep_mm, rel=0.03)  # by columns
    assert abs(plan.split.draw.frame.to_frame(rod.direction)[1]) == pytest.approx(1.0)
    block = plan.mould.block
    assert block.loose_ml == 0.0  # rods are bought
    two = planned(bodies.plate_with_cross_hole(), mould="two-part").mould.block
    less_ml = two.upper_ml + two.lower_ml - block.upper_ml - block.lower_ml
    assert less_ml == pytest.approx(rod.volume_ml, rel=1e-6)


def test_a_slide_fills_its_pocket_and_widens_outward():
    plan = planned(bodies.side_pocket())
    (slide,) = plan.split.pieces
    assert plan.split.draw.frame.to_frame(slide.direction) == pytest.approx((0, -1, 0), abs=1e-6)
    assert slide.freed_mm3 == pytest.approx(20 * 14 * 8, rel=0.02)  # by columns
    assert slide.side == "front" and slide.seat_mm == 0.0
    assert slide.width_mm == pytest.approx(8.0, abs=0.3)  # a column on either side
    base, mouth = (np.ptp(ring, axis=0) for ring in (slide.base_mm, slide.mouth_mm))
    deep_mm = slide.end_mm - slide.face_mm
    five, twenty = (math.tan(math.radians(angle)) for angle in (5.0, 20.0))
    assert mouth - base == pytest.approx((2 * five * deep_mm, (five + twenty) * deep_mm))
    # On the upper side alone: turned half round it does not go in.
    assert slide.mouth_mm[:, 1].max() - slide.base_mm[:, 1].max() == pytest.approx(twenty * deep_mm)


def test_a_rod_ends_before_another_that_crosses_it():
    first, *others = planned(bodies.crossing_holes()).split.pieces
    assert first.seat_mm == 6.0 and len(others) == 2
    for rod in others:
        assert rod.seat_mm == 0.0 and abs(rod.direction @ first.direction) < 1e-6
        # From the side of the box to the wall of the first: 12 + 20 - 3 mm, less at its crest.
        assert 12 + 20 - HOLE_MM / 2 - 1.0 < rod.length_mm < 12 + 20 - HOLE_MM / 2 + 0.5


def test_pockets_on_opposite_sides_are_pulled_opposite_ways():
    one, other = planned(bodies.pockets_on_opposite_sides()).split.pieces
    assert one.direction @ other.direction == pytest.approx(-1.0)
    assert one.freed_mm3 > other.freed_mm3  # the larger first


def test_a_part_that_needs_none_gets_two_halves():
    plan = planned(bodies.plain_plate())
    assert (plan.split.kind, plan.split.pieces) == ("two-part", ())
    assert "no-loose-piece" in [finding.code for finding in plan.findings]
    two = planned(bodies.plain_plate(), mould="two-part")
    assert two.split.loose is None
    assert plan.mould.block.upper_ml == two.mould.block.upper_ml
    assert plan.bench.schedule.hands_on_min == two.bench.schedule.hands_on_min


def test_a_piece_too_thin_is_told_and_the_pocket_stays():
    plan = planned(bodies.side_pocket(high_mm=2.0))
    assert plan.split.pieces == ()
    (thin,) = plan.split.loose.thin
    assert thin.width_mm == pytest.approx(2.0, abs=0.3) and thin.least_mm == 3.0
    codes = {finding.code: finding.severity for finding in plan.findings}
    assert codes["loose-piece-thin"] == "warn" and codes["pocket"] == "stop"
    assert plan.split.loose.left_mm3 == plan.split.loose.held_mm3 > 0


def test_a_small_square_hole_takes_no_rod():
    """Its corners stand 1.25 radii out of the circle of its area: a rod would not go in."""
    slots = bodies.box(2, 80, 2, at=(19, -20, 6)) + bodies.box(100, 2, 2, at=(-20, 9, 6))
    plan = planned(bodies.box(60, 36, 14) - slots)
    assert plan.split.pieces == ()
    assert {thin.least_mm for thin in plan.split.loose.thin} == {3.0}
    assert "loose-piece-thin" in [finding.code for finding in plan.findings]


def test_channels_and_keys_keep_off_the_pieces(mould):
    plan, _, solids = mould
    taken = [as_solid(solid.vertices_mm, solid.faces) for solid in solids[2:]]
    keys = plan.mould.keys
    for x, y, z in keys.places_mm:
        size = keys.diameter_mm
        near = bodies.box(size, size, 2 * keys.depth_mm, at=(x - size / 2, y - size / 2, z))
        near = near.translate((0, 0, -keys.depth_mm))
        assert all((near ^ body).volume() == 0.0 for body in taken)
    for route in plan.mould.vents.routes:
        if route.route in ("none", "sideways"):
            continue  # told by a finding of its own
        for at in np.linspace(route.path_mm[0], route.path_mm[-1], 40)[4:]:
            side = bodies.box(1, 1, 1, at=tuple(at - 0.5))
            assert all((side ^ body).volume() == 0.0 for body in taken), route.label


# -- what is caught where a piece is wrong ------------------------------------


def test_halves_that_keep_the_silicone_of_a_piece_are_caught():
    plan = planned(bodies.side_pocket()).record
    right = prove_solids(plan, build_solids(plan, {"halves"}))
    assert not [f for f in right.findings if f.code == "solids-hold"]
    without = replace(plan, split=replace(plan.split, loose=None))
    wrong = prove_solids(without, build_solids(without, {"halves"}))
    held_mm3 = wrong.split.proof.solids_mm3
    assert held_mm3 == pytest.approx(20 * 14 * 8, rel=0.03)
    assert [f for f in wrong.findings if f.code == "solids-hold"]


def test_a_piece_pulled_the_wrong_way_is_caught():
    plan = planned(bodies.side_pocket()).record
    solids = build_solids(plan, {"halves"})
    (piece,) = plan.split.pieces
    frame = type(piece.frame)(rotation=piece.frame.rotation * np.array([[-1.0], [1.0], [-1.0]]))
    turned = replace(plan.split.loose, pieces=(replace(piece, frame=frame),))
    wrong = prove_solids(replace(plan, split=replace(plan.split, loose=turned)), solids)
    # All of it stands before the back of the pocket, 26 mm of silicone and part.
    assert wrong.split.proof.solids_loose_mm3 > 1000 * 0.5 * piece.volume_ml
    assert [f for f in wrong.findings if f.code == "solids-hold"]


def test_part_beyond_a_piece_is_seen_by_the_second_look():
    plan = planned(bodies.side_pocket()).record
    (piece,) = plan.split.pieces
    place = Placed(
        draw=plan.split.draw, box=plan.split.box, surface=plan.split.line.surface, parted=None
    )
    none = np.empty((0, 3), dtype=np.int32)

    def seen(body, pitch_mm):
        mesh = bodies.mesh_of(body)
        points, faces = np.array(mesh.vertices, float), np.array(mesh.faces, np.int32)
        return sample(points, faces, none, piece.frame.rotation, pitch_mm=pitch_mm)

    # A wall 2 mm thick across the mouth of the pocket, 5 x 8 of it over the section.
    shut = bodies.side_pocket() + bodies.box(5, 2, 8, at=(15, 0, 8))
    along = seen(bodies.side_pocket(), piece.pitch_mm)
    assert blocked(piece, along, seen(bodies.side_pocket(), 0.15), place) < 5.0
    found_mm3 = blocked(piece, along, seen(shut, 0.15), place)
    assert found_mm3 == pytest.approx(5 * 8 * 12, rel=0.05)  # what lies behind it


# -- amounts, steps, outputs ---------------------------------------------------


def test_the_slides_are_poured_first_of_silicone_of_their_own():
    plan = planned(bodies.side_pocket())
    (slide,) = plan.split.pieces
    mixes = plan.bench.amounts.mixes
    assert [mix.half for mix in mixes] == ["loose", "upper", "lower", None]
    assert mixes[0].net_ml == pytest.approx(slide.volume_ml)
    kinds = [step.kind for step in plan.bench.schedule.steps]
    assert kinds.index("slides") < kinds.index("set_in") < kinds.index("fix")
    steps = {step.kind: str(step.text) for step in plan.bench.schedule.steps}
    for kind in ("open", "out"):
        assert steps[kind].startswith("Pull out the loose piece L1 first")
    assert "push it back in" in steps["close"]
    waits = [step.wait_min for step in plan.bench.schedule.steps if step.kind == "slides"]
    assert waits[0] == pytest.approx(60 * mixes[0].demould_h)


def test_printed_slides_take_no_silicone_and_no_cure():
    plan = planned(bodies.side_pocket(), slides="printed")
    assert [mix.half for mix in plan.bench.amounts.mixes] == ["upper", "lower", None]
    steps = [step for step in plan.bench.schedule.steps if step.kind == "slides"]
    assert len(steps) == 1 and steps[0].wait_min == 0.0 and "Print L1" in str(steps[0].text)


def test_what_is_written_tells_of_the_pieces(tmp_path):
    made = planned(bodies.pockets_on_opposite_sides()).with_solids({"halves"})
    folder = made.write(tmp_path / "plan")
    pages = " ".join(page.extract_text() for page in pypdf.PdfReader(folder / "sheets.pdf").pages)
    for text in ("L1 from outside", "L2 from the side", "at the front side", "at the back side"):
        assert text in pages, text
    assert {path.name for path in (folder / "solids").iterdir()} >= {"loose_l1.stl", "loose_l2.stl"}
    told = json.loads((folder / "plan.json").read_text())["split"]
    assert told["kind"] == "loose" and len(told["loose"]["pieces"]) == 2
    read = castplan.read_plan(folder)
    assert [piece.label for piece in read.split.pieces] == ["L1", "L2"]
    assert "L1" in " ".join(made.summary())
