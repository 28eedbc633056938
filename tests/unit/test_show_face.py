"""The face that shows, guessed on bodies whose seen side is known because they were made so.

The bound on rounding is assumed.
"""

from dataclasses import replace

import bodies
import manifold3d
import numpy as np
import pytest
import shapes
import trimesh
from scipy.spatial.transform import Rotation

from castplan.part.close import Closing
from castplan.part.load import Reading, load_part
from castplan.part.show_face import GUESS_WEIGHT, find_show_face, with_show_face
from castplan.records import AirWeights, DrawWeights, Job

UP = (0.0, 0.0, 1.0)
# Any turns will do; these are fixed (scipy's rotations, not the project's own).
TURNS = Rotation.random(6, random_state=5).as_matrix()
# The axis is that of a flat of the hull: turned exactly but for rounding of the mesh.
SAME_DEG = 0.05


def cuboid(x, y, z):
    return bodies.cuboid(x, y, z)


def cylinder(radius_mm, z, x=0.0, y=0.0, n_sides=48):
    low, high = z
    return manifold3d.Manifold.cylinder(high - low, radius_mm, radius_mm, n_sides).translate(
        (x, y, low)
    )


def panel(wall_mm=3.0):
    """Hollow from below, sharp edges: 100 x 60 x 20."""
    inner = cuboid((-50 + wall_mm, 50 - wall_mm), (-30 + wall_mm, 30 - wall_mm), (-1, 20 - wall_mm))
    return cuboid((-50, 50), (-30, 30), (0, 20)) - inner


def panel_with_bosses():
    solid = panel()
    for x, y in ((-35, -20), (35, -20), (-35, 20), (35, 20)):
        solid += cylinder(4, (2, 18), x, y) - cylinder(1.5, (1, 12), x, y)
    return solid + cuboid((-1, 1), (-28, 28), (6, 18))


def panel_with_openings():
    solid = panel()
    for x in (-30, 0, 30):
        solid += cuboid((x - 9, x + 9), (-10, 10), (2, 19))
        solid -= cuboid((x - 7, x + 7), (-8, 8), (-1, 21))
    return solid


def crowned_cap():
    ball = manifold3d.Manifold.sphere(30.0, 96).scale((1.5, 1.0, 0.5))
    return ball ^ cuboid((-50, 50), (-50, 50), (0, 50))


def bow():
    """A bar on two feet, round all over but for the soles."""
    rod = manifold3d.Manifold.cylinder(80.0, 5.0, 5.0, 48).rotate((0, 90, 0))
    solid = rod.translate((-40, 0, 30))
    for x in (-38, 38):
        ball = manifold3d.Manifold.sphere(5.0, 48).translate((np.sign(x) * 40.0, 0, 30))
        solid += cylinder(5, (0, 30), x) + ball
    return solid


def ball_on_a_sole():
    """A ball of radius 20 cut at 19.6: the sole is 4 % of its view."""
    ball = manifold3d.Manifold.sphere(20.0, 128)
    return ball ^ cuboid((-30, 30), (-30, 30), (-19.6, 30))


def wheel(n_teeth=20):
    angle = 2 * np.pi * np.arange(4 * n_teeth) / (4 * n_teeth)
    radius = np.tile([20.0, 20.0, 24.0, 24.0], n_teeth)
    outline = np.column_stack([radius * np.cos(angle), radius * np.sin(angle)])
    return manifold3d.CrossSection([outline]).extrude(8.0)


def both_ways():
    lower = cuboid((-47, 47), (-27, 27), (-1, 8))
    return cuboid((-50, 50), (-30, 30), (0, 20)) - lower - lower.translate((0, 0, 13))


def plate_with(height_mm, width_mm):
    solid = cuboid((-60, 60), (-40, 40), (0, 3))
    for x in (-40, 0, 40):
        half = 0.5 * width_mm
        solid += cuboid((x - half, x + half), (-30, 30), (-height_mm, 1))
    return solid


def guess(solid, turn=bodies.ALONG["z"], **choices):
    vertices, faces = bodies.arrays(solid)
    return find_show_face(shapes.part_of(vertices @ np.asarray(turn).T, faces), Job(**choices))


def away_deg(direction, other):
    return np.degrees(np.arccos(np.clip(np.dot(direction, other), -1, 1)))


SEEN = {
    "hollow": (panel, panel_with_bosses, panel_with_openings),
    "rounded": (crowned_cap, bow),
    "ribs": (lambda: plate_with(8.0, 2.0),),
    "feet": (ball_on_a_sole,),
}


@pytest.mark.parametrize(
    ("why", "make"), [(why, one) for why, all_ in SEEN.items() for one in all_]
)
def test_the_seen_side_is_found_and_turns_with_the_part(why, make):
    solid = make()
    told = guess(solid)
    assert (told.basis, told.why) == ("guessed", why)
    assert away_deg(told.direction, UP) < SAME_DEG
    for turn in TURNS:
        turned = guess(solid, turn)
        assert turned.why == why
        assert away_deg(turned.direction, turn @ UP) < SAME_DEG
        # Sampled on a lattice that lies another way: a column in a hundred.
        assert turned.strength == pytest.approx(told.strength, abs=0.02)
    # Upside down it is the other way.
    flipped = guess(solid, np.diag([1.0, -1.0, -1.0]))
    assert away_deg(flipped.direction, (0, 0, -1)) < SAME_DEG


def test_the_strength_of_a_hollow_is_its_share_of_the_envelope():
    # Inside 94 x 54 x 17, outside 100 x 60 x 20; half a column of 1 mm on each wall.
    share = 94 * 54 * 17 / (100 * 60 * 20)
    assert guess(panel()).strength == pytest.approx(share, abs=0.03)


@pytest.mark.parametrize(
    "make",
    [
        lambda: cuboid((-20, 20), (-15, 15), (-10, 10)),
        lambda: manifold3d.Manifold.sphere(20.0, 96),
        wheel,
        # Low letters on a plate: as well an emblem as a plain back.
        lambda: plate_with(2.0, 6.0),
        # Hollow alike from above and below.
        both_ways,
        # Seen on edge it falls between the columns of a share of its length.
        lambda: cuboid((-400, 400), (-7, 7), (0, 1.5)),
    ],
)
def test_where_no_side_stands_out_none_is_guessed(make):
    for turn in (np.eye(3), *TURNS[:3]):
        told = guess(make(), turn)
        assert told.basis == "unknown" and told.direction is None and told.weight == 0
        assert told.why == "even"


def test_two_sides_that_could_be_seen_leave_it_open():
    # Two troughs of one size, hollow from below and from the side.
    solid = cuboid((0, 60), (0, 60), (0, 60))
    solid -= cuboid((5, 55), (5, 55), (-1, 15))
    solid -= cuboid((-1, 15), (5, 55), (20, 55))
    told = guess(solid)
    assert (told.basis, told.why) == ("unknown", "unclear")


def test_what_the_shop_names_is_taken_in_full():
    job = Job(show_face=(0, 3, 0))
    vertices, faces = bodies.arrays(panel())
    told = find_show_face(shapes.part_of(vertices, faces), job)
    assert (told.basis, told.why, told.weight) == ("given", "given", 1.0)
    assert told.direction == pytest.approx((0, 1, 0))
    assert with_show_face(job, told) is job


def test_a_guess_weighs_half():
    told, job = guess(panel()), Job()
    taken = with_show_face(job, told)
    assert taken.show_face == told.direction
    draw, air = DrawWeights(), AirWeights()
    assert taken.draw_weights.show_seam_min_per_mm == GUESS_WEIGHT * draw.show_seam_min_per_mm
    assert taken.air_weights.show_up_min == GUESS_WEIGHT * air.show_up_min
    assert taken.air_weights.show_port_min == GUESS_WEIGHT * air.show_port_min
    # Nothing else is touched.
    told_in = {"show_face": None, "draw_weights": job.draw_weights, "air_weights": job.air_weights}
    assert vars(replace(taken, **told_in)) == vars(job)


@pytest.mark.parametrize("turn", [np.eye(3), TURNS[0]])
def test_a_scan_from_one_side_shows_that_side(tmp_path, turn):
    vertices, faces = bodies.arrays(crowned_cap())
    is_back = (vertices[faces][:, :, 2] < 1e-6).all(axis=1)
    path = tmp_path / "scan.stl"
    scan = trimesh.Trimesh(vertices @ turn.T, faces[~is_back], process=False)
    path.write_bytes(scan.export(file_type="stl"))
    part = load_part(path, Reading(unit="mm", closing=Closing(thickness_mm=2.0)))
    told = find_show_face(part, Job())
    assert (told.basis, told.why) == ("guessed", "sheet")
    # The rim lies in the plane z = 0, so the areas add up along z.
    assert away_deg(told.direction, turn @ UP) < SAME_DEG
