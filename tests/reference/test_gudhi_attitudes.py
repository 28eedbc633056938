"""Ten bodies at six attitudes each: high points against GUDHI's cubical complex.

The judge is filled voxel by voxel with the solid angle that the mesh fills
seen from each voxel's middle (the generalised winding number, summed facet by
facet by Van Oosterom and Strackee's formula), so it shares neither the scan
conversion nor the tree; only the lattice of columns is the same, because a
high point between columns is seen by neither.
"""

import bodies
import gudhi
import numpy as np
import pytest
import shapes

from castplan.columns.peaks import find_peaks

N_ACROSS = 20  # columns along the longest side
N_ALONG = 3  # voxels to a pitch along up

# Bars and walls are four columns thick and more: voxels of a thinner one, leaning,
# would part where the body does not.
BODIES = {
    "two_towers": shapes.two_towers,
    "staircase": shapes.staircase,
    "hook": lambda: shapes.hook(60, 50, 30, 14, 24),
    "tray": shapes.tray,
    "t_slot": shapes.t_slot,
    "dovetail": shapes.dovetail,
    "bell": lambda: shapes.bell(n_sides=8),
    "lipped_cup": lambda: shapes.lipped_cup(n_sides=8),
    "posts": lambda: bodies.posts((8, 14, 11, 20), 10.0),
    "u_rod": bodies.u_rod,
    "slot_block": bodies.slot_block,
    "torus": lambda: shapes.torus(n_ring=12, n_tube=6),
}
FRAMES = {
    "up": np.eye(3),
    "down": np.diag([1.0, -1.0, -1.0]),
    "x": bodies.ALONG["x"],
    "y": bodies.ALONG["y"],
    "a": shapes.rotation(11),
    "b": shapes.rotation(12),
}


def is_inside(vertices, faces, points):
    """Points (n, 3) inside a closed surface by the solid angle of all its facets."""
    total = np.zeros(len(points))
    for a, b, c in vertices[faces]:
        u, v, w = a - points, b - points, c - points
        lu, lv, lw = (np.linalg.norm(side, axis=1) for side in (u, v, w))
        spat = np.einsum("ij,ij->i", u, np.cross(v, w))
        below = (
            lu * lv * lw
            + np.einsum("ij,ij->i", u, v) * lw
            + np.einsum("ij,ij->i", v, w) * lu
            + np.einsum("ij,ij->i", w, u) * lv
        )
        total += 2 * np.arctan2(spat, below)
    return total > 2 * np.pi


def voxel_bars(vertices, faces, field):
    """Rises of the voxels' high points, on the field's own columns."""
    step = field.pitch_mm / N_ALONG
    # Off the body's own levels by an odd share, so that no voxel lies on a face.
    z = np.arange(field.low_mm[2] - 0.37 * step, field.high_mm[2] + step, step)
    xy = field.centre_mm(np.arange(field.n_x * field.n_y))
    grid = np.concatenate([np.repeat(xy, z.size, axis=0), np.tile(z, len(xy))[:, None]], axis=1)
    solid = is_inside(vertices, faces, grid @ field.rotation)
    shape = (field.n_y, field.n_x, z.size)
    height = np.where(solid, -grid[:, 2], np.inf).reshape(shape)
    # Voxels as the complex's vertices: joined across faces, as columns are.
    cubes = gudhi.CubicalComplex(vertices=height)
    cubes.compute_persistence(min_persistence=0.0)
    born, died = cubes.persistence_intervals_in_dimension(0).T
    died = np.where(np.isfinite(died), died, -grid[:, 2][solid].min())
    bars = (died - born)[np.isfinite(born)]
    return np.sort(bars[bars > 1e-9])[::-1]


@pytest.mark.parametrize(
    "attitude",
    [pytest.param(one, marks=() if one in ("up", "b") else pytest.mark.long) for one in FRAMES],
)
@pytest.mark.parametrize("name", BODIES)
def test_high_points_are_gudhis_within_a_pitch(name, attitude):
    body, rotation = BODIES[name](), FRAMES[attitude]
    pitch_mm = float(np.ptp(body.vertices_mm, axis=0).max()) / N_ACROSS
    field = bodies.look(body.vertices_mm, body.faces, rotation, pitch_mm=pitch_mm)
    found = find_peaks(field).rise_mm
    expected = voxel_bars(body.vertices_mm, body.faces, field)
    n = max(len(found), len(expected))
    found = np.pad(found, (0, n - len(found)))
    expected = np.pad(expected, (0, n - len(expected)))
    # Tops and saddles are cut to thirds of a pitch, each within a third.
    assert np.abs(found - expected).max() < pitch_mm
    # And as many of them above a threshold that no cutting reaches.
    threshold_mm = 2 * pitch_mm
    near = np.abs(expected - threshold_mm) < pitch_mm
    if not near.any():
        assert (found > threshold_mm).sum() == (expected > threshold_mm).sum()
