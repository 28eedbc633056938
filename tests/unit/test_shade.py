"""How much light comes to a facet, against the form factors of plain bodies."""

import bodies
import numpy as np
import pytest
import shapes
from scipy.spatial import SphericalVoronoi

from castplan.geometry.refine import split_edges
from castplan.view import shade
from castplan.view.shade import open_fraction


def fine(mesh, times):
    points, faces = mesh.vertices_mm, mesh.faces
    for _ in range(times):
        points, faces, _ = split_edges(points, faces, np.ones((len(faces), 3), dtype=bool))
    corners = points[faces]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    return points, faces, corners.mean(axis=1), normal / np.linalg.norm(normal, axis=1)[:, None]


def test_all_light_comes_to_a_convex_body():
    points, faces, _, _ = fine(shapes.box(30, 20, 10), 3)
    assert open_fraction(points, faces) == pytest.approx(1.0)


@pytest.mark.parametrize("deep_mm", [10.0, 20.0, 40.0])
def test_the_floor_of_a_tray_gets_what_its_mouth_lets_in(deep_mm):
    # Mouth over floor, 50 x 30 mm each, light of one rectangle that reaches an equal one
    # over it (Howell, A Catalog of Radiation Heat Transfer Configuration Factors, C-11).
    body = shapes.tray(60.0, 40.0, deep_mm + 4.0, 5.0, 4.0)
    points, faces, centre, normal = fine(body, 4)
    x, y = 50.0 / deep_mm, 30.0 / deep_mm
    root_x, root_y = np.sqrt(1 + x * x), np.sqrt(1 + y * y)
    wanted = (2 / (np.pi * x * y)) * (
        np.log(root_x * root_y / np.sqrt(1 + x * x + y * y))
        + x * root_y * np.arctan(x / root_y)
        + y * root_x * np.arctan(y / root_x)
        - x * np.arctan(x)
        - y * np.arctan(y)
    )
    floor = (normal[:, 2] > 0.9) & (np.abs(centre[:, 2] - 4.0) < 0.01)
    corners = points[faces[floor]]
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    share = np.average(open_fraction(points, faces)[floor], weights=np.linalg.norm(cross, axis=1))
    # Of 25 lines nine lie over a floor at all: the four nearest to upright, each a twelfth
    # of its light, are let in whole or not at all at a spot; and it is read 1 mm over it.
    assert share == pytest.approx(wanted, abs=0.12)


def test_each_line_of_light_stands_for_the_part_of_the_sphere_next_to_it():
    ways = np.vstack([shade._WAYS, -shade._WAYS])
    unit = ways / np.linalg.norm(ways, axis=1)[:, None]
    cells = SphericalVoronoi(unit).calculate_areas() * len(ways) / (4 * np.pi)
    told = [shade._CELL[int(way @ way)] for way in ways]
    assert told == pytest.approx(cells, abs=1e-4)


def test_a_corner_is_darker_than_the_open_floor():
    points, faces, centre, normal = fine(bodies.posts((8.0, 14.0, 11.0, 20.0)), 3)
    share = open_fraction(points, faces)
    # Closed form: half of the light comes to the edge between two walls; the rest is assumed.
    assert share.min() < 0.75 and share.max() == pytest.approx(1.0)
    tops = normal[:, 2] > 0.9
    assert share[tops & (centre[:, 2] == centre[:, 2].max())] == pytest.approx(1.0)
