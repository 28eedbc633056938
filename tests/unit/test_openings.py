"""Places of high points on the mesh, bores, and the ways out of the box.

Places and lengths are closed forms of the bodies made here.
"""

import math
from dataclasses import replace

import bodies
import numpy as np
import pytest
import shapes
from pouring import BLOCK, LEVEL, routes_of

from castplan.air.high_points import GateAt, PourView, find_air
from castplan.geometry.stands import Stand, box_rests
from castplan.records import Job


def pyramid(tip=(3.3, -2.1, 25.0)):
    """A block with one pyramid on it whose tip lies between columns."""
    points = np.array([[a, b, c] for a in (-20, 20) for b in (-15, 15) for c in (0, 10)], float)
    solid = bodies.manifold3d.Manifold.hull_points(np.vstack([points[::2], points[1::2], [tip]]))
    return bodies.arrays(solid)


# -- places ------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(4))
def test_a_tip_is_found_on_the_mesh_not_on_a_column(seed):
    vertices, faces = pyramid()
    turn = shapes.rotation(seed) if seed else np.eye(3)
    vertices = vertices @ turn.T
    field = bodies.look(vertices, faces, turn.T, pitch_mm=0.7)
    air = find_air(field, Job(), PourView(vertices_mm=vertices))
    peak = air.peaks[air.gate]
    assert peak.is_on_mesh
    # The corner itself, to rounding; columns are 0.7 mm apart.
    assert peak.place_mm == pytest.approx((3.3, -2.1, 25.0), abs=1e-9)


def test_a_level_roof_has_its_place_in_the_middle():
    body = shapes.two_towers((60, 30, 10), 16, (20, 35))
    field = bodies.look(body.vertices_mm, body.faces)
    air = find_air(field, Job(), PourView(vertices_mm=body.vertices_mm))
    for peak, x in zip(air.peaks, (15, -15), strict=True):
        assert not peak.is_on_mesh
        assert peak.place_mm[:2] == pytest.approx((x, 0), abs=field.pitch_mm)
        # 16 mm square roofs, seen askew or not.
        assert peak.roof_mm == pytest.approx(16, abs=2 * field.pitch_mm)
        assert peak.width_mm == pytest.approx(16, abs=2 * field.pitch_mm)


def test_places_of_a_tilted_pour_are_told_as_the_box_rests():
    vertices, faces = pyramid()
    stand = Stand("+z", box_rests(LEVEL)["+z"], 15.0, 75.0)
    field = bodies.look(vertices, faces, stand.frame.rotation, pitch_mm=0.4)
    air = find_air(field, Job(), PourView(rest=LEVEL, vertices_mm=vertices))
    assert air.frame is LEVEL and air.up == pytest.approx(stand.frame.up)
    peak = air.peaks[air.gate]
    assert peak.place_mm == pytest.approx((3.3, -2.1, 25.0), abs=1e-9)
    # Its height is along up, over the lowest corner at the tilt.
    along = vertices @ stand.frame.up
    assert peak.height_mm == pytest.approx(float(along.max() - along.min()), abs=1e-9)


@pytest.mark.parametrize(
    ("wide_mm", "bore_mm"), [(10.0, 2.5), (4.5, 2.5), (2.4, 1.2), (1.0, 1.0), (3.6, 1.5)]
)
def test_thin_lips_get_thin_vents(wide_mm, bore_mm):
    # 2 to 3 mm usual, 1 to 1.5 mm on thin lips (from memory).
    solid = bodies.cuboid((0, 60), (0, 30), (0, 10)) + bodies.cuboid((40, 60), (0, 30), (0, 30))
    solid += bodies.cuboid((5, 25), (15 - wide_mm / 2, 15 + wide_mm / 2), (0, 20))
    field = bodies.look(*bodies.arrays(solid), pitch_mm=0.1)
    air = find_air(field, Job())
    lip = air.peaks[air.vents[0]]
    assert lip.width_mm == pytest.approx(wide_mm, abs=0.25)  # the pitch on both sides
    assert lip.bore_mm == pytest.approx(bore_mm, abs=0.13)


def test_as_few_vents_as_leave_less_than_the_limit():
    body = bodies.posts((8, 14, 11, 20))
    field = bodies.look(body.vertices_mm, body.faces)
    # 36 mm2 posts keep 288, 396 and 504 mm3 beside the tallest.
    for limit_ml, n_vents, left_mm3 in ((0.02, 3, 0), (0.3, 2, 288), (0.7, 1, 684)):
        air = find_air(field, Job(air_left_ml=limit_ml))
        assert len(air.vents) == n_vents and air.n_wanted == n_vents + 1
        assert air.left_mm3 == pytest.approx(left_mm3, rel=0.02, abs=1e-9)
    air = find_air(field, Job(max_vents=1))
    assert len(air.vents) == 1 and air.n_wanted == 4
    # Fed below no high point takes the gate: one opening is all.
    below = find_air(field, Job(max_vents=1), fed_at=GateAt())
    assert (len(below.opened), len(below.vents)) == (1, 1)
    assert air.left_mm3 == pytest.approx(684, rel=0.02)


def test_a_level_ridge_is_a_roof_too():
    # A gable 60 mm long, flanks at 30 degrees: no level area, but a level line.
    rise = 15 * math.tan(math.radians(30))
    body = shapes.extruded([(0, 0), (30, 0), (30, 10), (15, 10 + rise), (0, 10)], 60)
    field = bodies.look(body.vertices_mm, body.faces, pitch_mm=0.4)
    air = find_air(field, Job())
    (ridge,) = air.peaks
    assert ridge.roof_mm == pytest.approx(60, abs=2)
    assert len(air.extra_vents_mm) == 2
    for x, _, z in air.extra_vents_mm:
        assert x == pytest.approx(15, abs=0.8) and z == pytest.approx(10 + rise, abs=0.4)


# -- ways out ----------------------------------------------------------------------


def test_straight_up_through_free_silicone():
    route = routes_of(BLOCK, (5, 3, 20))
    assert route.route == "straight" and route.slant_deg == 0
    assert route.length_mm == pytest.approx(52 - 20)
    assert route.exit_mm == pytest.approx((5, 3, 52))
    # From the box's lower left corner as seen from above.
    assert route.exit_face == "top"
    assert route.exit_from_corner_mm == pytest.approx((45, 33))
    assert route.half == "upper" and "first pour" in str(route.when)
    assert route.straw_mm == pytest.approx(25)


def test_a_high_point_on_the_parting_takes_a_groove_when_the_parting_runs_up():
    # The box on its side: +x up, the parting z = 10 stands upright.
    route = routes_of(BLOCK, (20, 0, 10.5), up=(1, 0, 0), parting_mm=10.0)
    assert route.route == "groove" and route.half == "both"
    assert "clay" in str(route.when)
    assert route.length_mm == pytest.approx(20)
    assert route.exit_mm == pytest.approx((40, 0, 10.5))
    # Off the parting it is drilled.
    assert routes_of(BLOCK, (20, 0, 15), up=(1, 0, 0), parting_mm=10.0).route == "straight"
    # Lying, the parting is level: no groove leads up.
    assert routes_of(BLOCK, (0, 0, 20), parting_mm=20.0).route == "straight"


def roofed(reach):
    """A block, and over it a roof plate on a pillar that hides its top."""
    return (
        BLOCK
        + bodies.cuboid((-20, -16), (-15, 15), (0, 40))
        + bodies.cuboid((-20, reach), (-15, 15), (36, 40))
    )


def test_a_blocked_vent_is_slanted_past_the_part():
    route = routes_of(roofed(8), (5, 0, 20))
    assert route.route == "slanted"
    # The plate ends at x = 8, 16 above: past it with the bore's clearance,
    # atan((3 + 1.25 + 1.5)/16) = 20 degrees at least, so the 30 degree slant.
    least = math.degrees(math.atan((3 + 1.25 + 1.5) / 16))
    assert least < route.slant_deg <= 30 + 1e-9
    assert route.exit_mm[2] == pytest.approx(52)
    assert route.exit_mm[0] == pytest.approx(5 + 32 * math.tan(math.radians(30)), abs=1e-6)


def test_a_vent_under_a_wide_roof_goes_sideways_on_the_parting_or_nowhere():
    wide = roofed(30)
    side = routes_of(wide, (5, 0, 20), parting_mm=20.0)
    assert side.route == "sideways"
    assert side.exit_face in ("front", "back", "right", "left")
    # Its mouth has to stand above the cup: up the wall and 25 mm more.
    assert side.straw_mm == pytest.approx(25 + 52 - 20)
    assert routes_of(wide, (5, 0, 20), parting_mm=5.0).route == "none"


def test_a_key_in_the_way_is_passed_too():
    over = routes_of(BLOCK, (5, 3, 20), keys=[(5, 3, 35, 5)])
    assert over.route == "slanted"
    assert routes_of(BLOCK, (5, 3, 20), keys=[(15, 3, 35, 5)]).route == "straight"


def test_the_side_face_is_measured_from_its_own_corner():
    # Straight up at +x up leaves by the face that was the right one; as the box
    # rests that is the top, seen with draw y to the right and z upward.
    route = routes_of(BLOCK, (20, 4, 12), up=(1, 0, 0))
    assert route.exit_face == "top"
    assert route.exit_from_corner_mm == pytest.approx((34, 24))
    assert replace(route, label="2").label == "2"
