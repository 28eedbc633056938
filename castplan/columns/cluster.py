"""Vertices drawn together: a light copy of a heavy surface."""

import numpy as np


def draw_together(vertices_mm, faces, *, cell_mm: float):
    """Join the vertices within each cube of a grid at their mean.

    Mapping vertices sends closed surfaces to closed surfaces, and no vertex
    moves further than the cube's diagonal (Rossignac and Borrel 1993).

    Parameters
    ----------
    vertices_mm : (n, 3) float64
    faces : (m, 3) int
    cell_mm : float

    Returns
    -------
    vertices_mm : (k, 3) float64
    faces : (l, 3) int32
        Without those that shrank to a line or a point.
    """
    cell = np.floor((vertices_mm - vertices_mm.min(axis=0)) / cell_mm).astype(np.int64)
    n = cell.max(axis=0) + 1
    _, group = np.unique(cell[:, 0] + n[0] * (cell[:, 1] + n[1] * cell[:, 2]), return_inverse=True)
    count = np.bincount(group)
    middle = np.stack([np.bincount(group, weights=vertices_mm[:, k]) for k in range(3)], axis=1)
    mapped = group[faces]
    a, b, c = mapped.T
    kept = mapped[(a != b) & (b != c) & (c != a)]
    return middle / count[:, None], kept.astype(np.int32)
