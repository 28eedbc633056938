"""The box and what fills it: closed forms, and nothing lost between the halves."""

from types import SimpleNamespace

import bodies
import numpy as np
import pytest
import shapes
from output.neutral import filled

from castplan.air.feed import plan_gate
from castplan.air.high_points import find_air
from castplan.air.site import GateSite
from castplan.columns.gaps import find_gaps
from castplan.geometry import frames
from castplan.geometry.shutoff import parting_over
from castplan.mould.mould import build_mould
from castplan.records import Air, Frame, Job, Split
from castplan.split.box import choose_box
from castplan.split.line import Drawn, find_lines
from castplan.split.parting import find_parting
from castplan.split.undercuts import list_pockets, pull_halves
from castplan.split.wish import LineWish

# Sampled shares of the part at 128 columns across; worst measured 4.4e-3, the
# upright thin wall of a cup.
SAMPLING = 6e-3
TIE_MM3 = 1.0


def mould_of(vertices_mm, faces, *, draw, up=None, **choices):
    """The mould of a body drawn along one direction and poured along another.

    The stages that the mould needs, in the order of a plan. The wall is given, so
    that the box does not grow for keys.
    """
    choices = {"wall_mm": 12.0, "gate_mm": 8.0, "feed": "top"} | choices
    job = Job(draw=draw, **choices)
    part = shapes.part_of(vertices_mm, faces)
    pitch_mm = max(part.check.extent_mm) / 128
    frame = frames.frame_along(draw, frames.hull_points(part))
    field = bodies.look(part.vertices_mm, part.faces, frame.rotation, pitch_mm=pitch_mm)
    gaps = find_gaps(field)
    parting = find_parting(field, gaps, tie_mm3=TIE_MM3)
    part_mm3 = part.check.volume_mm3
    box = choose_box(field, job, part_mm3=part_mm3)
    drawn = Drawn(field=field, gaps=gaps, parting=parting)
    ends_mm = (box.low_mm, box.high_mm)
    line = find_lines(drawn, job, LineWish(tie_mm3=TIE_MM3), ends_mm=ends_mm)[0].line
    undercuts = list_pockets(
        field, pull_halves(field, gaps, parting_over(field, line, gaps)), part_mm3=part_mm3
    )
    pour = field
    if up is not None:
        pour = bodies.look(part.vertices_mm, part.faces, bodies.frame_up(up), pitch_mm=pitch_mm)
    air = find_air(pour, job)
    site = GateSite(
        rested=pour,
        drawn=field,
        draw_frame=Frame(rotation=field.rotation),
        line=line,
        box=box,
        part_mm3=part_mm3,
    )
    gate = plan_gate(site, air, job)
    seen = SimpleNamespace(pockets=SimpleNamespace(field=field), rested=pour, part_mm3=part_mm3)
    return build_mould(
        filled(Split, box=box, line=line, undercuts=undercuts),
        filled(Air, openings=air, feed=gate),
        seen,
        job,
    )


def box_mould(**choices):
    body = shapes.box(60, 40, 20)
    return mould_of(body.vertices_mm, body.faces, draw=(0, 0, 1), **choices)


def test_box_has_its_closed_form():
    mould = box_mould(over_mm=12.0, under_mm=12.0)
    assert mould.low_mm == pytest.approx((-42, -32, -22), abs=1e-9)
    assert mould.high_mm == pytest.approx((42, 32, 22), abs=1e-9)
    # (60 + 24)(40 + 24)(20 + 24), less the part; it lies on the board.
    assert mould.box_ml == pytest.approx(236.544, abs=1e-9)
    assert mould.part_ml == pytest.approx(48, abs=1e-9)
    assert mould.lower_ml == pytest.approx(84 * 64 * 12 / 1000, rel=1e-9)
    assert mould.upper_ml == pytest.approx(236.544 - 48 - 64.512, rel=1e-9)
    assert mould.bounding_box_ml == pytest.approx(236.544 - 48, abs=1e-9)
    gate, vent, *more = mould.ports
    assert (gate.label, gate.kind, gate.diameter_mm) == ("G", "gate", 8.0)
    assert (vent.label, vent.kind, vent.diameter_mm) == ("1", "vent", 2.5)
    assert {port.kind for port in more} <= {"vent"}
    # From the roof straight up through the 12 mm over the part.
    assert [port.length_mm for port in mould.ports] == pytest.approx([12] * len(mould.ports))
    assert gate.height_mm == pytest.approx(20, abs=1e-9)
    # The middle of the roof, from the datum corner of the box; within a column.
    mouth = gate.path_mm[-1, :2] - np.array(mould.datum_mm)
    assert mouth == pytest.approx((42, 32), abs=60 / 128)
    assert not gate.is_blocked
    # Bores, and a cup 6 mm deep (half of the 12) from the gate's 8 mm to 20: the
    # frustum of a cone, pi h / 3 (R^2 + R r + r^2), less the bore through it.
    cup_ml = np.pi * 6 / 3 * (10**2 + 10 * 4 + 4**2) / 1000 - np.pi * 4**2 * 6 / 1000
    bores_ml = np.pi / 4 * (8**2 + (len(mould.ports) - 1) * 2.5**2) * 12 / 1000
    ports_ml = bores_ml + cup_ml
    assert mould.ports_ml == pytest.approx(ports_ml, rel=1e-9)


def test_boards_are_cut_to_whole_millimetres():
    body = shapes.box(60.3, 40.8, 20.5)
    mould = mould_of(body.vertices_mm, body.faces, draw=(0, 0, 1), wall_mm=10.0)
    size = np.subtract(mould.high_mm, mould.low_mm)
    # 80.3, 60.8, 44.5 go up; the sides stay even, the height grows above.
    assert size == pytest.approx((81, 61, 45), abs=1e-9)
    assert np.add(mould.low_mm, mould.high_mm)[:2] == pytest.approx((0, 0), abs=1e-9)
    assert mould.low_mm[2] == pytest.approx(-20.5 / 2 - 12, abs=1e-9)
    assert mould.ports[0].length_mm == pytest.approx(12.5, abs=1e-9)


def test_whole_sizes_do_not_grow_by_rounding():
    body = shapes.box(60, 40, 20)
    for seed in (1, 2, 3):
        turn = shapes.rotation(seed)
        mould = mould_of(body.vertices_mm @ turn.T, body.faces, draw=tuple(turn[:, 2]))
        assert sorted(np.subtract(mould.high_mm, mould.low_mm)) == pytest.approx(
            [44, 64, 84], abs=1e-6
        )


CASES = {
    "sphere": (shapes.sphere, (0, 0, 1)),
    "torus": (shapes.torus, (0, 0, 1)),
    "torus_leaning": (shapes.torus, (0.3, 0.1, 1)),
    "lipped_cup": (shapes.lipped_cup, (0, 0, 1)),
    "bell": (shapes.bell, (0, 0, 1)),
    "bell_down": (shapes.bell, (0, 0, -1)),
    "tray": (shapes.tray, (0, 0, 1)),
    "t_slot": (shapes.t_slot, (0.2, 0.5, 1)),
    "hollow_box": (bodies.hollow_box, (0, 0, 1)),
    "notched_tray": (bodies.notched_tray, (0, 0, 1)),
}


@pytest.mark.parametrize("case", CASES)
def test_halves_and_part_fill_the_box(case):
    maker, draw = CASES[case]
    body = maker()
    mould = mould_of(body.vertices_mm, body.faces, draw=draw)
    size = np.subtract(mould.high_mm, mould.low_mm)
    assert mould.box_ml == pytest.approx(float(np.prod(size)) / 1000, rel=1e-12)
    # Conservation, to rounding. A sealed void is cast solid.
    sealed_ml = 24 * 18 * 10 / 1000 if case == "hollow_box" else 0.0
    assert mould.part_ml == pytest.approx(body.volume_mm3 / 1000 + sealed_ml, rel=SAMPLING)
    assert mould.lower_ml + mould.upper_ml + mould.part_ml == pytest.approx(mould.box_ml, rel=1e-12)
    # Each half at least closes the box on its side.
    floor_ml = float(size[0] * size[1]) / 1000
    assert mould.lower_ml >= 12 * floor_ml * (1 - 1e-9)
    assert mould.upper_ml > 0
    # What it says of its own sampling is true, sealed voids or not.
    assert mould.sampling_fraction < SAMPLING
    # Less silicone than the usual guess never happens; a sealed void is sampled.
    slack_ml = SAMPLING * mould.part_ml + 1e-9
    assert mould.bounding_box_ml <= mould.lower_ml + mould.upper_ml + slack_ml


def test_ball_halves_are_mirror_images():
    # Closed form: split at the equator, over and under alike. Facets of 1 mm.
    body = shapes.sphere(20, 128)
    mould = mould_of(body.vertices_mm, body.faces, draw=(0, 0, 1))
    half_ml = (64 * 64 * 32 - body.volume_mm3 / 2) / 1000
    # The chosen height may stand 0.05 mm off the middle.
    slack_ml = 64 * 64 * 0.05 / 1000
    assert mould.lower_ml == pytest.approx(half_ml, abs=slack_ml)
    assert mould.upper_ml == pytest.approx(half_ml, abs=slack_ml)


def test_tray_fills_from_the_upper_half():
    # Lies on its floor: under it the lower half, the hollow and all else the upper.
    body = shapes.tray(60, 40, 15, 5, 4)
    mould = mould_of(body.vertices_mm, body.faces, draw=(0, 0, 1))
    assert mould.lower_ml == pytest.approx(84 * 64 * 12 / 1000, rel=1e-9)


@pytest.mark.parametrize(
    ("up", "size_mm", "height_mm"),
    [((1, 0, 0), (64, 44), 60), ((0, 1, 0), (84, 44), 40), ((0, 0, -1), (84, 64), 20)],
)
def test_poured_the_other_way_ports_run_to_that_side(up, size_mm, height_mm):
    mould = box_mould(up=up)
    for port in mould.ports:
        # Walls, over and under are 12 mm on every side.
        assert port.length_mm == pytest.approx(12, abs=1e-6)
        assert port.height_mm == pytest.approx(height_mm, abs=1e-6)
    view = mould.box_view_mm
    assert sorted(np.ptp(view, axis=0)) == pytest.approx(sorted(size_mm), abs=1e-6)
    assert mould.datum_mm == pytest.approx(tuple(view.min(axis=0)), abs=1e-6)
    middle = np.ptp(view, axis=0) / 2
    # Straight up, so the mouth stands over its place in the cavity.
    place = np.subtract(mould.ports[0].place_mm[:2], mould.datum_mm)
    assert place == pytest.approx(middle, abs=60 / 128)


def test_port_of_a_leaning_pour_leaves_by_the_nearest_side():
    # Up leans 45 degrees in x-z: the top is the edge (30, ., 10); 12 mm out to
    # the side and to the top alike, so the way is 12 times the root of two.
    mould = box_mould(up=(1, 0, 1))
    # The top edge is missed by up to a column each way.
    assert mould.ports[0].length_mm == pytest.approx(12 * 2**0.5, abs=2 * 60 / 128)


def test_roofed_port_is_blocked():
    # A low shelf under a bridge: its high point has part straight above.
    solid = bodies.cuboid((0, 60), (0, 30), (0, 5)) + bodies.cuboid((0, 10), (0, 30), (0, 40))
    solid += bodies.cuboid((0, 60), (0, 30), (35, 40)) + bodies.cuboid((30, 50), (5, 25), (0, 20))
    ports = mould_of(*bodies.arrays(solid), draw=(0, 0, 1), up=(0, 0, 1)).ports
    by_height = {round(port.height_mm, 3): port for port in ports}
    assert set(by_height) == {20.0, 40.0}
    assert by_height[20.0].is_blocked and not by_height[40.0].is_blocked


def test_sealed_void_takes_no_silicone_from_either_half():
    # A ball with a void off its middle: outside it is the plain ball, and so are
    # its halves.
    ball = shapes.sphere(20, 128)
    void = shapes.sphere(8, 32)
    vertices, faces = bodies.joined(
        bodies.moved(ball, (0, 0, 0)), bodies.inside_out(*bodies.moved(void, (0, 0, 9)))
    )
    mould = mould_of(vertices, faces, draw=(0, 0, 1))
    half_ml = (64 * 64 * 32 - ball.volume_mm3 / 2) / 1000
    # As for the plain ball.
    slack_ml = 64 * 64 * 0.05 / 1000
    assert mould.lower_ml == pytest.approx(half_ml, abs=slack_ml)
    assert mould.upper_ml == pytest.approx(half_ml, abs=slack_ml)
