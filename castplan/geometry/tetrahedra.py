"""The surface on which values on scattered nodes of a grid are zero: marching tetrahedra.

Each cube of eight known nodes is divided into six tetrahedra round its
diagonal, all cubes alike, so that neighbours agree and the surface is closed
and has two facets at every edge (Doi and Koide 1991; from memory).
"""

import numpy as np

# Corners of a cube by their bits, x the highest: each tetrahedron goes from
# corner 0 to corner 7 along three edges, one along each axis.
_TETRAHEDRA = np.array(
    [[0, 4, 6, 7], [0, 6, 2, 7], [0, 2, 3, 7], [0, 3, 1, 7], [0, 1, 5, 7], [0, 5, 4, 7]]
)
# Facets of one case as pairs of corners, whose edge each facet's corner lies on.
_ALONE = {
    0: ((0, 1), (0, 2), (0, 3)),
    1: ((1, 0), (1, 3), (1, 2)),
    2: ((2, 0), (2, 1), (2, 3)),
    3: ((3, 0), (3, 2), (3, 1)),
}
_PAIRS = {
    (0, 1): ((0, 2), (0, 3), (1, 3), (1, 2)),
    (0, 2): ((0, 3), (0, 1), (2, 1), (2, 3)),
    (0, 3): ((0, 1), (0, 2), (3, 2), (3, 1)),
    (1, 2): ((1, 0), (1, 3), (2, 3), (2, 0)),
    (1, 3): ((1, 2), (1, 0), (3, 0), (3, 2)),
    (2, 3): ((2, 0), (2, 1), (3, 1), (3, 0)),
}
# Nearer to zero than this, in cells, would make facets without area.
_LEAST = 1e-3


def zero_surface(nodes, values, *, origin_mm, cell_mm: float, is_all: bool):
    """Closed surface round the nodes whose value is above zero.

    Parameters
    ----------
    nodes : (n, 3) int64
        Places on the grid, each once, none negative.
    values : (n,) float64
        About a distance, in mm.
    origin_mm : (3,) float64
        Place of node 0, 0, 0.
    cell_mm : float
    is_all : bool
        Whether every node above zero is listed, so that all others are below;
        or else only those near the surface are, which passes between listed ones.

    Returns
    -------
    vertices_mm : (k, 3) float64
    faces : (m, 3) int64
        Normals point to below zero.
    """
    least = _LEAST * cell_mm
    values = np.where(np.abs(values) < least, np.where(values > 0, least, -least), values)
    size = nodes.max(axis=0) + 3
    key = (((nodes[:, 0] + 1) * size[1]) + nodes[:, 1] + 1) * size[2] + nodes[:, 2] + 1
    order = np.argsort(key)
    key, values = key[order], values[order]
    bits = np.array([[k >> 2 & 1, k >> 1 & 1, k & 1] for k in range(8)])
    shift = bits @ np.array([size[1] * size[2], size[2], 1])
    inside = key[values > 0]
    cubes = np.unique((inside[:, None] - shift).ravel())
    corners = cubes[:, None] + shift
    place = np.minimum(np.searchsorted(key, corners), len(key) - 1)
    is_listed = key[place] == corners
    value = np.where(is_listed, values[place], -cell_mm)
    is_cut = (value > 0).any(axis=1) & ((value < 0) & (is_listed | is_all)).any(axis=1)
    corners, value = corners[is_cut], value[is_cut]
    four = corners[:, _TETRAHEDRA].reshape(-1, 4)
    level = value[:, _TETRAHEDRA].reshape(-1, 4)
    code = (level > 0) @ np.array([1, 2, 4, 8])
    facets = [np.zeros((0, 3, 2), dtype=np.int64)]
    ends = [np.zeros((0, 3, 2))]
    for case, edges, is_turned in _cases():
        here = code == case
        if not here.any():
            continue
        for triangle in ((0, 1, 2), (0, 2, 3))[: len(edges) - 2]:
            pairs = np.array([edges[k] for k in (triangle[::-1] if is_turned else triangle)])
            facets.append(four[here][:, pairs])
            ends.append(level[here][:, pairs])
    facets, ends = np.concatenate(facets), np.concatenate(ends)
    # One vertex an edge, whichever way it was met.
    low = np.argsort(facets, axis=2)
    facets, ends = np.take_along_axis(facets, low, 2), np.take_along_axis(ends, low, 2)
    flat = facets.reshape(-1, 2)
    span = int(key.max()) + 1 + int(shift.max())
    _, first, faces = np.unique(
        flat[:, 0] * span + flat[:, 1], return_index=True, return_inverse=True
    )
    a, b = (_unravel(flat[first, k], size) for k in (0, 1))
    at = ends.reshape(-1, 2)[first]
    share = (at[:, 0] / (at[:, 0] - at[:, 1]))[:, None]
    return origin_mm + cell_mm * (a + share * (b - a)), faces.reshape(-1, 3)


def _cases():
    """Code of the corners above zero, the edges round the cut, whether it is turned."""
    for k, edges in _ALONE.items():
        yield 1 << k, edges, False
        yield 15 - (1 << k), edges, True
    for (k, m), edges in _PAIRS.items():
        yield (1 << k) + (1 << m), edges, False


def _unravel(key, size):
    rest, z = np.divmod(key, size[2])
    x, y = np.divmod(rest, size[1])
    return np.stack([x, y, z], axis=1) - 1.0
