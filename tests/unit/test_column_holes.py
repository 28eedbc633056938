"""Holes that cannot change what a column's crossings say are not asked about.

The bound on rounding is assumed.
"""

import igl
import numpy as np
import pytest
import shapes
import trimesh

from castplan.columns import field, holes, winding
from castplan.part.load import part_from_arrays

# Judge: libigl's exact winding number, a sum over every facet.


def open_part(name, *, n_holes, radius_mm, seed):
    body = shapes.ALL[name]()
    vertices, faces = body.vertices_mm, body.faces
    while len(faces) < 4000:
        vertices, faces = trimesh.remesh.subdivide(vertices, faces)
    middle = vertices[faces].mean(axis=1)
    rng = np.random.default_rng(seed)
    chosen = rng.choice(len(faces), n_holes, replace=False)
    away = np.linalg.norm(middle[:, None] - middle[chosen], axis=2).min(axis=1)
    return part_from_arrays(shapes.rotated(vertices, seed), faces[away > radius_mm], name=name)


def points_about(part, n, seed):
    low, high = part.vertices_mm.min(axis=0), part.vertices_mm.max(axis=0)
    rng = np.random.default_rng(seed)
    # Half of them near the holes, where it matters.
    near = part.vertices_mm[rng.choice(part.cap_faces.ravel(), n // 2)]
    near = near + rng.normal(0, 0.03 * float((high - low).max()), near.shape)
    return np.concatenate((rng.uniform(low, high, (n // 2, 3)), near))


def exact(part, faces, points):
    return igl.winding_number(
        np.array(part.vertices_mm), np.array(faces, dtype=np.int64), np.array(points)
    )


CASES = [("lipped_cup", 1, 6.0), ("t_slot", 6, 3.0), ("torus", 40, 2.0), ("bell", 12, 2.0)]


@pytest.mark.parametrize("seed", [1, 2])
@pytest.mark.parametrize(("name", "n_holes", "radius_mm"), CASES)
def test_the_count_decides_only_where_it_is_right(name, n_holes, radius_mm, seed):
    part = open_part(name, n_holes=n_holes, radius_mm=radius_mm, seed=seed)
    points = points_about(part, 4000, seed)
    closed = exact(part, np.concatenate((part.faces, part.cap_faces)), points)
    count = np.rint(closed).astype(np.int64)
    # Not on the surface itself, where the exact sum is a half too.
    clear = np.abs(closed - count) < 1e-6
    unsure = holes.find_unsure(part.vertices_mm, part.cap_faces, points, count)
    is_inside = exact(part, part.faces, points) > 0.5
    sure = clear & ~unsure
    np.testing.assert_array_equal(is_inside[sure], count[sure] > 0)
    # And it is worth its while, though half the points lie beside holes.
    assert sure.sum() > 0.25 * clear.sum()


@pytest.mark.parametrize(("name", "n_holes", "radius_mm"), CASES)
def test_a_rough_look_first_decides_as_the_exact_sum_does(name, n_holes, radius_mm):
    part = open_part(name, n_holes=n_holes, radius_mm=radius_mm, seed=3)
    points = points_about(part, 4000, 3)
    truth = exact(part, part.faces, points)
    # The fast sum is off by 0.005 at most (see `winding`); nearer nobody can tell.
    told = np.abs(truth - 0.5) > 0.01
    found = winding.find_inside(part.vertices_mm, part.faces, points)
    np.testing.assert_array_equal(found[told], truth[told] > 0.5)


def test_a_closed_column_is_asked_about_only_near_holes(monkeypatch):
    part = open_part("torus", n_holes=40, radius_mm=2.0, seed=1)
    asked = []

    def count(vertices_mm, faces, points_mm):
        asked.append(len(points_mm))
        return winding.find_inside(vertices_mm, faces, points_mm)

    monkeypatch.setattr(field, "find_inside", count)
    pitch_mm = max(part.check.extent_mm) / 256
    seen = field.sample(part.vertices_mm, part.faces, part.cap_faces, np.eye(3), pitch_mm=pitch_mm)
    assert seen.n_decided > 500
    # One call, and fewer questions than a third of the columns that holes touch.
    assert len(asked) <= 1 and sum(asked) < 0.33 * seen.n_decided
    monkeypatch.setattr(field, "find_unsure", lambda *given: np.ones(len(given[2]), dtype=bool))
    every = field.sample(part.vertices_mm, part.faces, part.cap_faces, np.eye(3), pitch_mm=pitch_mm)
    np.testing.assert_array_equal(every.bottom_mm, seen.bottom_mm)
    np.testing.assert_array_equal(every.top_mm, seen.top_mm)


def test_a_rim_that_runs_back_along_itself_makes_no_column_doubtful():
    # A disc whose lid has 32 sides where the wall has 512: slivers 0.04 to 0.1 mm wide.
    fine, coarse, r, h = 512, 32, 20.0, 10.0
    turn = 2 * np.pi * np.arange(fine) / fine
    ring = np.column_stack((r * np.cos(turn), r * np.sin(turn)))
    vertices = np.concatenate(
        (
            np.column_stack((ring, np.zeros(fine))),
            np.column_stack((ring, np.full(fine, h))),
            [[0.0, 0.0, 0.0], [0.0, 0.0, h]],
        )
    )
    k = np.arange(fine)
    after = (k + 1) % fine
    corner = fine + np.arange(0, fine, fine // coarse)
    faces = np.concatenate(
        (
            np.column_stack((k, after, after + fine)),
            np.column_stack((k, after + fine, k + fine)),
            np.column_stack((after, k, np.full(fine, 2 * fine))),
            np.column_stack((corner, np.roll(corner, -1), np.full(coarse, 2 * fine + 1))),
        )
    )
    part = part_from_arrays(vertices, faces, name="lid")
    seen = field.sample(part.vertices_mm, part.faces, part.cap_faces, np.eye(3), pitch_mm=0.1)
    n_columns = np.count_nonzero(np.diff(seen.first))
    # The slivers' share of the lid's area: 1 - sinc(2 pi / 32) = 0.64 %.
    assert seen.n_decided < 0.01 * n_columns
    # Closed form of the polygon: n r^2 sin(2 pi / n) / 2; sampled to 3e-3.
    volume_mm3 = 0.5 * fine * r**2 * np.sin(2 * np.pi / fine) * h
    assert seen.volume_mm3 == pytest.approx(volume_mm3, rel=3e-3)
