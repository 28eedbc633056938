"""Outlines of masks and visible pieces of edges, against closed forms."""

import math

import bodies
import numpy as np
import pytest
import shapely
import shapes

from castplan.columns import contours, raster
from castplan.columns.field import grid_shape

WHERE = {"x0_mm": -10.0, "y0_mm": -5.0, "pitch_mm": 0.25}


def grid_points(n_x, n_y):
    """Centres of the cells of a mask laid out by WHERE: x and y (n_y, n_x)."""
    x = WHERE["x0_mm"] + (np.arange(n_x) + 0.5) * WHERE["pitch_mm"]
    y = WHERE["y0_mm"] + (np.arange(n_y) + 0.5) * WHERE["pitch_mm"]
    return np.meshgrid(x, y)


def test_ring_of_a_disc_keeps_area_and_place():
    x, y = grid_points(120, 100)
    (ring,) = contours.rings(np.hypot(x - 4, y - 6) < 8, **WHERE)
    shape = shapely.Polygon(ring)
    assert np.array_equal(ring[0], ring[-1])
    # Half a pitch of sampling and the simplification's 0.75 of one.
    away = np.abs(np.hypot(*(ring - (4, 6)).T) - 8)
    assert away.max() < 0.75 * WHERE["pitch_mm"]
    assert shape.area == pytest.approx(math.pi * 64, rel=0.01)
    assert (shape.centroid.x, shape.centroid.y) == pytest.approx((4, 6), abs=0.05)
    # Far fewer corners than the stairs of the mask have.
    assert len(ring) < 80


def test_ring_of_a_rectangle_is_the_rectangle():
    mask = np.zeros((40, 60), bool)
    mask[8:28, 12:52] = True  # 10 x 5 mm from (-7, -3)
    (ring,) = contours.rings(mask, **WHERE)
    shape = shapely.Polygon(ring)
    assert shape.bounds == pytest.approx((-7, -3, 3, 2), abs=1e-9)
    # Nowhere more than half a pitch off the rectangle, corners included.
    away = shapely.hausdorff_distance(shape.exterior, shapely.box(-7, -3, 3, 2).exterior)
    assert away <= 0.5 * WHERE["pitch_mm"] + 1e-9
    assert len(ring) <= 9


def test_holes_and_islands_are_rings_of_their_own_largest_first():
    x, y = grid_points(160, 120)
    r = np.hypot(x - 8, y - 8)
    mask = ((r < 10) & (r > 6)) | (r < 2)
    found = contours.rings(mask, **WHERE)
    radii = [math.sqrt(shapely.Polygon(ring).area / math.pi) for ring in found]
    assert radii == pytest.approx([10, 6, 2], abs=0.05)


def test_mask_up_to_the_border_still_closes():
    (ring,) = contours.rings(np.ones((4, 6), bool), **WHERE)
    assert shapely.Polygon(ring).bounds == pytest.approx((-10, -5, -8.5, -4), abs=1e-9)
    assert contours.rings(np.zeros((4, 6), bool), **WHERE) == []


# -- edges ------------------------------------------------------------------------


def edge_lengths(vertices, edges):
    return np.linalg.norm(vertices[edges[:, 0]] - vertices[edges[:, 1]], axis=1)


def test_creases_of_a_box_are_its_twelve_edges():
    body = shapes.box(40, 30, 20)
    edges = contours.crease_edges(shapes.rotated(body.vertices_mm, 2), body.faces, angle_deg=25.0)
    lengths = edge_lengths(body.vertices_mm, edges)
    assert sorted(lengths) == pytest.approx([20] * 4 + [30] * 4 + [40] * 4)
    assert len(np.unique(edges, axis=0)) == 12


@pytest.mark.parametrize(("n_sides", "n_upright"), [(12, 12), (64, 0)])
def test_creases_of_a_prism_follow_the_angle(n_sides, n_upright):
    # Sides of an n-gon turn by 360 / n: 30 degrees show at 25, 5.6 do not.
    body = shapes.frustum(10, 10, 15, n_sides)
    edges = contours.crease_edges(body.vertices_mm, body.faces, angle_deg=25.0)
    upright = np.abs(body.vertices_mm[edges[:, 0], 2] - body.vertices_mm[edges[:, 1], 2]) > 1
    assert upright.sum() == n_upright
    assert (~upright).sum() == 2 * n_sides


def test_a_ball_has_no_creases():
    body = shapes.sphere(10, 64)
    assert len(contours.crease_edges(body.vertices_mm, body.faces, angle_deg=25.0)) == 0


def seen_lengths(vertices, faces, *, pitch_mm):
    """Creases of a body seen from above, and the visible length of each piece."""
    low, high = raster.turned_bounds(vertices, np.eye(3))
    x0, y0, n_x, n_y = grid_shape(low, high, pitch_mm=pitch_mm)
    grid = raster.to_grid(vertices, np.eye(3), x0, y0, pitch_mm)
    start, z, _ = raster.find_crossings(grid, faces, n_x, n_y)
    full = np.diff(start) > 0
    height = np.full(n_x * n_y, -np.inf)
    height[full] = z[start[1:][full] - 1]
    edges = contours.crease_edges(vertices, faces, angle_deg=25.0)
    where = {"x0_mm": float(x0), "y0_mm": float(y0), "pitch_mm": pitch_mm}
    return contours.visible_pieces(vertices, edges, height.reshape(n_y, n_x), **where)


def near(pieces, x, y):
    """Length of the pieces inside a rectangle ((x0, x1), (y0, y1))."""
    inside = (
        (pieces[..., 0] > x[0])
        & (pieces[..., 0] < x[1])
        & (pieces[..., 1] > y[0])
        & (pieces[..., 1] < y[1])
    ).all(axis=1)
    return float(np.linalg.norm(pieces[inside, 1] - pieces[inside, 0], axis=1).sum())


def test_edges_under_a_plate_are_hidden_and_over_it_shown():
    plate = bodies.cuboid((0, 60), (0, 40), (20, 25))
    over = bodies.cuboid((10, 20), (10, 20), (25, 35))
    under = bodies.cuboid((40, 50), (20, 30), (0, 20))
    pieces = seen_lengths(*bodies.arrays(plate + over + under), pitch_mm=0.1)
    # The post's top and its foot on the plate coincide from above: once at least.
    # Steps of two cells: two tenths of a millimetre at either end of an edge.
    assert near(pieces, (9, 21), (9, 21)) >= 40 - 4 * 0.4
    assert near(pieces, (39, 51), (19, 31)) == 0
    outline = float(np.linalg.norm(pieces[:, 1] - pieces[:, 0], axis=1).sum())
    assert outline >= 2 * (60 + 40) - 8 * 0.4


def test_an_edge_half_hidden_is_cut_where_it_goes_under():
    # A bar runs under half of a roof: its upper edges end where the roof begins.
    bar = bodies.cuboid((0, 60), (18, 22), (0, 10))
    roof = bodies.cuboid((30, 60), (0, 40), (20, 25)) + bodies.cuboid((55, 60), (18, 22), (0, 25))
    pieces = seen_lengths(*bodies.arrays(bar + roof), pitch_mm=0.1)
    along = pieces[(np.abs(pieces[..., 1] - 20).max(axis=1) < 3)]
    along = along[np.abs(along[:, 1, 0] - along[:, 0, 0]) > 1]
    # Within two steps of two cells of the roof's edge.
    assert along[..., 0].max() == pytest.approx(30, abs=0.4)
    assert along[..., 0].min() == pytest.approx(0, abs=1e-9)
