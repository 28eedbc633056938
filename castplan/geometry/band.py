"""Nodes of a grid that lie near a surface, so that no whole box has to be filled."""

import numpy as np
from scipy.spatial import cKDTree

SIDE = 3  # nodes along a block of them
WITHIN = np.stack(np.meshgrid(*[np.arange(SIDE)] * 3, indexing="ij"), -1).reshape(-1, 3)
HALF = 0.5 * np.sqrt(3) * SIDE  # cells from a block's middle to its corner


def blocks_near(seeds_mm, *, reach_mm: float, cell_mm: float):
    """Blocks of nodes within reach of some points.

    Parameters
    ----------
    seeds_mm : (n, 3) float64
    reach_mm, cell_mm : float

    Returns
    -------
    blocks : (k, 3) int64
        Places among blocks.
    origin_mm : (3,) float64
        Of node 0, 0, 0.
    """
    block_mm = SIDE * cell_mm
    wide = int(np.ceil(reach_mm / block_mm)) + 1
    origin = seeds_mm.min(axis=0) - (wide + 1) * block_mm
    blocks = np.unique(np.floor((seeds_mm - origin) / block_mm).astype(np.int64), axis=0)
    for axis in range(3):
        step = np.zeros((2 * wide + 1, 3), dtype=np.int64)
        step[:, axis] = np.arange(-wide, wide + 1)
        blocks = np.unique((blocks[:, None] + step).reshape(-1, 3), axis=0)
    near, _ = cKDTree(seeds_mm).query(
        middles_mm(blocks, origin, cell_mm), distance_upper_bound=reach_mm + HALF * cell_mm
    )
    return blocks[np.isfinite(near)], origin


def middles_mm(blocks, origin_mm, cell_mm):
    """Middles of blocks (k, 3)."""
    return origin_mm + cell_mm * (SIDE * blocks + 0.5 * (SIDE - 1))


def nodes_of(blocks):
    """Places of all nodes of some blocks on the grid, (n, 3) int64."""
    return (blocks[:, None] * SIDE + WITHIN).reshape(-1, 3)


def spread_over(points, faces, *, apart_mm: float, is_kept=None):
    """Points over facets, no part of them further than `apart_mm` from one: (n, 3).

    Parameters
    ----------
    points : (n, 3) float64
    faces : (m, 3) int
    apart_mm : float
    is_kept : callable or None
        Middles and radii of facets to whether they matter, (k,) bool.
    """
    corners, spread = points[faces], [np.zeros((0, 3))]
    while len(corners):
        middle = corners.mean(axis=1)
        wide = np.linalg.norm(corners - middle[:, None], axis=2).max(axis=1)
        if is_kept is not None:
            kept = is_kept(middle, wide)
            corners, middle, wide = corners[kept], middle[kept], wide[kept]
        is_small = wide <= apart_mm
        spread.append(middle[is_small])
        corners = _in_four(corners[~is_small])
    return np.concatenate(spread)


def _in_four(corners):
    a, b, c = corners[:, 0], corners[:, 1], corners[:, 2]
    ab, bc, ca = 0.5 * (a + b), 0.5 * (b + c), 0.5 * (c + a)
    pieces = ((a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca))
    return np.concatenate([np.stack(piece, axis=1) for piece in pieces])
