"""The outline column by column: lengths, climb and edges of bodies known in closed form."""

import bodies
import bodies_split
import numpy as np
import pytest
import shapes

from castplan.columns.outline import EDGE_RADIUS_MM, read_outline, whole_fraction

DEPTH_MM = 0.2


def outline_of(vertices_mm, faces, rotation=bodies.ALONG["z"], *, pitch_mm=0.2):
    return read_outline(
        bodies.look(vertices_mm, faces, rotation, pitch_mm=pitch_mm), depth_mm=DEPTH_MM
    )


@pytest.mark.parametrize("seed", [None, 1, 2])
@pytest.mark.parametrize("name", ["box", "disc", "sphere"])
def test_length_is_that_of_the_outline(name, seed):
    body, length_mm = {
        "box": (shapes.box(40, 30, 20), 2 * (40 + 30)),
        "disc": (shapes.frustum(20, 20, 10, 96), 2 * np.pi * 20),
        "sphere": (shapes.sphere(18, 96), 2 * np.pi * 18),
    }[name]
    # Turned about the draw: the lattice falls otherwise.
    turn = np.eye(3)
    if seed:
        angle = np.random.default_rng(seed).uniform(0, np.pi)
        c, s = np.cos(angle), np.sin(angle)
        turn = np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]])
    found = outline_of(body.vertices_mm @ turn.T, body.faces)
    # Beside each of four corners the outward way is that of the corner: at 45 degrees four
    # columns count 0.7 of their sides. A round outline wavers by 1 %.
    assert found.length_mm == pytest.approx(length_mm, rel=0.01, abs=4 * 4 * 0.2)
    assert found.seen_fraction > 0.99
    assert found.lengths_mm.sum() == pytest.approx(found.length_mm)
    assert np.linalg.norm(found.outward, axis=1) == pytest.approx(np.ones(len(found.outward)))


def test_length_towards_a_way():
    body = shapes.box(40, 30, 20)
    found = outline_of(body.vertices_mm, body.faces)
    # One side of 30 mm looks along x; corners look 45 degrees off and count.
    assert found.length_towards_mm((1, 0)) == pytest.approx(30, abs=1.0)
    assert found.length_towards_mm((0, -1)) == pytest.approx(40, abs=1.0)


def test_holes_are_no_outline():
    plate, bored = shapes.box(40, 40, 5), bodies.cuboid((0, 40), (0, 40), (0, 5))
    bored -= bodies.cuboid((10, 30), (10, 30), (-1, 6))
    whole = outline_of(plate.vertices_mm, plate.faces)
    holed = outline_of(*bodies.arrays(bored))
    assert holed.length_mm == pytest.approx(whole.length_mm, rel=1e-6)


def test_a_saddle_climbs_and_a_box_does_not():
    box = shapes.box()
    assert outline_of(box.vertices_mm, box.faces).climb_mm == 0
    # The plate's middle surface rises and falls by 6 mm along its rim: a line within its
    # thickness of 3 mm climbs at least from 6 - 1.5 down to -6 + 1.5.
    body = bodies_split.saddle_plate(rise_mm=6.0, thick_mm=3.0)
    # The slope at the corners, 12 mm in 30, times the depth it is read at.
    found = outline_of(body.vertices_mm, body.faces, pitch_mm=0.3)
    assert found.climb_mm == pytest.approx(9.0, abs=0.6)


@pytest.mark.parametrize("pitch_mm", [0.1, 0.3, 0.6])
@pytest.mark.parametrize(("share", "is_face"), [(0.3, False), (5.0, True)])
def test_a_rounding_counts_by_its_radius(share, is_face, pitch_mm):
    # A rod lying across the draw has its outline where its side stands upright: along a
    # face if it is thick; a wire of no more than the radius that hides a line has none.
    radius_mm = share * EDGE_RADIUS_MM
    body = shapes.frustum(radius_mm, radius_mm, 60, 128)
    found = outline_of(body.vertices_mm, body.faces, bodies.ALONG["x"], pitch_mm=pitch_mm)
    along_mm = found.face_mm
    # Two sides of 60 mm; a column each end.
    assert along_mm == pytest.approx(120, rel=0.04) if is_face else along_mm < 6


def test_an_edge_hides_the_line():
    # The half of a thick rod, lying on its flat, has an edge all along it; drawn across
    # the flat's middle its back is a face.
    rod = bodies.solid_of(*shapes.frustum(15, 15, 60, 128)[:2])
    half = bodies.arrays(rod ^ bodies.cuboid((0, 20), (-20, 20), (-1, 61)))
    flat_down = outline_of(*half, bodies.ALONG["x"])
    on_edge = outline_of(*half, bodies.ALONG["y"])
    assert flat_down.face_mm < 1
    # One of its long sides runs along the edges of the flat, the other along its back.
    assert on_edge.face_mm == pytest.approx(60, rel=0.05)


def test_one_column_tells_nothing():
    # A fin of a tenth of a column, between two of them or on one.
    fin = bodies.arrays(bodies.cuboid((0, 40), (0, 0.02), (0, 10)))
    assert outline_of(*fin, pitch_mm=0.2).seen_fraction < 0.5


def test_what_is_in_pieces_is_told_by_its_bodies():
    one = shapes.box(40, 30, 20)
    two = bodies.joined(bodies.moved(one, (0, 0, 0)), bodies.moved(one, (60, 0, 0)))
    field = bodies.look(*two, pitch_mm=0.5)
    assert whole_fraction(field, n_bodies=2) == 1.0
    # Of two equal shadows one is half.
    assert whole_fraction(field, n_bodies=1) == pytest.approx(0.5, abs=0.01)
    # A wire thinner than columns shows as crumbs.
    wire = shapes.torus(50.0, 0.1, 96, 8)
    crumbs = bodies.look(wire.vertices_mm, wire.faces, pitch_mm=1.0)
    assert whole_fraction(crumbs, n_bodies=1) < 0.3
