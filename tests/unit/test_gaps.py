"""Gaps between surfaces: volume, kind, mouths and depth, against closed forms."""

import math
from types import SimpleNamespace

import bodies
import numpy as np
import pytest
import shapes

from castplan.columns.gaps import find_gaps
from castplan.columns.held import held_by_surface
from castplan.columns.scores import score_directions
from castplan.split import undercuts

# Sampling error of a trapped volume at 256 columns across. Worst measured: the
# turned groove of the lipped cup seen along its axis, 9e-4; others under 5e-4.
SAMPLING = 2e-3
WITH_POCKETS = {
    (maker, axis): kind
    for maker, axes, kind in (
        (shapes.lipped_cup, "z", ("pocket", 1)),
        (shapes.t_slot, "x", ("pocket", 1)),
        (shapes.t_slot, "z", ("pocket", 2)),
        (shapes.dovetail, "x", ("pocket", 1)),
        (shapes.dovetail, "z", ("pocket", 2)),
        (shapes.hook, "x", ("pocket", 1)),
        (shapes.two_towers, "x", ("pocket", 1)),
        (shapes.tray, "xy", ("pocket", 1)),
        (shapes.cross_hole_plate, "yz", ("bridge", 1)),
        (bodies.slot_block, "z", ("pocket", 1)),
        (bodies.bored_block, "yz", ("pocket", 1)),
        (bodies.hollow_box, "xyz", ("sealed", 1)),
    )
    for axis in axes
}
EVERY = {**shapes.ALL, **{m.__name__: m for m in (bodies.hollow_box, bodies.slot_block)}}


def measure(vertices_mm, faces, rotation, *, pitch_mm=None):
    """(field, gaps, pockets) along one direction."""
    field = bodies.look(vertices_mm, faces, rotation, pitch_mm=pitch_mm)
    gaps = find_gaps(field)
    result = undercuts.list_pockets(field, bodies.loose(gaps), part_mm3=field.volume_mm3)
    return field, gaps, result


def trapped_mm3(field, gaps):
    return float((gaps.top_mm - gaps.bottom_mm).sum() * field.cell_mm2)


@pytest.mark.parametrize("name", EVERY)
def test_trapped_volume_has_its_closed_form(name):
    body = EVERY[name]()
    for axis, expected_mm3 in body.trapped_mm3.items():
        field, gaps, _ = measure(body.vertices_mm, body.faces, bodies.ALONG[axis])
        # abs: a wall along the columns may leave slivers; a thousandth of 1 mm3.
        assert trapped_mm3(field, gaps) == pytest.approx(expected_mm3, rel=SAMPLING, abs=1e-3)


@pytest.mark.parametrize(("maker", "axis"), WITH_POCKETS)
def test_pockets_have_their_kind_however_the_part_lies(maker, axis):
    body = maker()
    kind, n_pockets = WITH_POCKETS[maker, axis]
    frame = bodies.ALONG[axis]
    pitch_mm = float(np.ptp(body.vertices_mm, axis=0).max()) / 256
    field, gaps, before = measure(body.vertices_mm, body.faces, frame, pitch_mm=pitch_mm)
    assert [pocket.kind for pocket in before.pockets] == [kind] * n_pockets
    assert before.n_small == 0
    for seed in (1, 2):
        turn = shapes.rotation(seed)
        turned = measure(body.vertices_mm @ turn.T, body.faces, frame @ turn.T, pitch_mm=pitch_mm)
        # The same columns but for rounding, so far closer than the sampling.
        assert trapped_mm3(*turned[:2]) == pytest.approx(trapped_mm3(field, gaps), rel=1e-6)
        assert [p.kind for p in turned[2].pockets] == [kind] * n_pockets
        for one, two in zip(before.pockets, turned[2].pockets, strict=True):
            assert two.n_mouths == one.n_mouths
            # Rounding may put a column's gap into another tenth: one pitch.
            assert two.depth_mm == pytest.approx(one.depth_mm, abs=pitch_mm)
            assert two.volume_mm3 == pytest.approx(one.volume_mm3, rel=1e-3)


@pytest.mark.parametrize("seed", [1, 2, 3, 4])
def test_along_and_against_hold_the_same(seed):
    # What a column's surfaces hold does not depend on its sense.
    body = shapes.lipped_cup()
    turn = shapes.rotation(seed)
    back = turn * np.array([[1.0], [-1.0], [-1.0]])
    ahead = trapped_mm3(*measure(body.vertices_mm, body.faces, turn)[:2])
    assert ahead > 1000
    assert trapped_mm3(*measure(body.vertices_mm, body.faces, back)[:2]) == pytest.approx(
        ahead, rel=SAMPLING
    )


# -- holes across the draw ------------------------------------------------------


def through_block():
    """A 40 x 40 x 20 block with a hole 8 wide and 6 high through along x."""
    block = bodies.cuboid((0, 40), (0, 40), (0, 20))
    return bodies.arrays(block - bodies.cuboid((-1, 41), (16, 24), (7, 13)))


@pytest.mark.parametrize("tilt_deg", [0.0, 0.5, 3.0, 10.0, 25.0])
@pytest.mark.parametrize("n_across", [64, 256])
def test_hole_across_the_draw_is_a_bridge_however_it_leans(tilt_deg, n_across):
    turn = math.radians(tilt_deg)
    frame = np.array(
        [[math.cos(turn), 0, -math.sin(turn)], [0, 1, 0], [math.sin(turn), 0, math.cos(turn)]]
    )
    pitch_mm = 40 / n_across
    field, gaps, result = measure(*through_block(), frame, pitch_mm=pitch_mm)
    # Closed form: chords of the hole along the draw, less those that leave at
    # an end: a wedge of h tan(tilt) over both ends together.
    expected_mm3 = 8 * 6 * (40 - 6 * math.tan(turn))
    # Coarse columns sample an 8 mm hole 13 times across: one part in fifty.
    allowed = 0.02 if n_across == 64 else 0.003
    assert trapped_mm3(field, gaps) == pytest.approx(expected_mm3, rel=allowed)
    assert [(p.kind, p.n_mouths) for p in result.pockets] == [("bridge", 2)]


def test_crossing_holes_are_one_bridge_with_four_mouths():
    solid = bodies.cuboid((0, 40), (0, 40), (0, 20))
    solid -= bodies.cuboid((-1, 41), (17, 23), (7, 13))
    solid -= bodies.cuboid((17, 23), (-1, 41), (7, 13))
    _, _, result = measure(*bodies.arrays(solid), bodies.ALONG["z"])
    (pocket,) = result.pockets
    assert (pocket.kind, pocket.n_mouths) == ("bridge", 4)
    # Closed form: two holes less their common cube.
    assert pocket.volume_mm3 == pytest.approx(36 * (2 * 40 - 6), rel=SAMPLING)
    assert pocket.centre_mm == pytest.approx((20, 20, 10), abs=0.05)
    assert (*pocket.low_mm, *pocket.high_mm) == pytest.approx(
        (0, 0, 7, 40, 40, 13), abs=field_pitch(40)
    )


def field_pitch(longest_mm):
    """The pitch that `bodies.look` takes."""
    return longest_mm / 256


def test_bore_that_turns_up_to_the_top_is_a_bridge():
    # The pin of silicone hangs on the lower half at the side, on the upper in the shaft.
    solid = bodies.cuboid((0, 40), (0, 40), (0, 20))
    solid -= bodies.cuboid((10, 41), (17, 23), (7, 13))
    solid -= bodies.cuboid((10, 16), (17, 23), (7, 21))
    _, _, result = measure(*bodies.arrays(solid), bodies.ALONG["z"])
    (pocket,) = result.pockets
    assert (pocket.kind, pocket.n_mouths) == ("bridge", 2)
    assert pocket.volume_mm3 == pytest.approx(24 * 36, rel=SAMPLING)


def test_window_in_the_wall_of_a_tray_is_a_bridge():
    solid = bodies.solid_of(*bodies.moved(shapes.tray(60, 40, 15, 5, 4), (0, 0, 0)))
    solid -= bodies.cuboid((24, 31), (-5, 5), (7, 12))
    _, _, result = measure(*bodies.arrays(solid), bodies.ALONG["z"])
    (pocket,) = result.pockets
    assert (pocket.kind, pocket.n_mouths) == ("bridge", 2)
    # 5 mm of wall at 0.23 mm a column: one part in a hundred.
    assert pocket.volume_mm3 == pytest.approx(5 * 10 * 5, rel=0.01)


def test_standing_ring_is_a_bridge():
    body = shapes.torus(30, 10, 96, 48)
    _, _, result = measure(body.vertices_mm, body.faces, bodies.ALONG["x"])
    (pocket,) = result.pockets
    assert (pocket.kind, pocket.n_mouths) == ("bridge", 2)
    # Closed form: the ring's opening, level by level an n-gon as wide as the
    # inner side of the tube lets it be.
    angles = math.pi - 2 * math.pi * np.arange(-12, 13) / 48
    profile = np.stack([30 + 10 * np.cos(angles), 10 * np.sin(angles)], axis=1)
    profile = profile[np.argsort(profile[:, 1])]
    expected_mm3 = bodies.polygon_moment_mm3(profile, n_sides=96)
    # The facets of ring and tube let slivers fall to neighbouring pockets.
    assert pocket.volume_mm3 == pytest.approx(expected_mm3, rel=SAMPLING)
    assert result.small_mm3 < SAMPLING * expected_mm3


def test_sealed_void_has_no_mouth_and_no_depth():
    body = bodies.hollow_box()
    for seed in (1, 2, 3):
        _, gaps, result = measure(body.vertices_mm, body.faces, shapes.rotation(seed))
        (pocket,) = result.pockets
        assert (pocket.kind, pocket.n_mouths, pocket.depth_mm) == ("sealed", 0, 0.0)
        assert result.sealed_mm3 == pytest.approx(24 * 18 * 10, rel=SAMPLING)
        assert np.isinf(gaps.depth_mm).all()


def test_pinhole_opens_a_sealed_void():
    # The case above can fail: a hole 2 mm wide makes it a pocket.
    solid = bodies.solid_of(*bodies.moved(bodies.hollow_box(), (0, 0, 0)))
    solid -= bodies.cuboid((0, 21), (-1, 1), (-1, 1))
    _, _, result = measure(*bodies.arrays(solid), bodies.ALONG["z"])
    (pocket,) = result.pockets
    assert (pocket.kind, pocket.n_mouths) == ("pocket", 1)
    assert result.sealed_mm3 == 0


# -- depth ----------------------------------------------------------------------


def deepest_tenth(length_mm, width_mm):
    """Where a tenth of a pocket lies deeper, open at one side and both ends.

    Root of (width - d)(length - 2 d) = width length / 10.
    """
    b = length_mm + 2 * width_mm
    return (b - math.sqrt(b * b - 8 * 0.9 * length_mm * width_mm)) / 4


@pytest.mark.parametrize(
    ("maker", "axis", "depth_mm"),
    [
        # Open at one end only: a tenth of the volume lies beyond 0.9 of the depth.
        (bodies.bored_block, "z", 0.9 * 25),
        (bodies.bored_block, "y", 0.9 * 25),
        (shapes.cross_hole_plate, "z", 0.9 * 15),
        (bodies.slot_block, "z", deepest_tenth(30, 25)),
        (shapes.t_slot, "z", deepest_tenth(50, 6)),
        # Ring from 12 to 16: areas grow with the radius squared.
        (shapes.lipped_cup, "z", math.sqrt(144 + 0.9 * (256 - 144)) - 12),
    ],
)
def test_depth_is_the_way_out_of_the_deepest_tenth(maker, axis, depth_mm):
    body = maker()
    for seed in (0, 1):
        turn = shapes.rotation(seed) if seed else np.eye(3)
        field, _, result = measure(
            body.vertices_mm @ turn.T, body.faces, bodies.ALONG[axis] @ turn.T
        )
        # First-order marching from the mouths: within a pitch.
        assert result.pockets[0].depth_mm == pytest.approx(depth_mm, abs=field.pitch_mm)


@pytest.mark.parametrize("depth_mm", [3.0, 10.0, 30.0])
def test_depth_grows_with_the_bore(depth_mm):
    body = bodies.bored_block(depth_mm=depth_mm)
    field, gaps, result = measure(body.vertices_mm, body.faces, bodies.ALONG["z"])
    pocket = result.pockets[0]
    assert pocket.depth_mm == pytest.approx(0.9 * depth_mm, abs=field.pitch_mm)
    assert gaps.depth_mm.max() == pytest.approx(depth_mm, abs=2 * field.pitch_mm)


def test_way_out_goes_round_corners():
    # A bore that turns at a right angle: legs 20 and 15 along its middle line,
    # 4 wide, so that the shortest way cuts the inner corner.
    solid = bodies.cuboid((0, 40), (0, 40), (0, 20))
    solid -= bodies.cuboid((20, 41), (10, 14), (7, 13))
    solid -= bodies.cuboid((20, 24), (10, 29), (7, 13))
    _, gaps, _ = measure(*bodies.arrays(solid), bodies.ALONG["z"])
    # Farthest point: the blind end's outer corner (20, 29). Straight to the
    # inner corner (24, 14), then along the wall to the face x = 40.
    longest_mm = math.hypot(4, 15) + 16
    # First order: the error grows with the way, a few parts in a hundred.
    assert gaps.depth_mm.max() == pytest.approx(longest_mm, rel=0.03)


def test_weighted_percentiles_are_those_of_repeated_values():
    # Truth: numpy's percentile ("inverted_cdf") of each value repeated.
    rng = np.random.default_rng(2)
    values, weights = rng.normal(size=40), rng.integers(1, 9, 40)
    percents = (0, 10, 50, 90, 100)
    expected = np.percentile(np.repeat(values, weights), percents, method="inverted_cdf")
    found = undercuts.weighted_percentiles(values, weights.astype(float), percents)
    assert found == pytest.approx(expected)


# -- what no draw frees ----------------------------------------------------------


def test_chain_is_locked_whichever_way_it_is_drawn():
    body = bodies.chain()
    tries = [*np.eye(3), *bodies.directions(50, seed=1)]
    rotations = np.array([bodies.frame_up(direction) for direction in tries])
    scores = score_directions(body.vertices_mm, body.faces, rotations, pitch_mm=0.5)
    # Two links through each other: some column always passes both. A single
    # column is 0.25 mm2 by at most 2 mm; ask for a hundred times that.
    assert scores[:, 1].min() > 50
    assert (scores[:, 0] >= scores[:, 1]).all()


def test_one_link_alone_is_not_locked():
    # The case above can fail: along its axis a ring comes free.
    body = shapes.torus(20, 4, 64, 24)
    scores = score_directions(body.vertices_mm, body.faces, np.eye(3)[None], pitch_mm=0.5)
    assert scores[0, 1] < 1e-6


@pytest.mark.parametrize(
    ("height_mm", "held"),
    [
        # Head of the slot 20 wide, z = 15 to 22, neck 8 wide, z = 22 to 30; 50 long.
        (0.0, [("upper", 6 * 7), ("upper", 6 * 7)]),
        (30.0, [("lower", 8 * 8 + 20 * 7)]),
        (18.5, [("lower", 20 * 3.5), ("upper", 6 * 3.5), ("upper", 6 * 3.5)]),
    ],
)
def test_a_pocket_is_held_by_the_half_whose_silicone_it_is(height_mm, held):
    body = shapes.t_slot()
    field = bodies.look(body.vertices_mm, body.faces, bodies.ALONG["z"])
    heights = np.full(field.n_x * field.n_y, height_mm)
    found = held_by_surface(field, find_gaps(field), heights)
    result = undercuts.list_pockets(field, found, part_mm3=body.volume_mm3)
    assert [p.held_by for p in result.pockets] == [half for half, _ in held]
    volumes = [p.volume_mm3 for p in result.pockets]
    # A side of the slot is a column at the most.
    assert volumes == pytest.approx([50 * mm2 for _, mm2 in held], rel=0.03)
    assert [p.number for p in result.pockets] == list(range(1, len(result.pockets) + 1))
    # The proof sums up what either half holds.
    promise = SimpleNamespace(trapped_mm3=50 * sum(mm2 for _, mm2 in held))
    proof = undercuts.prove_split(field, found, promise)
    halves = [50 * sum(mm2 for who, mm2 in held if who == half) for half in ("upper", "lower")]
    assert (proof.upper_mm3, proof.lower_mm3) == pytest.approx(halves, rel=0.03, abs=1e-9)


def test_the_box_round_a_pocket_holds_it_and_hardly_more():
    # The slot is x 15 to 40, y 0 to 30, z 7 to 13.
    body = bodies.slot_block()
    field, _, result = measure(body.vertices_mm, body.faces, bodies.ALONG["z"])
    (slot,) = result.pockets
    low, high = np.array(slot.low_mm), np.array(slot.high_mm)
    beyond = np.concatenate([np.array([15, 0, 7]) - low, high - np.array([40, 30, 13])])
    # Exact along the draw; across it columns end within one of the wall, on its outside.
    assert beyond[[2, 5]] == pytest.approx([0, 0], abs=1e-6)
    assert ((beyond[[0, 1, 3, 4]] > 0) & (beyond[[0, 1, 3, 4]] < field.pitch_mm)).all()


def test_small_pockets_are_counted_not_listed():
    # A cup with two bores: one of 8 mm3, over the limit of 1e-4 of the part
    # (and 2 mm3), one of 1 mm3 under it.
    solid = bodies.cuboid((0, 40), (0, 30), (0, 20))
    solid -= bodies.cuboid((38, 41), (4, 6), (9, 11))
    solid -= bodies.cuboid((39, 41), (14, 15), (9, 10))
    field, gaps, result = measure(*bodies.arrays(solid), bodies.ALONG["z"])
    # A millimetre is six columns here: a tenth.
    assert [p.volume_mm3 for p in result.pockets] == pytest.approx([8], rel=0.1)
    assert result.n_small == 1
    assert result.small_mm3 == pytest.approx(1, rel=0.1)
    assert result.min_volume_mm3 == pytest.approx(1e-4 * field.volume_mm3)
    numbers = undercuts.listed_pockets(field, gaps, result)
    assert set(numbers) == {0, 1}
    assert set(gaps.pocket[numbers == 1]).isdisjoint(gaps.pocket[numbers == 0])
