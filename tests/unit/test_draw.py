"""The draw: bodies whose best direction is plain, however they lie in the file.

Heights and costs are of the bodies made here, by hand.
"""

import bodies
import numpy as np
import pytest
import shapely
import shapes
import trimesh

from castplan.errors import GeometryError, InputError
from castplan.geometry import directions as ways
from castplan.geometry import frames
from castplan.records import Job
from castplan.split.draw import find_draw, tie_volume_mm3

# Body -> the one direction along which it holds nothing (or least). Few facets, for speed.
PLAIN = {
    "hook": (shapes.hook(), "y"),  # sideways: flat, and the lower mould of the two that are free
    "t_slot": (shapes.t_slot(), "y"),  # along the slot
    "dovetail": (shapes.dovetail(), "y"),
    "tray": (shapes.tray(), "z"),  # out of the bowl
    "cross_hole_plate": (shapes.cross_hole_plate(n_sides=24), "x"),  # along the hole
    "torus": (shapes.torus(30, 10, 32, 16), "z"),
    "lipped_cup": (shapes.lipped_cup(n_sides=24), "z"),  # holds under its lip, but least this way
}


def apart_deg(one, two):
    """Angle between two axes, whichever way they point."""
    return float(np.degrees(np.arccos(min(abs(np.dot(one, two)), 1.0))))


def draw_of(vertices_mm, faces, **choices):
    return find_draw(shapes.part_of(vertices_mm, faces), Job(**choices))


@pytest.mark.parametrize("seed", [None, 1])
@pytest.mark.parametrize("name", PLAIN)
def test_the_plain_draw_is_found_however_the_part_lies(name, seed):
    body, axis = PLAIN[name]
    turn = shapes.rotation(seed) if seed else np.eye(3)
    found = draw_of(body.vertices_mm @ turn.T, body.faces, n_directions=64)
    # The closed-form axis, turned along; up to sign.
    assert apart_deg(found.direction, turn[:, "xyz".index(axis)]) < 1.0
    assert np.linalg.norm(found.direction) == pytest.approx(1)
    assert found.frame.up == pytest.approx(found.direction, abs=1e-9)
    assert np.linalg.det(found.frame.rotation) == pytest.approx(1)
    assert not found.is_asked_for
    best = found.candidates[0]
    assert best.direction == found.direction
    expected_mm3 = body.trapped_mm3[axis]
    # Nothing, or the closed form; 256 columns across.
    assert best.locked_mm3 == pytest.approx(expected_mm3, rel=5e-3, abs=1.0)
    assert best.trapped_mm3 == pytest.approx(expected_mm3, rel=5e-3, abs=1.0)


@pytest.mark.parametrize("name", ["t_slot", "hook", "lipped_cup"])
def test_candidates_are_apart_and_in_order(name):
    body, _ = PLAIN[name]
    found = draw_of(shapes.rotated(body.vertices_mm, 3), body.faces, n_directions=96)
    assert len(found.candidates) == 3
    axes = [candidate.direction for candidate in found.candidates]
    for k, one in enumerate(axes):
        for two in axes[:k]:
            assert apart_deg(one, two) >= 10
    assert all(candidate.why for candidate in found.candidates)
    # What is locked is part of what is trapped.
    assert all(c.locked_mm3 <= c.trapped_mm3 for c in found.candidates)


def test_the_same_part_gives_the_same_draw():
    body = shapes.dovetail()
    one, two = (draw_of(body.vertices_mm, body.faces, n_directions=24) for _ in range(2))
    assert one.direction == two.direction
    assert [c.trapped_mm3 for c in one.candidates] == [c.trapped_mm3 for c in two.candidates]


@pytest.mark.parametrize("asked", [(0, 0, 1), (0, 0, -3), (1, 2, 2)])
def test_the_asked_direction_is_taken_as_it_is(asked):
    body = shapes.t_slot()
    found = draw_of(body.vertices_mm, body.faces, draw=asked)
    assert found.is_asked_for
    # Kept with its sign, at length 1.
    assert found.direction == pytest.approx(np.array(asked) / np.linalg.norm(asked), abs=1e-12)
    (only,) = found.candidates
    assert only.origin == "asked_for"
    if asked[0] == 0:
        assert only.locked_mm3 == pytest.approx(body.trapped_mm3["z"], rel=5e-3)


@pytest.mark.parametrize("asked", [(0, 0, 0), (0.0, float("nan"), 1.0), (0, 0, float("inf"))])
def test_a_direction_without_length_is_refused(asked):
    body = shapes.box()
    with pytest.raises(InputError, match=r"draw: found .* a direction"):
        draw_of(body.vertices_mm, body.faces, draw=asked)


def test_a_flat_stands_down():
    # A frustum on its narrow end: the wide flat is turned to the board.
    body = shapes.frustum(10, 20, 30)
    found = draw_of(body.vertices_mm, body.faces, n_directions=24)
    assert found.direction == pytest.approx((0, 0, -1), abs=1e-6)


def test_a_sealed_void_holds_no_silicone():
    # Nothing gets in, so nothing is held: the box is free along its faces.
    body = bodies.hollow_box()
    best = draw_of(body.vertices_mm, body.faces, n_directions=24).candidates[0]
    assert best.n_pockets == best.n_bridges == 0
    assert best.locked_mm3 == pytest.approx(0, abs=1)
    assert best.trapped_mm3 == pytest.approx(0, abs=1)
    assert str(best.why).startswith("there is no undercut")


def test_a_chain_is_held_whichever_way():
    body = bodies.chain()
    found = draw_of(body.vertices_mm, body.faces, n_directions=24)
    assert min(candidate.locked_mm3 for candidate in found.candidates) > 50
    assert found.candidates[0].locked_mm3 > tie_volume_mm3(
        shapes.part_of(body.vertices_mm, body.faces)
    )


# -- what is tried ----------------------------------------------------------------


@pytest.mark.parametrize("count", [16, 128, 400])
def test_lattice_leaves_no_large_hole(count):
    points = ways.lattice(count=count)
    assert points.shape == (count, 3)
    assert np.linalg.norm(points, axis=1) == pytest.approx(np.ones(count))
    assert (points[:, 2] > 0).all()
    # Even points on a half sphere have 2 pi / count each; the radius of that
    # cap is sqrt(2 / count). No direction is farther from one than 1.6 of it.
    tries = bodies.directions(2000, seed=4)
    nearest = np.abs(tries @ points.T).max(axis=1)
    assert np.arccos(nearest.min()) < 1.6 * np.sqrt(2 / count)


def test_own_directions_hold_the_faces_and_the_way_along_them():
    body = shapes.dovetail()
    turn = shapes.rotation(6)
    own, names = ways.own_directions(shapes.part_of(body.vertices_mm @ turn.T, body.faces))
    assert len(own) == len(names)
    assert names[:3] == ["file_x", "file_y", "file_z"]
    for axis in turn.T:  # the block's faces
        assert np.abs(own @ axis).max() > np.cos(np.radians(0.1))
    # No direction twice, in either sense.
    likeness = np.abs(own @ own.T) - np.eye(len(own))
    assert likeness.max() < np.cos(np.radians(0.4))


def test_main_normals_are_those_of_the_largest_faces():
    body = shapes.box(40, 30, 20)
    turn = shapes.rotation(2)
    normals = ways.main_normals(shapes.part_of(body.vertices_mm @ turn.T, body.faces), count=3)
    # Largest first: z (40 x 30), y (40 x 20), x (30 x 20).
    expected = np.abs(normals @ turn)
    assert np.argmax(expected, axis=1).tolist() == [2, 1, 0]
    assert expected.max(axis=1) == pytest.approx([1, 1, 1])


# -- long and thin, and by the habits of the trade -----------------------------------

THIN_BODIES = {
    "strip": (600.0, 25.0, 2.0),
    "sheet": (400.0, 300.0, 1.5),
    "foil": (120.0, 80.0, 0.45),
    "rod": (900.0, 6.0, 6.0),
}


@pytest.mark.parametrize("seed", [None, 3])
@pytest.mark.parametrize("name", THIN_BODIES)
def test_a_thin_part_lies_flat(name, seed):
    size = THIN_BODIES[name]
    body = shapes.box(*size)
    turn = shapes.rotation(seed) if seed else np.eye(3)
    found = draw_of(body.vertices_mm @ turn.T, body.faces, n_directions=64)
    # Its thinnest side along the draw; of a square rod either of both.
    along = np.abs(turn.T @ np.array(found.direction))
    thinnest = np.flatnonzero(np.isclose(size, min(size)))
    assert along[thinnest].max() > np.cos(np.radians(0.5))
    best = found.candidates[0]
    assert best.mould_height_mm == pytest.approx(min(size) + 24, abs=0.05)
    assert best.trapped_mm3 == pytest.approx(0, abs=1e-3 * body.volume_mm3)
    assert best.is_stable


@pytest.mark.parametrize("draw", [(1, 0, 0), (0, 1, 0), (0, 0, 1)])
@pytest.mark.parametrize("name", THIN_BODIES)
def test_a_thin_part_is_measured_along_any_axis(name, draw):
    size = np.array(THIN_BODIES[name])
    body = shapes.box(*size)
    (only,) = draw_of(body.vertices_mm, body.faces, draw=draw).candidates
    across = size[np.array(draw) == 0]
    # Twice the sides of its shadow; its rounded corners cut off up to a column each, of
    # which the narrow side is three at the least.
    assert only.seam_mm == pytest.approx(2 * across.sum(), rel=0.01, abs=1.4 * across.min())


def test_a_wire_that_columns_cannot_show_is_refused():
    # 0.1 mm over a metre: the answer would be a guess.
    body = shapes.torus(500.0, 0.05, 128, 8)
    with pytest.raises(GeometryError, match="no outline"):
        draw_of(body.vertices_mm, body.faces, n_directions=24)


def test_a_tile_on_its_edge_tips():
    body = shapes.box(120, 120, 4)
    on_edge, flat = (
        draw_of(body.vertices_mm, body.faces, draw=way).candidates[0]
        for way in ((1, 0, 0), (0, 0, 1))
    )
    # The middle stands 60 mm over an edge of 4: it goes over at 2 / 60, 1.9 degrees.
    assert flat.is_stable and not on_edge.is_stable
    assert on_edge.cost_min > flat.cost_min + Job().draw_weights.unstable_min


def test_a_moulding_lies_on_its_back():
    # Half a rod of 30 mm: on its flat the line runs along two edges, on its side along
    # an edge and the crown of its face, as high a mould and as much silicone.
    rod = bodies.solid_of(*shapes.frustum(15, 15, 200, 64)[:2])
    half = bodies.arrays(rod ^ bodies.cuboid((0, 30), (-30, 30), (-1, 201)))
    found = draw_of(*half, n_directions=64)
    assert apart_deg(found.direction, (1, 0, 0)) < 0.5
    assert found.candidates[0].seam_on_face_mm < 5
    (beside,) = draw_of(*half, draw=(0, 1, 0)).candidates
    # The crown: one of the two long sides of the outline.
    assert beside.seam_on_face_mm == pytest.approx(200, rel=0.05)


def test_small_pockets_cost_in_proportion():
    # Two blocks that differ by the size of a blind bore across the draw.
    large, small = (bodies.bored_block(depth_mm=25.0, bore_mm=(wide, wide)) for wide in (4.0, 1.4))
    costs = []
    for body in (large, small):
        (only,) = draw_of(body.vertices_mm, body.faces, draw=(0, 0, 1)).candidates
        assert (only.n_pockets, only.n_bridges) == (1, 0)
        weights = Job().draw_weights
        rest_min = weights.trapped_min_per_ml * only.locked_mm3 / 1000
        rest_min += weights.depth_min_per_mm * only.depth_mm
        costs.append(only.cost_min - rest_min)
    # 400 mm3 count whole; of 49 mm3 the tie of 12 (0.05 % of 24 ml) is taken off and the
    # rest is 37 / 120 of a pocket.
    saved_min = costs[0] - costs[1]
    assert saved_min == pytest.approx(Job().draw_weights.pocket_min * (1 - 37 / 120), rel=0.15)


@pytest.mark.parametrize("seed", [0, *(pytest.param(k, marks=pytest.mark.long) for k in (1, 2))])
def test_no_direction_of_many_costs_much_less(seed):
    # An uneven body with nothing of the draw's about it, against 150 others measured alike.
    body = shapes.sphere(20, 24)
    rng = np.random.default_rng(seed)
    unit = body.vertices_mm / 20
    size = np.ones(len(unit))
    for centre in bodies.directions(7, seed=seed):
        size += rng.uniform(-0.3, 0.6) * np.exp(-rng.uniform(3, 10) * (1 - unit @ centre))
    part = shapes.part_of(body.vertices_mm * size[:, None] * (1, 0.8, 0.6), body.faces)
    found = find_draw(part, Job())
    others = [
        find_draw(part, Job(draw=tuple(way))).candidates[0].cost_min
        for way in ways.lattice(count=150)
    ]
    # The cost wavers by some per cent from one direction to the next.
    assert found.candidates[0].cost_min < 1.03 * min(others)


def test_the_walk_on_the_mesh_reaches_a_valley_that_the_stand_in_hides():
    # Of 600 directions walked downhill on this mesh itself the best ended here.
    rng = np.random.default_rng(1)
    ball = trimesh.creation.icosphere(subdivisions=4)
    size = np.ones(len(ball.vertices))
    for _ in range(7):
        centre = rng.normal(size=3)
        centre /= np.linalg.norm(centre)
        height = 0.5 * rng.uniform(-1, 1.6)
        size += height * np.exp(-(1 - ball.vertices @ centre) * rng.uniform(3, 12))
    part = shapes.part_of(ball.vertices * size[:, None] * (40, 32, 24), ball.faces)
    (there,) = find_draw(part, Job(draw=(0.942, 0.145, 0.303))).candidates
    # The cost wavers by some per cent from one direction to the next; the stand-in's own
    # valley costs a quarter more.
    assert find_draw(part, Job()).candidates[0].cost_min < 1.05 * there.cost_min


def test_search_turns_are_as_tight_as_the_frames():
    for seed in range(4):
        points = shapes.box(200, 30, 10).vertices_mm @ shapes.rotation(seed).T
        directions = bodies.directions(12, seed=seed)
        for direction, turn in zip(
            directions, frames.search_turns(directions, points, wall_mm=0.0), strict=True
        ):
            assert turn @ turn.T == pytest.approx(np.eye(3), abs=1e-12)
            assert np.linalg.det(turn) == pytest.approx(1)
            assert turn[2] == pytest.approx(direction)
            x, y = np.ptp(points @ turn[:2].T, axis=0)
            # The least rectangle, by shapely.
            flat = shapely.MultiPoint(points @ turn[:2].T)
            least = shapely.minimum_rotated_rectangle(flat).area
            # Half a degree off, a side of 200 mm adds 0.25 degrees of itself to the other.
            assert x * y < least + 200 * 200 * np.radians(0.25) * 2
