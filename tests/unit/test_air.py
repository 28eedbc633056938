"""High points at the pour, gate and vents, on bodies whose air is known by hand."""

import bodies
import numpy as np
import pytest
import shapes

from castplan.air.high_points import find_air
from castplan.records import Job

# A tower is 40 to 70 columns wide: areas and volumes to a few parts in a thousand.
SAMPLING = 0.01
JOB = Job()


def air_of(vertices_mm, faces, rotation=bodies.ALONG["z"], job=JOB):
    field = bodies.look(vertices_mm, faces, rotation)
    return field, find_air(field, job)


def stands_on(place_mm, body_xy, half_mm):
    """Whether a place lies over a square about a point, all in the body's axes."""
    return np.abs(np.asarray(place_mm[:2]) - body_xy).max() <= half_mm


@pytest.mark.parametrize("seed", [None, 1, 2, 3])
def test_gate_on_the_higher_tower_vent_on_the_lower(seed):
    body = shapes.two_towers((60, 30, 10), 16, (20, 35))
    turn = shapes.rotation(seed) if seed else np.eye(3)
    field, air = air_of(body.vertices_mm @ turn.T, body.faces, turn.T)
    high, low = air.peaks[air.gate], air.peaks[air.vents[0]]
    assert len(air.peaks) == 2 and len(air.vents) == 1
    # Middle of each level roof: within a column.
    assert high.place_mm == pytest.approx((15, 0, 45), abs=field.pitch_mm)
    assert low.place_mm == pytest.approx((-15, 0, 30), abs=field.pitch_mm)
    assert low.rise_mm == pytest.approx(20, abs=1e-6)
    assert low.air_mm3 == pytest.approx(16 * 16 * 20, rel=SAMPLING)
    assert low.roof_mm2 == pytest.approx(16 * 16, rel=SAMPLING)
    assert high.roof_mm2 == pytest.approx(16 * 16, rel=SAMPLING)
    assert air.n_small == 0 and air.small_mm3 == 0
    # The frame it reports is the field's: a place goes back to the part.
    assert np.allclose(air.frame.rotation, field.rotation)
    assert air.frame.to_part(np.array(high.place_mm)) == pytest.approx(
        turn @ np.array([15, 0, 45]), abs=1.5 * field.pitch_mm
    )


def test_numbers_follow_the_peaks():
    body = bodies.posts((8, 14, 11, 20))
    _, air = air_of(body.vertices_mm, body.faces)
    assert [peak.number for peak in air.peaks] == [1, 2, 3, 4]
    assert sorted([air.gate, *air.vents]) == [0, 1, 2, 3]
    assert [round(peak.rise_mm, 6) for peak in air.peaks] == [25, 14, 11, 8]
    # Posts of 36 mm2 that meet on their base keep only their own air.
    assert [p.air_mm3 for p in air.peaks[1:]] == pytest.approx([504, 396, 288], rel=0.02)


@pytest.mark.parametrize(
    ("height_mm", "side_mm", "n_vents"),
    [
        (0.6, 10.0, 1),  # 60 mm3, above both limits (0.5 mm and 20 mm3)
        (0.4, 20.0, 0),  # 160 mm3, but too low
        (4.0, 2.0, 0),  # 16 mm3: too little air
        (6.0, 2.0, 1),  # 24 mm3
    ],
)
def test_small_points_are_counted_and_get_no_vent(height_mm, side_mm, n_vents):
    solid = bodies.cuboid((0, 60), (0, 30), (0, 10)) + bodies.cuboid((40, 60), (0, 30), (0, 30))
    half = side_mm / 2
    solid += bodies.cuboid((15 - half, 15 + half), (15 - half, 15 + half), (0, 10 + height_mm))
    _, air = air_of(*bodies.arrays(solid))
    assert len(air.vents) == n_vents
    assert air.n_small == 1 - n_vents
    small_mm3 = side_mm**2 * height_mm if not n_vents else 0.0
    # A 2 mm post is nine columns wide.
    assert air.small_mm3 == pytest.approx(small_mm3, rel=0.1)


def test_limits_are_the_jobs():
    body = bodies.posts((8, 14, 11, 20))
    _, air = air_of(body.vertices_mm, body.faces, job=Job(vent_min_height_mm=10.0))
    assert [round(air.peaks[k].rise_mm, 6) for k in air.vents] == [14, 11]
    _, air = air_of(body.vertices_mm, body.faces, job=Job(vent_min_air_ml=0.45))
    assert [round(air.peaks[k].rise_mm, 6) for k in air.vents] == [14]
    assert air.n_small == 2
    assert air.small_mm3 == pytest.approx(36 * (8 + 11), rel=0.02)


def test_gate_never_stands_alone():
    body = shapes.box(40, 30, 20)
    field, air = air_of(body.vertices_mm, body.faces)
    assert air.vents == ()
    gate = np.array(air.peaks[air.gate].place_mm)
    extra = np.array(air.extra_vents_mm)
    # Level with the gate, and clear of it: half of both bores and 5 mm of silicone.
    assert extra[:, 2] == pytest.approx([gate[2]] * len(extra), abs=1e-9)
    away_mm = np.linalg.norm(gate[:2] - extra[:, :2], axis=1)
    # Clear of a usual gate, 8 mm.
    assert away_mm.min() >= 0.5 * (8 + JOB.vent_mm) + 5
    # The first as far as the roof lets it: a corner, 25 mm from the middle.
    assert away_mm[0] == pytest.approx(25, abs=2 * field.pitch_mm)


def test_gate_of_a_ring_stands_on_the_ring():
    # The middle of the roof is a hole: the port must not hang in it.
    body = shapes.bell(20, 30, 16, 24)
    field, air = air_of(body.vertices_mm, body.faces, np.diag([1.0, -1.0, -1.0]))
    (peak,) = air.peaks
    away_mm = float(np.hypot(*peak.place_mm[:2]))
    assert 16 - field.pitch_mm < away_mm < 20 + field.pitch_mm
    assert peak.place_mm[2] == pytest.approx(0, abs=1e-9)
    assert peak.roof_mm2 == pytest.approx(shapes.polygon_factor(64) * (20**2 - 16**2), rel=SAMPLING)


@pytest.mark.parametrize("seed", range(1, 6))
def test_gate_is_the_top_of_the_body_however_it_lies(seed):
    body = shapes.t_slot()
    turn = shapes.rotation(seed)
    field, air = air_of(body.vertices_mm, body.faces, turn)
    highest = body.vertices_mm @ turn[2]
    gate = air.peaks[air.gate]
    # The topmost corner is missed by the slope of its edges over half a column.
    assert gate.place_mm[2] == pytest.approx(highest.max(), abs=3 * field.pitch_mm)
    corner = body.vertices_mm[np.argmax(highest)] @ turn.T
    assert gate.place_mm[:2] == pytest.approx(corner[:2], abs=3 * field.pitch_mm)
    assert gate.air_mm3 == pytest.approx(body.volume_mm3, rel=SAMPLING)


def test_part_without_any_listed_point_still_gets_a_gate():
    # A plate thinner than the least height that counts.
    body = shapes.box(40, 30, 0.3)
    _, air = air_of(body.vertices_mm, body.faces)
    assert len(air.peaks) == 1 and air.gate == 0
    assert air.peaks[0].rise_mm == pytest.approx(0.3, abs=1e-9)


def place_of(air, k):
    """A listed point in the body's axes."""
    return tuple(float(v) for v in air.frame.to_part(np.array(air.peaks[k].place_mm)))


def test_vents_that_are_asked_for_are_the_vents():
    body = bodies.posts((8, 14, 11, 20))
    _, air = air_of(body.vertices_mm, body.faces)
    # Post 3, 11 mm tall, told 2 mm off its middle; posts 2 and 4 are given none.
    beside = tuple(np.add(place_of(air, 2), (1.2, -1.2, 1.0)))
    _, asked = air_of(body.vertices_mm, body.faces, job=Job(vents_at=(beside,)))
    assert asked.gate == air.gate and asked.vents == (2,) and asked.extra_vents_mm == ()
    # What the two other posts keep: 36 mm2 by 14 and by 8 mm.
    assert asked.left_mm3 == pytest.approx(36 * (14 + 8), rel=0.02)
    everywhere = tuple(place_of(air, k) for k in range(4))
    _, all_open = air_of(body.vertices_mm, body.faces, job=Job(vents_at=everywhere))
    assert sorted(all_open.vents) == [1, 2, 3] and all_open.left_mm3 == 0


def test_a_vent_asked_for_beside_every_point_stands_where_the_cavity_ends():
    body = shapes.two_towers((60, 30, 10), 16, (20, 35))
    job = Job(vents_at=((0.0, 0.0, 30.0),))  # between the towers, over the base's top at 10
    field, air = air_of(body.vertices_mm, body.faces, job=job)
    assert air.vents == ()
    (place,) = air.extra_vents_mm
    # The nearest end of the cavity to it: a tower's edge, 7 mm away, or the base, 20 mm.
    assert abs(place[0]) == pytest.approx(7, abs=field.pitch_mm)
    assert air.left_mm3 == pytest.approx(16 * 16 * 20, rel=SAMPLING)


def test_no_vents_asked_for_leaves_one_beside_the_gate():
    body = bodies.posts((8, 14, 11, 20))
    _, air = air_of(body.vertices_mm, body.faces, job=Job(vents_at=()))
    assert air.vents == () and len(air.extra_vents_mm) == 1
    assert air.left_mm3 == pytest.approx(36 * (14 + 11 + 8), rel=0.02)


def test_the_gate_leaves_a_point_that_is_asked_for_as_a_vent():
    body = shapes.two_towers((60, 30, 10), 16, (20, 35))
    _, air = air_of(body.vertices_mm, body.faces)
    job = Job(vents_at=(place_of(air, air.gate),))
    _, asked = air_of(body.vertices_mm, body.faces, job=job)
    assert asked.vents == (air.gate,) and asked.gate == air.vents[0]
    assert asked.left_mm3 == 0
