"""Level splits: what a flat parting traps at every height, against closed forms."""

import math

import bodies
import numpy as np
import pytest
import shapes

from castplan.columns.levels import overflow, sweep_levels, void_and_least_trapped

# Sampling error of a trapped volume at 256 columns across, as a share of the block
# it is cut from; worst measured 9e-4 (a lying ring's shadow).
SAMPLING = 2e-3


def sweep(vertices_mm, faces, rotation=bodies.ALONG["z"]):
    return sweep_levels(bodies.look(vertices_mm, faces, rotation))


def turned_beside_mm3(profile, height_mm, *, n_sides):
    """Void beside a turned profile [(r, z), ...] within its widest, from its foot to a height.

    The silicone over a surface that narrows upward, held under the level split.
    """
    r, z = np.asarray(profile, dtype=float).T
    if height_mm <= z[0]:
        return 0.0
    levels = np.unique(np.concatenate([z[z < height_mm], [height_mm]]))
    cut = np.stack([np.interp(levels, z, r), levels], axis=1)
    full = shapes.polygon_factor(n_sides) * r.max() ** 2 * (height_mm - z[0])
    return full - bodies.polygon_moment_mm3(cut, n_sides=n_sides)


def ball_profile(radius_mm, n_sides):
    """Upper half of `shapes.sphere`'s profile."""
    angles = np.linspace(0, math.pi / 2, n_sides // 4 + 1)
    return np.stack([radius_mm * np.cos(angles), radius_mm * np.sin(angles)], axis=1)


def test_ball_is_free_at_its_equator_and_only_there():
    ball = shapes.sphere(10, 64)
    found = sweep(ball.vertices_mm, ball.faces)
    heights = np.array([0.0, 2.5, 5.0, 7.5, 10.0])
    profile = ball_profile(10, 64)
    expected = [turned_beside_mm3(profile, z, n_sides=64) for z in heights]
    # At the top: a cylinder of one radius less half a ball.
    assert expected[-1] == pytest.approx(math.pi * 1000 / 3, rel=0.01)
    # What is sampled is the outline; its error counts with the height under it.
    allowed = SAMPLING * shapes.polygon_factor(64) * 100 * heights
    assert (np.abs(found.trapped_mm3(heights) - expected) <= allowed).all()
    assert (np.abs(found.trapped_mm3(-heights) - expected) <= allowed).all()
    over, under = found.split_mm3(height_mm=5.0)
    assert (over, under) == (pytest.approx(expected[2], abs=allowed[2]), 0.0)
    over, under = found.split_mm3(height_mm=-5.0)
    assert (over, under) == (0.0, pytest.approx(expected[2], abs=allowed[2]))


@pytest.mark.parametrize(("low_mm", "high_mm"), [(20, 10), (20, 0)])
def test_cone_is_free_at_its_foot(low_mm, high_mm):
    body = shapes.frustum(low_mm, high_mm, 30, 64)
    heights = np.array([0.0, 10.0, 20.0, 30.0])
    profile = [(low_mm, 0), (high_mm, 30)]
    expected = [turned_beside_mm3(profile, z, n_sides=64) for z in heights]
    found = sweep(body.vertices_mm, body.faces)
    # abs: slope 2 to 3 over a pitch of 0.16 mm at the foot's rim.
    assert found.trapped_mm3(heights) == pytest.approx(expected, rel=SAMPLING, abs=0.5)
    assert found.trapped_mm3([0.0]) == 0
    # The other way up it is free at its (now upper) wide end.
    flipped = sweep(body.vertices_mm, body.faces, np.diag([1.0, -1.0, -1.0]))
    assert flipped.trapped_mm3(-heights) == pytest.approx(expected, rel=SAMPLING, abs=0.5)


@pytest.mark.parametrize(
    "maker", [shapes.box, shapes.tray, shapes.lipped_cup, shapes.bell, bodies.slot_block]
)
def test_upright_walls_are_free_at_every_height(maker):
    # Bowls belong to the upper half until the level overflows their rim, and
    # domes to the lower half; walls along the draw trap nothing.
    body = maker()
    z = body.vertices_mm[:, 2]
    heights = np.linspace(z.min(), z.max(), 23)
    assert (sweep(body.vertices_mm, body.faces).trapped_mm3(heights) == 0).all()


def test_above_the_rim_a_bowl_is_full_of_clay():
    # The case above can fail: over the rim everything under the level counts.
    body = shapes.tray(60, 40, 15, 5, 4)
    found = sweep(body.vertices_mm, body.faces)
    # Closed form at 1 mm over the rim: a sheet over the outline, and the hollow.
    assert found.trapped_mm3([16.0])[0] == pytest.approx(60 * 40 + 50 * 30 * 11, rel=SAMPLING)


@pytest.mark.parametrize("sill_mm", [6.0, 9.0, 13.0])
def test_a_bowl_is_lost_where_its_notch_overflows(sill_mm):
    body = bodies.notched_tray((60, 40, 15), 5, 4, (10, sill_mm))
    found = sweep(body.vertices_mm, body.faces)
    below, above = sill_mm - 0.01, sill_mm + 0.5
    assert found.trapped_mm3([4.0, below, sill_mm]) == pytest.approx([0, 0, 0], abs=1e-9)
    # Closed form: hollow above its floor, notch above its sill.
    expected = 50 * 30 * (above - 4) + 5 * 10 * (above - sill_mm)
    assert found.trapped_mm3([above])[0] == pytest.approx(expected, rel=SAMPLING)
    expected = 50 * 30 * (15 - 4) + 5 * 10 * (15 - sill_mm)
    assert found.trapped_mm3([15.0])[0] == pytest.approx(expected, rel=SAMPLING)


def test_stairs_trap_the_steps_below_the_level():
    body = shapes.staircase(4, 10, 6, 30)
    found = sweep(body.vertices_mm, body.faces)
    for z_mm in (0.0, 5.0, 6.0, 9.0, 14.0, 24.0):
        expected = sum(max(z_mm - 6 * step, 0) * 10 * 30 for step in (1, 2, 3, 4))
        assert found.trapped_mm3([z_mm])[0] == pytest.approx(expected, rel=SAMPLING)


def test_hole_through_a_part_is_plugged():
    # A lying ring: clay stays outside the outline, and the hole is plugged, so
    # its opening is silicone of whichever half; only the tube's flanks trap.
    body = shapes.torus(30, 10, 96, 48)
    found = sweep(body.vertices_mm, body.faces)
    assert found.trapped_mm3([0.0])[0] < 0.5  # rims of the tube, under a pitch wide
    # Closed form a little over the top, where clay runs over the crest: the ring's
    # shadow times the height over its middle, less half the ring.
    block_mm3 = shapes.polygon_factor(96) * (40**2 - 20**2) * 10.1
    expected = block_mm3 - 0.5 * body.volume_mm3
    # What is sampled is the shadow; its error counts with the height under it.
    allowed = SAMPLING * block_mm3
    assert found.trapped_mm3([10.1])[0] == pytest.approx(expected, abs=allowed)
    assert found.trapped_mm3([-10.1])[0] == pytest.approx(expected, abs=allowed)


@pytest.mark.parametrize("name", ["bell", "lipped_cup", "tray", "t_slot", "two_towers"])
def test_upside_down_is_the_mirror_image(name):
    # Exactly the same columns, so to rounding only.
    body = shapes.ALL[name]()
    turn = shapes.rotation(3)
    vertices = body.vertices_mm @ turn.T
    upright = sweep(vertices, body.faces)
    mirrored = sweep(vertices * np.array([1.0, 1.0, -1.0]), body.faces[:, ::-1])
    heights = np.linspace(vertices[:, 2].min(), vertices[:, 2].max(), 31)
    amounts = upright.trapped_mm3(heights)
    assert amounts.max() > 100
    assert mirrored.trapped_mm3(-heights) == pytest.approx(amounts, rel=1e-9, abs=1e-6)


def test_trapped_volume_bends_only_where_told():
    body = shapes.dovetail()
    found = sweep(shapes.rotated(body.vertices_mm, 5), body.faces)
    bends = found.breakpoints_mm()
    assert (np.diff(bends) > 0).all()
    # Between neighbouring bends the sum is a straight line: its middle lies half way.
    wide = np.flatnonzero(np.diff(bends) > 1e-6)[::97]
    low, high = bends[wide] + 1e-9, bends[wide + 1] - 1e-9
    middle = found.trapped_mm3(0.5 * (low + high))
    ends = 0.5 * (found.trapped_mm3(low) + found.trapped_mm3(high))
    assert len(wide) > 20
    assert middle == pytest.approx(ends, rel=1e-9, abs=1e-6)


@pytest.mark.parametrize("n_heights", [2, 5, 12])
@pytest.mark.parametrize("name", ["lipped_cup", "sphere", "t_slot"])
def test_the_least_over_even_heights_is_that_of_the_sweep(name, n_heights):
    # The sweep has its closed forms above; the search counts columns by slices instead.
    body = shapes.ALL[name]()
    field = bodies.look(body.vertices_mm, body.faces, shapes.rotation(7))
    low_mm, high_mm = field.lowest_mm.min(), field.highest_mm.max()
    where = (field.first, field.bottom_mm, field.top_mm, field.n_x, field.n_y)
    _, least_mm = void_and_least_trapped(*where, low_mm, high_mm, n_heights)
    trapped_mm3 = sweep_levels(field).trapped_mm3(np.linspace(low_mm, high_mm, n_heights))
    assert least_mm * field.cell_mm2 == pytest.approx(trapped_mm3.min(), rel=1e-6, abs=1e-6)


def test_heights_may_come_in_any_order_and_number():
    body = shapes.sphere()
    found = sweep(body.vertices_mm, body.faces)
    heights = np.array([3.0, -2.0, 9.0, 3.0])
    one_by_one = [float(found.trapped_mm3([z])[0]) for z in heights]
    assert found.trapped_mm3(heights).tolist() == one_by_one
    assert found.trapped_mm3([]).shape == (0,)


# -- the flood ------------------------------------------------------------------


def slow_overflow(height, is_part):
    """Lowest highest step on any way from outside (repeated relaxation, Bellman and Ford).

    Outside is what a walk over empty columns reaches from the first one.
    """
    n_y, n_x = height.shape
    outside = np.zeros_like(is_part)
    outside[0, 0] = True
    level = np.full(height.shape, np.inf)

    def around(a, combine, empty):
        padded = np.pad(a, 1, constant_values=empty)
        return combine(
            [
                padded[1 + dy : 1 + dy + n_y, 1 + dx : 1 + dx + n_x]
                for dy, dx in ((0, 1), (0, -1), (1, 0), (-1, 0))
            ]
        )

    for _ in range(n_x * n_y):
        outside |= ~is_part & around(outside, lambda a: np.any(a, axis=0), False)
    for _ in range(n_x * n_y):
        reach = np.where(around(outside, lambda a: np.any(a, axis=0), False), -np.inf, np.inf)
        reach = np.minimum(reach, around(level, lambda a: np.min(a, axis=0), np.inf))
        level = np.where(is_part, np.minimum(level, np.maximum(reach, height)), np.inf)
    return level


@pytest.mark.parametrize("seed", range(8))
def test_flood_finds_the_lowest_way_over_the_rim(seed):
    rng = np.random.default_rng(seed)
    n_y, n_x = 11, 13
    height = rng.integers(0, 7, size=(n_y, n_x)).astype(float)
    is_part = np.zeros((n_y, n_x), bool)
    is_part[1:-1, 1:-1] = rng.random((n_y - 2, n_x - 2)) < 0.85
    found = overflow(height.ravel(), is_part.ravel(), n_x, n_y).reshape(n_y, n_x)
    assert np.array_equal(found, slow_overflow(height, is_part))
