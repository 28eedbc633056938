"""High points against GUDHI's 0-dimensional persistence.

Twice: exactly, on the graph of overlapping intervals; and independently of
any column, on voxels filled from the formula of each solid.
"""

import math

import bodies
import gudhi
import manifold3d
import numpy as np
import pytest
import shapes

from castplan.columns.peaks import find_peaks

# -- the same graph, exactly -------------------------------------------------------


def gudhi_bars(field):
    """Heights and saddles of a field's high points by GUDHI's simplex tree, sorted."""
    tree = gudhi.SimplexTree()
    top = field.top_mm
    edges = bodies.joins(field)
    # Superlevel sets: filtration by height negated.
    tree.insert_batch(np.arange(top.size)[None].astype(np.int32), -top)
    if len(edges):
        lower = np.minimum(top[edges[:, 0]], top[edges[:, 1]])
        tree.insert_batch(edges.T.astype(np.int32), -lower)
    tree.compute_persistence(min_persistence=0.0, persistence_dim_max=True)
    born, died = tree.persistence_intervals_in_dimension(0).T
    finite = np.isfinite(died)
    return sorted(zip(-born[finite], -died[finite], strict=True)), sorted(-born[~finite])


def assert_same_bars(field):
    found = find_peaks(field)
    is_root = found.parent < 0
    pairs, roots = gudhi_bars(field)
    rows = zip(found.top_mm[~is_root], found.saddle_mm[~is_root], strict=True)
    assert sorted(rows) == pairs
    assert sorted(found.top_mm[is_root]) == roots
    return len(pairs)


@pytest.mark.parametrize("is_whole", [True, False])
def test_random_fields_have_gudhis_bars(is_whole):
    n_bars = [
        assert_same_bars(bodies.random_field(seed=seed, n_x=12, n_y=11, is_whole=is_whole))
        for seed in range(20)
    ]
    assert sum(n_bars) > 200


@pytest.mark.parametrize("name", ["torus", "lipped_cup", "two_towers", "bell"])
def test_sampled_bodies_have_gudhis_bars(name):
    body = shapes.ALL[name]()
    pitch_mm = float(np.ptp(body.vertices_mm, axis=0).max()) / 48
    n_bars = sum(
        assert_same_bars(
            bodies.look(body.vertices_mm, body.faces, shapes.rotation(seed), pitch_mm=pitch_mm)
        )
        for seed in (1, 2)
    )
    assert n_bars > 0  # at least the noise of the lattice along tilted edges


# -- voxels from formulas ----------------------------------------------------------


def in_boxes(*ranges):
    """Membership in a union of boxes ((x0, x1), (y0, y1), (z0, z1))."""

    def inside(x, y, z):
        out = np.zeros(x.shape, bool)
        for (x0, x1), (y0, y1), (z0, z1) in ranges:
            out |= (x0 < x) & (x < x1) & (y0 < y) & (y < y1) & (z0 < z) & (z < z1)
        return out

    return inside


def two_towers():
    body = shapes.two_towers((60, 30, 10), 16, (20, 35))
    inside = in_boxes(
        ((-30, 30), (-15, 15), (0, 10)),
        ((-23, -7), (-8, 8), (0, 30)),
        ((7, 23), (-8, 8), (0, 45)),
    )
    return body.vertices_mm, body.faces, inside


def staircase():
    body = shapes.staircase(4, 10, 6, 30)
    steps = [((10 * k, 10 * k + 10), (-15, 15), (0, 6 * k + 6)) for k in range(4)]
    # Treads overlap a little, so that no voxel centre falls between.
    steps = [((x0 - 0.1, x1), y, z) for (x0, x1), y, z in steps]
    return body.vertices_mm, body.faces, in_boxes(*steps)


def posts():
    body = bodies.posts((8, 14, 11, 20), 6, 15, 5)
    columns = [
        ((15 * k + 4.5, 15 * k + 10.5), (4.5, 10.5), (0, 5 + h))
        for k, h in enumerate((8, 14, 11, 20))
    ]
    return body.vertices_mm, body.faces, in_boxes(((0, 60), (0, 15), (0, 5)), *columns)


def ring():
    body = shapes.torus(30, 10, 96, 48)

    def inside(x, y, z):
        return (np.hypot(x, y) - 30) ** 2 + z**2 < 100

    return body.vertices_mm, body.faces, inside


def u_tube():
    """A round rod bent to a U: half a ring below z = 0, arms to z = 12 and 24."""
    ring_body = shapes.torus(15, 5, 96, 48)
    # The ring's axis from z to y.
    half = bodies.solid_of(*bodies.moved(ring_body, (0, 0, 0), [[1, 0, 0], [0, 0, -1], [0, 1, 0]]))
    solid = half.trim_by_plane((0.0, 0.0, -1.0), 0.0)
    for x, height in ((-15.0, 12.0), (15.0, 24.0)):
        arm = manifold3d.Manifold.cylinder(height + 0.01, 5.0, -1, 48)
        solid += arm.translate((x, 0.0, -0.01))

    def inside(x, y, z):
        bend = (z <= 0) & ((np.hypot(x, z) - 15) ** 2 + y**2 < 25)
        arms = [
            (z >= 0) & (z < height) & ((x - x0) ** 2 + y**2 < 25)
            for x0, height in ((-15, 12), (15, 24))
        ]
        return bend | arms[0] | arms[1]

    return *bodies.arrays(solid), inside


def bell():
    """A cup standing on its mouth."""
    body = shapes.bell(20, 30, 14, 24, 64)

    def inside(x, y, z):
        r = np.hypot(x, y)
        return (r < 20) & (z > 0) & (z < 30) & ~((r < 14) & (z < 24))

    return body.vertices_mm, body.faces, inside


SOLIDS = (two_towers, staircase, posts, ring, u_tube, bell)
UP = np.eye(3)
DOWN = np.diag([1.0, -1.0, -1.0])
ON_EDGE = bodies.ALONG["x"]


def leaning(angle_deg, axis_xy):
    """A frame whose up leans from the body's z, about a level axis (Rodrigues' formula)."""
    x, y = np.asarray(axis_xy) / np.hypot(*axis_xy)
    cross = np.array([[0, 0, y], [0, 0, -x], [-y, x, 0]])
    turn = math.radians(angle_deg)
    return np.eye(3) + math.sin(turn) * cross + (1 - math.cos(turn)) * cross @ cross


# Voxels lose several of their own height along a ridge steeper than about 60
# degrees (they join across faces only), so the frames lean less than that.
N_VOXELS = 44  # along the longest side


def voxel_bars(inside, vertices_mm, rotation, voxel_mm):
    """Rises by GUDHI's cubical complex: persistence of height inside the solid.

    Voxels are the complex's vertices, so the complex joins voxels that share
    a face: the same neighbours as columns and overlaps have.
    """
    points = vertices_mm @ rotation.T
    low, high = points.min(axis=0) - voxel_mm, points.max(axis=0) + voxel_mm
    axes = [np.arange(a + 0.5 * voxel_mm, b, voxel_mm) for a, b in zip(low, high, strict=True)]
    grid = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1)
    solid = inside(*np.moveaxis(grid @ rotation, -1, 0))
    height = np.where(solid, -grid[..., 2], np.inf)
    cubes = gudhi.CubicalComplex(vertices=height)
    cubes.compute_persistence(min_persistence=0.0)
    born, died = cubes.persistence_intervals_in_dimension(0).T
    # The whole body's bar does not end by itself: it ends at its lowest point.
    died = np.where(np.isfinite(died), died, -grid[..., 2][solid].min())
    bars = (died - born)[np.isfinite(born)]
    return np.sort(bars[bars > 1e-9])[::-1]


def sampled_bars(vertices_mm, faces, rotation, pitch_mm):
    return find_peaks(bodies.look(vertices_mm, faces, rotation, pitch_mm=pitch_mm)).rise_mm


@pytest.mark.parametrize(
    "rotation",
    [UP, DOWN, ON_EDGE, leaning(12, (1, 2)), leaning(25, (-2, 1)), leaning(18, (3, -1))],
    ids=["up", "down", "on_edge", "leaning12", "leaning25", "leaning18"],
)
@pytest.mark.parametrize("maker", SOLIDS, ids=lambda maker: maker.__name__)
def test_rises_are_gudhis_on_voxels_of_the_formula(maker, rotation):
    vertices, faces, inside = maker()
    longest_mm = float(np.ptp(vertices, axis=0).max())
    voxel_mm, pitch_mm = longest_mm / N_VOXELS, longest_mm / 256
    expected = voxel_bars(inside, vertices, rotation, voxel_mm)
    found = sampled_bars(vertices, faces, rotation, pitch_mm)
    # Stability of persistence (Cohen-Steiner, Edelsbrunner and Harer, Discrete
    # Comput Geom 37 (2007) 103-120): bars move no more than the heights do. A
    # top or saddle is missed by a voxel across times the local slope; half a
    # voxel along; the pitch adds its own.
    allowed_mm = 1.5 * voxel_mm + 1.5 * pitch_mm
    n = max(len(expected), len(found))
    expected = np.pad(expected, (0, n - len(expected)))
    found = np.pad(found, (0, n - len(found)))
    assert np.abs(expected - found).max() < allowed_mm
    # And as many high points worth a vent.
    assert (found > 2 * allowed_mm).sum() == (expected > 2 * allowed_mm).sum()


@pytest.mark.parametrize(
    ("maker", "rotation", "rises_mm"),
    [
        (two_towers, UP, [45, 20]),
        (staircase, UP, [24]),
        (posts, UP, [25, 14, 11, 8]),
        (ring, UP, [20]),
        (ring, ON_EDGE, [80]),
        (u_tube, UP, [24 + 20, 12 + 10]),  # the arms meet on the bend, 10 below
        (bell, UP, [30]),
        (bell, DOWN, [30]),
    ],
)
def test_voxels_show_the_closed_form(maker, rotation, rises_mm):
    # GUDHI itself, and the membership formulas, against rises known by hand.
    vertices, _, inside = maker()
    voxel_mm = float(np.ptp(vertices, axis=0).max()) / N_VOXELS
    bars = voxel_bars(inside, vertices, rotation, voxel_mm)
    large = bars[bars > 3 * voxel_mm]
    assert large == pytest.approx(rises_mm, abs=1.5 * voxel_mm)
