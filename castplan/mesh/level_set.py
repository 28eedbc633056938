"""A solid made anew from any surface: level set of its winding number and distance."""

import manifold3d
import numpy as np

from castplan.columns.winding import winding_numbers

# Cells along the longest side: 2 million points in a cube.
CELLS_ACROSS = 128
_REACH = 3.0  # cells from the surface within which distances are needed


def remake(vertices_mm: np.ndarray, faces: np.ndarray) -> tuple[manifold3d.Manifold, float]:
    """The region whose winding number is above a half, as a manifold.

    The signed distance is taken on a grid (sign from the winding number) and
    its zero level by marching tetrahedra (manifold3d), so that the surface
    passes smoothly between grid points.

    Parameters
    ----------
    vertices_mm : (n, 3) float64
    faces : (m, 3) int

    Returns
    -------
    solid : manifold3d.Manifold
    cell_mm : float
    """
    import igl

    low, high = vertices_mm.min(axis=0), vertices_mm.max(axis=0)
    cell_mm = float((high - low).max()) / CELLS_ACROSS
    shape = np.ceil((high - low) / cell_mm).astype(int) + 5
    origin = low - 2 * cell_mm
    points = origin + cell_mm * np.stack(
        np.meshgrid(*[np.arange(n) for n in shape], indexing="ij"), axis=-1
    ).reshape(-1, 3)
    reach_mm = _REACH * cell_mm
    distance, *_ = igl.signed_distance(
        points,
        np.array(vertices_mm, dtype=np.float64),
        np.array(faces, dtype=np.int64),
        igl.SIGNED_DISTANCE_TYPE_UNSIGNED,
        0.0,
        reach_mm,
    )
    distance = np.nan_to_num(np.abs(distance), nan=reach_mm)
    is_inside = winding_numbers(vertices_mm, faces, points) > 0.5
    values = np.where(is_inside, distance, -distance)
    solid = manifold3d.Manifold.level_set(
        _interpolator(values, shape, origin, cell_mm),
        [*(low - 1.5 * cell_mm), *(high + 1.5 * cell_mm)],
        1.5 * cell_mm,
    )
    return solid, cell_mm


def _interpolator(values, shape, origin, cell_mm):
    """Trilinear interpolation, in plain numbers: called a million times, one by one."""
    n_x, n_y, n_z = (int(n) for n in shape)
    x0, y0, z0 = (float(v) for v in origin)
    step_y, step_x = n_z, n_y * n_z
    flat = values.tolist()

    def at(x, y, z):
        a, b, c = (x - x0) / cell_mm, (y - y0) / cell_mm, (z - z0) / cell_mm
        i, j, k = int(a), int(b), int(c)
        if not (0 <= i < n_x - 1 and 0 <= j < n_y - 1 and 0 <= k < n_z - 1):
            return -cell_mm
        a, b, c = a - i, b - j, c - k
        q = i * step_x + j * step_y + k
        r = q + step_x
        near = (flat[q] * (1 - c) + flat[q + 1] * c) * (1 - b) + (
            flat[q + step_y] * (1 - c) + flat[q + step_y + 1] * c
        ) * b
        far = (flat[r] * (1 - c) + flat[r + 1] * c) * (1 - b) + (
            flat[r + step_y] * (1 - c) + flat[r + step_y + 1] * c
        ) * b
        return near * (1 - a) + far * a

    return at
