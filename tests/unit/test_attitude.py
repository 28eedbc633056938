"""Ways to stand the mould: stands, scores and the choice on bodies known by hand."""

from dataclasses import replace

import bodies
import numpy as np
import pytest
import shapes

from castplan.air import attitude, stand_bill
from castplan.air.high_points import find_air
from castplan.air.ups import Grid, judge_field, score_ups, sphere_lattice
from castplan.geometry import directions, frames
from castplan.geometry.stands import Stand, box_rests, list_stands, stand_asked_for, stand_for
from castplan.records import Frame, Job

LEVEL = Frame(rotation=np.eye(3))
UP = np.array([[0, 0, 1.0]])
FEW = {"n_attitudes": 60}  # a coarse map is enough for a choice among faces


def choose(body, *, box_mm=None, draw=LEVEL, **choices):
    part = shapes.part_of(body.vertices_mm, body.faces)
    job = Job(**FEW, **choices)
    size = np.array(part.check.extent_mm) + 24 if box_mm is None else box_mm
    table = attitude.map_ups(part, job)
    return attitude.find_attitude(attitude.DrawnBox(frame=draw, box_mm=size), job, table)


def surface_of(body):
    return body.vertices_mm, body.faces, bodies.NO_FACES


def grid_of(pitch_mm):
    return Grid(pitch_mm=pitch_mm, turn=np.eye(3))


# -- stands ------------------------------------------------------------------------


def test_rests_are_six_turns_with_each_face_up_once():
    turned = Frame(rotation=shapes.rotation(5))
    rests = box_rests(turned)
    for name, frame in rests.items():
        assert frame.rotation @ frame.rotation.T == pytest.approx(np.eye(3), abs=1e-12)
        assert np.linalg.det(frame.rotation) == pytest.approx(1)
        sign = 1 if name[0] == "+" else -1
        assert frame.up == pytest.approx(sign * turned.rotation["xyz".index(name[1])])


@pytest.mark.parametrize("toward_deg", [0.0, 75.0, 250.0])
@pytest.mark.parametrize("tilt_deg", [5.0, 30.0])
def test_a_tilt_leans_up_to_the_raised_side(tilt_deg, toward_deg):
    rests = box_rests(LEVEL)
    stand = Stand("+z", rests["+z"], tilt_deg, toward_deg)
    # Spherical coordinates: polar angle and azimuth of up in the box's frame.
    tilt, toward = np.radians([tilt_deg, toward_deg])
    expected = [np.sin(tilt) * np.cos(toward), np.sin(tilt) * np.sin(toward), np.cos(tilt)]
    assert stand.frame.up == pytest.approx(expected)
    assert np.linalg.det(stand.frame.rotation) == pytest.approx(1)
    back = stand_for(rests, stand.frame.up)
    assert (back.rest, back.tilt_deg) == ("+z", pytest.approx(tilt_deg))
    assert back.toward_deg == pytest.approx(toward_deg)


def test_stands_are_the_rests_and_their_tilts_up_to_30_degrees():
    rests = box_rests(LEVEL)
    stands = list_stands(rests)
    assert len(stands) == 6 * (1 + 6 * 12)
    assert sum(stand.tilt_deg == 0 for stand in stands) == 6
    for stand in stands:
        angle = np.degrees(np.arccos(np.clip(rests[stand.rest].up @ stand.frame.up, -1, 1)))
        assert angle == pytest.approx(stand.tilt_deg, abs=1e-6) and angle <= 30 + 1e-9


def test_a_corner_up_needs_a_cradle():
    rests = box_rests(LEVEL)
    corner = frames.unit((1, 1, 1))  # 54.7 degrees off every face
    assert stand_for(rests, corner) is None
    own = stand_asked_for(rests, LEVEL, corner)
    assert own.rest == "" and own.frame.up == pytest.approx(corner)


def test_the_map_is_even_over_the_sphere():
    ups = sphere_lattice(count=500)
    assert np.linalg.norm(ups, axis=1) == pytest.approx(1)
    assert ups.mean(axis=0) == pytest.approx(0, abs=0.01)
    # 500 discs of equal area on the sphere are 10.3 degrees apart at most, side
    # by side; no point of the sphere is further from one than about that.
    far = np.degrees(np.arccos((bodies.directions(200, seed=3) @ ups.T).max(axis=1).clip(-1, 1)))
    assert far.max() < 10.3


# -- scores ------------------------------------------------------------------------


def test_scores_of_posts_up_down_and_lying():
    body = bodies.posts((8, 14, 11, 20))
    ups = np.array([[0, 0, 1.0], [0, 0, -1], [1, 0, 0]])
    up, down, end = score_ups(surface_of(body), ups, Job(), grid_of(0.25))
    # Up: three posts beside the gate's keep 36 x (8 + 14 + 11) mm3.
    assert up.n_vents == 3
    assert up.caught_mm3 == pytest.approx(36 * 33, rel=0.02)
    assert up.left_mm3 == 0
    # Down: one level roof, the base, 60 mm long: gate, and two more along it.
    assert (down.n_vents, down.caught_mm3) == (2, pytest.approx(0, abs=1e-6))
    assert down.roof_mm == pytest.approx(60, abs=1)
    # On its end: one roof 15 mm wide and one vent beside the gate.
    assert end.n_vents == 1


def test_air_in_small_points_costs_its_share():
    # Nine bumps of 2 x 2 x 4 mm3 on a plate: none worth a vent, 144 mm3 together.
    solid = bodies.cuboid((0, 60), (0, 20), (0, 8)) + bodies.cuboid((0, 6), (0, 20), (0, 20))
    for k in range(9):
        x = 12 + 5 * k
        solid += bodies.cuboid((x, x + 2), (9, 11), (0, 12))
    vertices, faces = bodies.arrays(solid)
    surface = vertices, faces, bodies.NO_FACES
    (score,) = score_ups(surface, UP, Job(), grid_of(0.2))
    assert score.small_mm3 == pytest.approx(9 * 16, rel=0.1)  # a bump is ten columns wide
    assert score.left_mm3 == 0


def test_fewer_vents_than_wanted_leave_the_least():
    body = bodies.posts((8, 14, 11, 20))
    (score,) = score_ups(surface_of(body), UP, Job(max_vents=1), grid_of(0.25))
    assert score.left_mm3 == pytest.approx(36 * (8 + 11), rel=0.02)


# -- the choice --------------------------------------------------------------------


def test_posts_are_not_poured_with_the_posts_up():
    result = choose(bodies.posts((8, 14, 11, 20)))
    chosen = result.chosen
    assert chosen.n_vents == 1 and chosen.rest != "+z"
    assert len(result.options) == 3
    costs = [option.cost_min for option in result.options]
    assert costs == sorted(costs)


def test_a_level_roof_is_tilted_where_that_saves_vents():
    # A plate of 120 x 90 mm: lying level it wants vents along the roof; on its
    # edge too; tilted it has one high corner.
    result = choose(shapes.box(120, 90, 4), box_mm=(144, 114, 28))
    (level,) = score_ups(surface_of(shapes.box(120, 90, 4)), UP, Job(), grid_of(0.5))
    assert level.n_vents == 4 and level.roof_mm == pytest.approx(120, abs=2)
    assert result.chosen.tilt_deg > 0 and result.chosen.n_vents == 1
    assert result.chosen.roof_mm < 25


def test_a_tilted_winner_is_as_good_as_the_tilts_round_it_on_the_real_mesh():
    body = shapes.box(120, 90, 4)
    result = choose(body, box_mm=(144, 114, 28))
    chosen = np.array(result.chosen.up)
    pitch_mm = 120 / attitude.FINAL_ACROSS

    def burden(ups):
        scores = score_ups(surface_of(body), ups, Job(), grid_of(pitch_mm))
        return [(score.n_vents, score.caught_mm3) for score in scores]

    # The option's own numbers are those of the real mesh at the closer pitch.
    ((n_vents, caught_mm3),) = burden(chosen[None])
    assert result.chosen.n_vents == n_vents
    assert result.chosen.caught_mm3 == pytest.approx(caught_mm3, abs=1e-6)
    # One vent is the least there is: no tilt of 3 or 1 degrees beside it needs fewer.
    for step_deg in attitude.FINER_DEG:
        beside = directions.ring(chosen, step_deg=step_deg)
        assert min(n for n, _ in burden(beside)) >= n_vents


def test_the_pitch_of_vents_along_a_roof_can_be_changed():
    body = shapes.box(120, 90, 4)
    field = bodies.look(body.vertices_mm, body.faces, pitch_mm=0.5)
    for pitch_mm, n_vents in ((25.0, 4), (50.0, 2), (200.0, 1)):
        air = find_air(field, Job(vent_pitch_mm=pitch_mm))
        assert len(air.extra_vents_mm) == n_vents
        score = judge_field(field, Job(vent_pitch_mm=pitch_mm))
        assert score.n_vents == n_vents
        places = np.array([air.peaks[air.gate].place_mm, *air.extra_vents_mm])[:, :2]
        apart = np.linalg.norm(places[:, None] - places[None], axis=2)
        # Spread out: nowhere nearer than half the pitch, or than a plate allows.
        assert apart[np.triu_indices(len(places), 1)].min() > 0.5 * min(pitch_mm, 60)


def test_the_show_face_is_turned_down():
    body = shapes.box(40, 30, 20)
    for face in ((0, 0, 1), (0, 0, -1)):
        result = choose(body, show_face=face)
        assert result.chosen.show_up_fraction == pytest.approx(0, abs=1e-6)
        assert np.dot(result.chosen.up, face) <= 1e-6


def test_what_the_shop_asks_for_is_done_and_the_others_listed():
    body = bodies.posts((8, 14, 11, 20))
    result = choose(body, up=(0, 0, 1))
    assert result.is_asked_for
    assert result.frame.up == pytest.approx((0, 0, 1))
    assert result.chosen.n_vents == 3
    assert result.options[1].cost_min < result.chosen.cost_min
    corner = choose(body, up=(1, 1, 1))
    assert corner.chosen.rest == "" and "cradle" in str(corner.chosen.why)
    leaning = choose(body, up=(0, 0.2, 1))
    assert leaning.rest.up == pytest.approx((0, 0, 1))
    assert leaning.chosen.tilt_deg == pytest.approx(np.degrees(np.arctan(0.2)))


def test_vents_in_an_upright_parting_save_the_drilling():
    # A cube, parted at its middle: alike on every face but for the parting.
    body = shapes.box(20, 20, 20)
    part = shapes.part_of(body.vertices_mm, body.faces)
    job = Job(**FEW)
    table = attitude.map_ups(part, job)
    box = attitude.DrawnBox(frame=LEVEL, box_mm=(44, 44, 44))
    plain = attitude.find_attitude(box, job, table).chosen
    parted = replace(box, on_parting=lambda p: np.abs(p[:, 2]) < 2)
    result = attitude.find_attitude(parted, job, table).chosen
    assert (plain.rest, plain.n_grooves) == ("+z", 0)
    assert result.rest[1] in "xy" and result.n_grooves == 1
    weights = job.air_weights
    # The vent and the gate beside it.
    saved = 2 * (weights.vent_min - weights.groove_min)
    assert plain.cost_min - result.cost_min == pytest.approx(saved)
    assert "in the parting" in str(result.why)


def test_a_tall_narrow_box_pays_for_a_brace():
    body = shapes.box(100, 12, 12)
    steady = stand_bill.STEADY
    result = choose(body, box_mm=(100 * steady, 20, 20), up=(1, 0, 0))
    lying = choose(body, box_mm=(20, 20, 20), up=(1, 0, 0))
    assert result.chosen.cost_min - lying.chosen.cost_min == pytest.approx(
        Job().air_weights.brace_min
    )


@pytest.mark.parametrize("seed", [1, 2])
def test_mesh_and_draw_turned_together_give_the_same_choice(seed):
    body = bodies.posts((8, 14, 11, 20))
    turn = shapes.rotation(seed)
    straight = choose(body)
    turned = shapes.Body(body.vertices_mm @ turn.T, body.faces, body.volume_mm3, None, {})
    size = np.array([60.0, 15, 25]) + 24
    other = choose(turned, draw=Frame(rotation=turn.T), box_mm=size)
    assert (other.chosen.n_vents, other.chosen.tilt_deg) == (
        straight.chosen.n_vents,
        straight.chosen.tilt_deg,
    )
    # The ends of the row are alike, so that either may be up.
    assert other.chosen.cost_min == pytest.approx(straight.chosen.cost_min, abs=1e-6)


def test_the_finer_map_lies_round_its_best_directions():
    part = shapes.part_of(*bodies.arrays(bodies.cuboid((0, 30), (0, 20), (0, 10))))
    table = attitude.map_ups(part, Job(n_attitudes=40))
    assert len(table.ups) == 40 + 2 * 6 * attitude.N_FINER
    near = np.degrees(np.arccos((table.ups[40:] @ table.ups[:40].T).max(axis=1).clip(-1, 1)))
    assert near.max() < 3.0 + 1.0 + 1e-6
