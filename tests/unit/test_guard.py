"""Where openings do harm, on bodies whose worked faces and seen side are known by construction.

Areas and volumes are closed forms of the bodies made here.
"""

import bodies
import manifold3d
import numpy as np
import pytest
import shapes
from pouring import Setup
from scipy.spatial.transform import Rotation

from castplan.air import attitude
from castplan.air.high_points import PourView, find_air
from castplan.air.stand_bill import BENCH_MM
from castplan.geometry.guard import Guard
from castplan.geometry.stands import box_rests, stand_for
from castplan.records import AirWeights, Frame, Job

LEVEL = Frame(rotation=np.eye(3))
WEIGHTS = AirWeights()


def toothed_wheel(n_teeth, radius_mm, depth_mm, height_mm, plain_mm=0.0):
    """Straight teeth all round, a plain disc on top."""
    angle = 2 * np.pi * np.arange(2 * n_teeth) / (2 * n_teeth)
    radius = np.tile([radius_mm, radius_mm - depth_mm], n_teeth)
    outline = np.column_stack([radius * np.cos(angle), radius * np.sin(angle)])
    solid = manifold3d.CrossSection([outline]).extrude(height_mm)
    if plain_mm:
        disc = manifold3d.Manifold.cylinder(plain_mm, radius_mm - 2 * depth_mm, -1.0, 96)
        solid += disc.translate((0, 0, height_mm))
    return solid


def pocket_with_boss():
    solid = bodies.cuboid((-20, 20), (-20, 20), (0, 20))
    solid -= bodies.cuboid((-12, 12), (-12, 12), (12, 21))
    return solid + manifold3d.Manifold.cylinder(14.0, 4.0, 4.0, 48).translate((0, 0, 5))


def part_of(solid, turn=bodies.ALONG["z"]):
    vertices, faces = bodies.arrays(solid)
    return shapes.part_of(vertices @ np.asarray(turn).T, faces)


TURNS = [np.eye(3), *Rotation.random(3, random_state=2).as_matrix()]


@pytest.mark.parametrize("turn", TURNS)
@pytest.mark.parametrize(("n_teeth", "radius_mm", "depth_mm"), [(36, 15.0, 1.1), (30, 20.0, 2.0)])
def test_knurls_and_teeth_are_told(turn, n_teeth, radius_mm, depth_mm):
    solid = toothed_wheel(n_teeth, radius_mm, depth_mm, 12.0, plain_mm=10.0)
    guard = Guard(part_of(solid, turn), Job())
    step = np.pi / n_teeth
    ring = [
        (r * np.cos(k * step), r * np.sin(k * step), z)
        for k in range(0, 2 * n_teeth, 3)
        for r in (radius_mm if k % 2 == 0 else radius_mm - depth_mm,)
        for z in (0.0, 6.0, 12.0)
    ]
    assert guard.is_worked(np.array(ring) @ turn.T).all()
    plain = [(0, 0, 22.0), (5.0, 0, 22.0), (0, 0, 0)]
    assert not guard.is_worked(np.array(plain) @ turn.T).any()


@pytest.mark.parametrize("turn", TURNS)
@pytest.mark.parametrize(
    "make",
    [
        pocket_with_boss,
        lambda: bodies.cuboid((0, 40), (0, 30), (0, 20)),
        lambda: manifold3d.Manifold.cylinder(20.0, 15.0, 15.0, 36),
        lambda: manifold3d.Manifold.sphere(15.0, 48),
        # A rib: two corners folded in, side by side.
        lambda: bodies.cuboid((0, 40), (0, 30), (0, 3)) + bodies.cuboid((19, 21), (0, 30), (0, 12)),
    ],
)
def test_plain_edges_pockets_and_ribs_are_no_teeth(turn, make):
    part = part_of(make(), turn)
    corners = part.vertices_mm
    middles = corners[part.faces].mean(axis=1)
    assert not Guard(part, Job()).is_worked(np.concatenate([corners, middles])).any()


def test_noise_of_a_scan_is_no_knurl():
    # Facets 0.9 mm wide moved by 0.05 mm, as on a good hand scan (assumed).
    ball = manifold3d.Manifold.sphere(15.0, 96)
    vertices, faces = bodies.arrays(ball)
    out = vertices / np.linalg.norm(vertices, axis=1, keepdims=True)
    noise = np.random.default_rng(4).normal(scale=0.05, size=(len(vertices), 1))
    part = shapes.part_of(vertices + noise * out, faces)
    assert Guard(part, Job()).is_worked(part.vertices_mm).mean() < 0.02


def test_the_share_of_the_show_face():
    # 8,000 points on 5,200 mm2: the 8 nearest lie within 2 mm.
    guard = Guard(part_of(bodies.cuboid((0, 40), (0, 30), (0, 20))), Job(show_face=(0, 0, 2)))
    places = [(20, 15, 20), (20, 0, 10), (20, 15, 0), (20, 0, 20)]
    top, side, under, edge = guard.show_share(np.array(places, dtype=float))
    assert (top, side, under) == (1, 0, 0) and 0 < edge < 1
    whole = guard.minutes(places, is_all_or_none=True)
    assert whole[0] == whole[3] == WEIGHTS.show_port_min and whole[1] == whole[2] == 0


def test_marks_reach_as_far_as_they_are_told():
    guard = Guard(part_of(bodies.cuboid((0, 40), (0, 30), (0, 20))), Job(keep_off=((5, 5, 20, 4),)))
    places = np.array([(5, 5, 20), (8.9, 5, 20), (9.1, 5, 20), (5, 5, 15.9)])
    assert guard.is_marked(places).tolist() == [True, True, False, False]
    assert guard.is_marked(places, reach_mm=0.2).tolist() == [True, True, True, True]
    assert guard.minutes(places) == pytest.approx([60, 60, 0, 0])


# -- what the openings make of it --------------------------------------------------


def air_of(body, **choices):
    part = shapes.part_of(body.vertices_mm, body.faces)
    field, job = bodies.look(body.vertices_mm, body.faces), Job(**choices)
    view = PourView(vertices_mm=part.vertices_mm, guard=Guard(part, job))
    return field, find_air(field, job, view)


def test_no_vent_stands_on_a_marked_point_and_its_air_is_told():
    body = bodies.posts((8, 14, 11, 20))
    _, plain = air_of(body)
    place = plain.peaks[1].place_mm
    _, air = air_of(body, keep_off=((*place, 5.0),))
    assert air.kept_off == (1,) and 1 not in air.opened and air.gate == plain.gate
    # The post stands 14 mm over its base, 36 mm2; a column on each side.
    assert air.left_mm3 == pytest.approx(36 * 14, rel=0.02)
    # A vent given by hand wins.
    _, asked = air_of(body, keep_off=((*place, 5.0),), vents_at=(place,))
    assert asked.vents == (1,) and asked.kept_off == ()


def test_the_gate_leaves_a_marked_point_to_another():
    body = bodies.posts((8, 14, 11, 20))
    _, plain = air_of(body)
    _, air = air_of(body, keep_off=((*plain.peaks[plain.gate].place_mm, 5.0),))
    assert air.gate != plain.gate and plain.gate in air.kept_off
    # The 20 mm over the base of 5: everything over the next saddle, which is the base's top.
    assert air.left_mm3 == pytest.approx(36 * 20, rel=0.02)


def test_an_opening_moves_along_its_roof_out_of_a_mark():
    body = shapes.box(60.0, 40.0, 20.0)
    _, air = air_of(body, keep_off=((0.0, 0.0, 10.0, 8.0),))
    for place in (air.peaks[air.gate].place_mm, *air.extra_vents_mm):
        assert np.linalg.norm(place[:2]) >= 8.0
    # No farther than it must: one of 400 columns asked for 2,400 mm2 of roof.
    assert np.linalg.norm(air.peaks[air.gate].place_mm[:2]) < 8.0 + np.sqrt(2 * 2400 / 400)
    assert air.kept_off == ()


def pin_and_tower():
    """A pin of 3 mm, the highest, and a tower of 14 mm a little lower, on one base."""
    solid = bodies.cuboid((0, 60), (0, 30), (0, 8))
    solid += bodies.cuboid((8.5, 11.5), (13.5, 16.5), (0, 30))
    return solid + bodies.cuboid((38, 52), (8, 22), (0, 28))


def test_the_gate_keeps_off_a_tip():
    setup = Setup(bodies.arrays(pin_and_tower()))
    sections = {round(p.height_mm): p.section_mm2 for p in setup.openings.peaks}
    # Sections of the made body; the columns are 0.4 mm wide.
    assert sections[30] == pytest.approx(9, rel=0.3) and sections[28] == pytest.approx(196, rel=0.1)
    chosen = setup.feed.chosen
    assert not chosen.is_on_tip and setup.openings.gate is not None
    assert setup.openings.peaks[setup.openings.gate].height_mm == pytest.approx(28)
    tip = next(option for option in setup.feed.options if option.is_on_tip)
    assert tip.cost_min > chosen.cost_min + WEIGHTS.tip_port_min / 2


def test_a_gate_into_a_lip_is_no_wider_than_the_lip():
    # A thin slab on its edge, of so little volume that a narrow gate fills it in time.
    setup = Setup(shapes.box(30.0, 20.0, 4.4), up=(1.0, 0.0, 0.0))
    for option in setup.feed.options:
        if option.feed == "top":
            assert option.least_bore_mm <= option.bore_mm <= option.width_mm + 1e-9


# -- standing ----------------------------------------------------------------------


def test_a_long_part_lies_and_is_tilted():
    body = shapes.box(620.0, 24.0, 9.0)
    part = shapes.part_of(body.vertices_mm, body.faces)
    job = Job(n_attitudes=60)
    box = attitude.DrawnBox(frame=LEVEL, box_mm=(650.0, 50.0, 34.0))
    result = attitude.find_attitude(box, job, attitude.map_ups(part, job))
    assert result.chosen.rest[1] != "x" and result.chosen.tilt_deg > 0


@pytest.mark.parametrize("tilt_deg", [0.0, 15.0])
def test_what_is_higher_than_a_bench_is_paid_by_the_mm(tilt_deg):
    box_mm = np.array([650.0, 50.0, 34.0])
    lean = np.radians(tilt_deg)
    up = np.array([np.cos(lean), 0.0, np.sin(lean)])
    part = part_of(bodies.cuboid((0, 620), (0, 24), (0, 9)))
    bill = attitude.bill_for(Job(), part, attitude.DrawnBox(frame=LEVEL, box_mm=box_mm))
    # Height of a leaning box: its sides on the plumb line.
    height_mm = 650 * np.cos(lean) + 34 * np.sin(lean)
    stand = stand_for(box_rests(LEVEL), up)
    assert bill.tall_min(up, stand) == pytest.approx(
        WEIGHTS.tall_min_per_mm * (height_mm - BENCH_MM)
    )
    level = np.array([0.0, 0.0, 1.0])
    assert bill.tall_min(level, stand_for(box_rests(LEVEL), level)) == 0
