"""Facets that face the wrong way are turned, and it is told.

Volumes are closed forms: cubes of 40, 30 and 10 mm.
"""

import itertools

import igl
import numpy as np
import pytest
import shapes

ROUNDING = 1e-12  # a few thousand float64 sums


def joined(*bodies):
    """Vertices and faces of several (vertices, faces), kept apart."""
    vertices, faces, n = [], [], 0
    for points, triangles in bodies:
        vertices.append(points)
        faces.append(np.asarray(triangles) + n)
        n += len(points)
    return np.concatenate(vertices), np.concatenate(faces)


def at(body, x_mm=0.0, y_mm=0.0, z_mm=0.0):
    return body.vertices_mm + np.array([x_mm, y_mm, z_mm]), body.faces


def inside_out(pair):
    return pair[0], pair[1][:, ::-1]


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("name", ["torus", "t_slot", "bell"])
def test_flipped_patches_are_turned_back_exactly(name, seed):
    body = shapes.ALL[name]()
    rng = np.random.default_rng(seed)
    is_flipped = rng.random(len(body.faces)) < 0.3
    # Whichever side shows more area stays: the flipped share is under a half.
    faces = np.where(is_flipped[:, None], body.faces[:, ::-1], body.faces)
    part = shapes.part_of(body.vertices_mm, faces)
    assert part.check.volume_mm3 == pytest.approx(body.volume_mm3, rel=ROUNDING)
    assert part.check.is_watertight and part.check.is_winding_consistent
    assert str(part.check.changes[0]).startswith("turned ")
    assert not part.check.is_inverted


def test_a_body_inside_out_beside_a_sound_one_is_turned():
    box, ball = shapes.box(20, 20, 20), shapes.sphere(10.0, 32)
    part = shapes.part_of(*joined(at(box), inside_out(at(ball, 50, 0, 0))))
    assert part.check.volume_mm3 == pytest.approx(8000 + ball.volume_mm3, rel=ROUNDING)
    assert tuple(map(str, part.check.changes)) == ("turned 1 of the bodies, which was inside out",)
    assert not part.check.is_inverted


def test_all_inside_out_is_told_as_one():
    box, ball = shapes.box(20, 20, 20), shapes.sphere(10.0, 32)
    part = shapes.part_of(*joined(inside_out(at(box)), inside_out(at(ball, 50, 0, 0))))
    assert part.check.is_inverted
    assert tuple(map(str, part.check.changes)) == ("turned the whole mesh, which was inside out",)


def test_a_void_stays_a_void_and_turns_with_its_body():
    outer, inner = shapes.box(40, 40, 40), shapes.box(10, 10, 10)
    for turn in (lambda pair: pair, inside_out):
        part = shapes.part_of(*joined(turn(at(outer)), turn(inside_out(at(inner)))))
        assert part.check.volume_mm3 == pytest.approx(63000.0, rel=ROUNDING)
        assert part.check.n_inner_shells == 0


def test_a_shell_hidden_in_solid_adds_nothing():
    outer, inner = shapes.box(40, 40, 40), shapes.sphere(8.0, 32)
    part = shapes.part_of(*joined(at(outer), at(inner, 5, 5, 5)))
    assert part.check.n_inner_shells == 1
    assert part.check.volume_mm3 == pytest.approx(64000.0, rel=ROUNDING)


def test_an_island_in_a_void_counts_again():
    outer, void, island = shapes.box(40, 40, 40), shapes.box(30, 30, 30), shapes.box(10, 10, 10)
    part = shapes.part_of(*joined(at(outer), inside_out(at(void)), at(island)))
    assert part.check.n_inner_shells == 0
    assert part.check.volume_mm3 == pytest.approx(64000 - 27000 + 1000, rel=ROUNDING)


@pytest.mark.parametrize("signs", list(itertools.product((1, -1), repeat=3)))
@pytest.mark.parametrize("is_inverted", [False, True])
def test_boxes_nested_four_deep_count_as_the_winding_number_has_them(signs, is_inverted):
    sides = (40.0, 30.0, 20.0, 10.0)
    pairs = [
        at(shapes.box(side, side, side))
        if sign > 0
        else inside_out(at(shapes.box(side, side, side)))
        for side, sign in zip(sides, (1, *signs), strict=True)
    ]
    vertices, faces = joined(*pairs)
    # Judge: libigl's exact winding number between each box and the next.
    between = np.array([[0.0, 0.0, 0.5 * side - 2.0] for side in sides])
    winding = igl.winding_number(vertices, faces.astype(np.int64), between)
    shells = np.array(sides) ** 3 - np.array([*sides[1:], 0.0]) ** 3
    part = shapes.part_of(vertices, faces[:, ::-1] if is_inverted else faces)
    assert part.check.volume_mm3 == pytest.approx(shells[winding > 0.5].sum(), rel=ROUNDING)
    is_solid = np.concatenate(([False], winding > 0.5))
    assert part.check.n_inner_shells == np.count_nonzero(is_solid[1:] == is_solid[:-1])


def test_a_band_with_one_side_stays_in_doubt():
    # A Moebius band has no consistent winding; it must be told, not turned.
    n = 40
    turn = np.linspace(0, 2 * np.pi, n, endpoint=False)
    radial = np.column_stack((np.cos(turn), np.sin(turn), np.zeros(n)))
    half = np.cos(turn / 2)[:, None] * radial + np.sin(turn / 2)[:, None] * np.array([0, 0, 1.0])
    vertices = np.concatenate((20 * radial + 5 * half, 20 * radial - 5 * half))
    faces = []
    for k in range(n):
        a, b, c, d = k, (k + 1) % n, n + (k + 1) % n, n + k
        if k == n - 1:  # the twist
            b, c = c, b
        faces += [(a, b, c), (a, c, d)]
    part = shapes.part_of(vertices, np.array(faces))
    assert not part.check.is_winding_consistent
    assert part.check.n_holes > 0
