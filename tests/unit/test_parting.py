"""The level split that is chosen, and what lies on either side of it."""

import math

import bodies
import numpy as np
import pytest
import shapes

from castplan.columns.gaps import find_gaps
from castplan.split.parting import find_parting, locked_volume_mm3

# Sampling error at 256 columns across; see the tests of levels and gaps.
SAMPLING = 2e-3


def part_line(body, rotation=bodies.ALONG["z"], *, tie_mm3=1.0):
    """(field, parting) of a body along a frame."""
    field = bodies.look(body.vertices_mm, body.faces, rotation)
    return field, find_parting(field, find_gaps(field), tie_mm3=tie_mm3)


@pytest.mark.parametrize("tie_mm3", [1.0, 20.0])
@pytest.mark.parametrize("seed", [0, 1, 2])
def test_ball_is_split_at_its_middle(seed, tie_mm3):
    ball = shapes.sphere(10, 256)
    turn = shapes.rotation(seed) if seed else np.eye(3)
    field, found = part_line(ball, turn, tie_mm3=tie_mm3)
    assert found.height_mm == pytest.approx(0, abs=field.pitch_mm)
    # Closed form of a ball: a split z off the middle traps pi z^3 / 3.
    reach_mm = (3 * tie_mm3 / math.pi) ** (1 / 3)
    # The ring is 0.05 to 0.4 mm wide at 0.08 mm a column.
    assert found.free_high_mm == pytest.approx(reach_mm, rel=0.05)
    assert found.free_low_mm == pytest.approx(-reach_mm, rel=0.05)
    assert found.trapped_at_mm3 <= tie_mm3
    assert found.locked_mm3 == 0


def test_flat_base_lies_on_the_board():
    for maker in (shapes.tray, shapes.frustum, shapes.two_towers, shapes.staircase, shapes.box):
        body = maker()
        _, found = part_line(body)
        assert found.height_mm == body.vertices_mm[:, 2].min()
        # Columns beside a sloping foot: none sampled more than a pitch high.
        assert found.trapped_at_mm3 < 0.5
        assert found.part_below_mm3 == 0


def test_wide_end_up_is_split_there():
    body = shapes.frustum(20, 10, 30, 64)
    _, found = part_line(body, np.diag([1.0, -1.0, -1.0]))
    # Free is the top alone, but for the tie: a ring of 1 mm3 is 0.22 mm high
    # (2 pi 20 times slope 1/3 times z^2 / 2).
    depth_mm = math.sqrt(2 * 3 / (2 * math.pi * 20))
    assert found.free_high_mm == 0
    assert found.free_low_mm == pytest.approx(-depth_mm, abs=0.1)
    assert found.height_mm == pytest.approx(0.5 * (found.free_low_mm + found.free_high_mm))


def test_small_base_is_not_a_stand():
    # A ball with a flat of 6 % of its shadow: split at the equator, not on the flat.
    profile = [(0, -9.7), (2.43, -9.7), (10, 0), (0, 10)]
    _, found = part_line(shapes.revolved(profile, 64))
    # Under 10 mm3 at the equator and a pitch beside it.
    assert found.height_mm == pytest.approx(0, abs=0.3)


@pytest.mark.parametrize(
    ("maker", "axis"),
    [
        (shapes.t_slot, "z"),
        (shapes.dovetail, "z"),
        (shapes.hook, "x"),
        (shapes.cross_hole_plate, "z"),
        (bodies.bored_block, "y"),
        (shapes.lipped_cup, "z"),
    ],
)
def test_locked_volume_stays_whatever_the_height(maker, axis):
    body = maker()
    _, found = part_line(body, bodies.ALONG[axis])
    # Closed form of the body.
    assert found.locked_mm3 == pytest.approx(body.trapped_mm3[axis], rel=SAMPLING)
    assert found.trapped_mm3.min() >= found.locked_mm3 * (1 - 1e-12)
    assert found.trapped_at_mm3 == pytest.approx(found.locked_mm3, abs=1)


def test_sealed_void_holds_no_silicone():
    body = bodies.hollow_box()
    field = bodies.look(body.vertices_mm, body.faces, shapes.rotation(2))
    gaps = find_gaps(field)
    assert locked_volume_mm3(field, gaps) == 0
    assert find_parting(field, gaps, tie_mm3=1.0).locked_mm3 == 0


@pytest.mark.parametrize("name", ["torus", "bell", "dovetail", "two_towers", "lipped_cup"])
def test_curve_and_shares_agree_with_the_field(name):
    body = shapes.ALL[name]()
    field, found = part_line(body, shapes.rotation(4))
    assert found.heights_mm[0] == field.low_mm[2] and found.heights_mm[-1] == field.high_mm[2]
    # Conservation: the part lies below or above.
    assert found.part_below_mm3 + found.part_above_mm3 == pytest.approx(field.volume_mm3)
    assert found.free_low_mm <= found.height_mm <= found.free_high_mm
    # No height of the curve is better than the one chosen, by more than the tie.
    assert found.trapped_at_mm3 <= found.trapped_mm3.min() + 1.0
    assert min(found.filled_above_mm3, found.filled_below_mm3) >= 0


@pytest.mark.parametrize("seed", [3, 6, 9])
@pytest.mark.parametrize("name", ["torus", "t_slot", "bell"])
def test_part_below_is_the_solid_cut_there(name, seed):
    # Truth: manifold3d's cut by a plane.
    body = shapes.ALL[name]()
    turn = shapes.rotation(seed)
    _, found = part_line(body, turn)
    solid = bodies.solid_of(body.vertices_mm @ turn.T, body.faces)
    below = solid.trim_by_plane((0.0, 0.0, -1.0), -found.height_mm)
    assert 0.05 < below.volume() / body.volume_mm3 < 0.95
    assert found.part_below_mm3 == pytest.approx(below.volume(), rel=SAMPLING)


def test_bowl_belongs_to_the_upper_half_and_dome_to_the_lower():
    # Side by side: a tray open at the top and one open at the bottom, rims
    # level with each other's backs. The best height is anywhere; what fills
    # them has closed forms for whichever height was chosen.
    tray = shapes.tray(60, 40, 15, 5, 4)
    flip = np.diag([1.0, -1.0, -1.0])
    vertices, faces = bodies.joined(
        bodies.moved(tray, (0, 0, 0)), bodies.moved(tray, (70, 0, 15), flip)
    )
    field = bodies.look(vertices, faces)
    # A tie that no height exceeds: the split comes to lie on the base.
    found = find_parting(field, find_gaps(field), tie_mm3=1e9)
    assert (found.free_low_mm, found.free_high_mm) == (0, 15)
    z = found.height_mm
    assert found.filled_above_mm3 == pytest.approx(50 * 30 * max(z - 4, 0), rel=SAMPLING)
    assert found.filled_below_mm3 == pytest.approx(50 * 30 * max(11 - z, 0), rel=SAMPLING)
