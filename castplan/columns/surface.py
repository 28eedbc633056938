"""A parting surface over the floor of a box: heights on a grid, bilinear."""

import numpy as np
from scipy import sparse
from scipy.sparse.linalg import spsolve

N_LONG = 97  # nodes along the longer side


def floor_nodes(low_mm, high_mm):
    """Nodes of a grid over the floor of a box: x (n_x,) and y (n_y,), mm.

    Parameters
    ----------
    low_mm, high_mm : (2,) array_like, x and y of the inside of the box
    """
    size = np.asarray(high_mm, float)[:2] - np.asarray(low_mm, float)[:2]
    n = np.maximum(np.rint((N_LONG - 1) * size / size.max()).astype(int), 8) + 1
    return tuple(np.linspace(low_mm[k], high_mm[k], n[k]) for k in range(2))


def relax(heights_mm, is_fixed) -> np.ndarray:
    """Fill the free nodes so that each is the mean of its four neighbours.

    The harmonic surface through the fixed nodes: no bumps of its own.

    Parameters
    ----------
    heights_mm : (n_y, n_x) float64
    is_fixed : (n_y, n_x) bool; the nodes at the edge must be.

    Returns
    -------
    (n_y, n_x) float64
    """
    n_y, n_x = heights_mm.shape
    free = np.flatnonzero(~is_fixed.ravel())
    out = np.array(heights_mm, dtype=float)
    if not free.size:
        return out
    place = np.full(n_y * n_x, -1)
    place[free] = np.arange(free.size)
    flat = out.ravel()
    rows, cols, right = [], [], np.zeros(free.size)
    for step in (-1, 1, -n_x, n_x):
        other = free + step
        inner = place[other] >= 0
        rows.append(np.flatnonzero(inner))
        cols.append(place[other[inner]])
        right[~inner] += flat[other[~inner]]
    rows, cols = np.concatenate(rows), np.concatenate(cols)
    matrix = sparse.csc_matrix(
        (np.full(rows.size, -1.0), (rows, cols)), shape=(free.size, free.size)
    ) + 4.0 * sparse.identity(free.size, format="csc")
    flat[free] = spsolve(matrix, right)
    return flat.reshape(n_y, n_x)


def read(x_nodes, y_nodes, heights_mm, points_mm) -> np.ndarray:
    """Bilinear height at points (k, 2) -> (k,); beyond the grid its edge goes on."""
    points = np.asarray(points_mm, dtype=float)
    cells = []
    for nodes, value in ((x_nodes, points[..., 0]), (y_nodes, points[..., 1])):
        t = (value - nodes[0]) / (nodes[-1] - nodes[0]) * (len(nodes) - 1)
        t = np.minimum(np.maximum(t, 0), len(nodes) - 1)  # np.clip costs thrice that
        k = np.minimum(t.astype(int), len(nodes) - 2)
        cells.append((k, t - k))
    (i, s), (r, t) = cells
    h = heights_mm
    return (1 - t) * ((1 - s) * h[r, i] + s * h[r, i + 1]) + t * (
        (1 - s) * h[r + 1, i] + s * h[r + 1, i + 1]
    )
