"""Outlines of sampled shapes: rings round a mask, lines seen on a surface."""

import contourpy
import numpy as np
import shapely
from scipy import sparse
from scipy.sparse import csgraph


def rings(
    mask: np.ndarray, *, x0_mm: float, y0_mm: float, pitch_mm: float, corner=(0, 0)
) -> list[np.ndarray]:
    """Closed rings round the true cells of a grid, holes included.

    Parameters
    ----------
    mask : (n_y, n_x) bool
        Row r, cell i is centred at x0_mm + (i + 0.5) pitch_mm, likewise y.
    x0_mm, y0_mm, pitch_mm : float
    corner : (row, i)
        Of the grid, where the mask is only a part of it.

    Returns
    -------
    list of (k, 2) float64 [mm]
        First point repeated at the end; within half a pitch of the shape that
        was sampled. Largest ring first.
    """
    n_y, n_x = mask.shape
    padded = np.zeros((n_y + 2, n_x + 2))
    padded[1:-1, 1:-1] = mask
    x = x0_mm + (corner[1] + np.arange(n_x + 2) - 0.5) * pitch_mm
    y = y0_mm + (corner[0] + np.arange(n_y + 2) - 0.5) * pitch_mm
    lines = contourpy.contour_generator(x, y, padded).lines(0.5)
    out = []
    for line in lines:
        # Three quarters of a pitch takes the stairs off a slanted edge.
        ring = shapely.simplify(shapely.LinearRing(line), 0.75 * pitch_mm)
        out.append((abs(shapely.Polygon(ring).area), shapely.get_coordinates(ring)))
    out.sort(key=lambda pair: (-pair[0], tuple(pair[1][0])))
    return [ring for _, ring in out]


def crease_edges(vertices_mm, faces, *, angle_deg: float, shortest_mm: float = 0.0) -> np.ndarray:
    """Edges at which a surface turns sharply: (k, 2) int64 vertex pairs, sorted.

    Parameters
    ----------
    vertices_mm : (n, 3) float64
    faces : (m, 3) int32
    angle_deg : float
        Least turn between the two facets of an edge.
    shortest_mm : float
        Leave out creases that, all joined ones together, span less: scan texture.
    """
    corners = vertices_mm[faces]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    size = np.linalg.norm(normal, axis=1)
    normal = normal / np.where(size > 0, size, 1.0)[:, None]
    pairs = np.sort(faces[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2).astype(np.int64), axis=1)
    key = pairs[:, 0] * len(vertices_mm) + pairs[:, 1]
    order = np.argsort(key, kind="stable")
    same = np.flatnonzero(key[order][1:] == key[order][:-1])
    one, two = order[same], order[same + 1]
    # Slivers have no reliable normal; leave them out rather than draw noise.
    sound = (size[one // 3] > 1e-9) & (size[two // 3] > 1e-9)
    turn = (normal[one // 3] * normal[two // 3]).sum(axis=1)
    sharp = sound & (turn < np.cos(np.radians(angle_deg)))
    edges = pairs[one[sharp]]
    if not len(edges) or shortest_mm <= 0:
        return edges
    n = len(vertices_mm)
    links = sparse.coo_matrix((np.ones(len(edges)), (edges[:, 0], edges[:, 1])), shape=(n, n))
    _, chain = csgraph.connected_components(links, directed=False)
    of_edge = chain[edges[:, 0]]
    low, high = np.full((chain.max() + 1, 3), np.inf), np.full((chain.max() + 1, 3), -np.inf)
    for end in vertices_mm[edges[:, 0]], vertices_mm[edges[:, 1]]:
        np.minimum.at(low, of_edge, end)
        np.maximum.at(high, of_edge, end)
    spans = np.linalg.norm(high[of_edge] - low[of_edge], axis=1)
    return edges[spans >= shortest_mm]


def visible_pieces(points_mm, edges, height_mm, *, x0_mm: float, y0_mm: float, pitch_mm: float):
    """Pieces of edges that are not hidden under a height map.

    Parameters
    ----------
    points_mm : (n, 3) float64
        In the view, z towards the eye.
    edges : (k, 2) int64
    height_mm : (n_y, n_x) float64
        Highest surface per cell, -inf where there is none.
    x0_mm, y0_mm, pitch_mm : float

    Returns
    -------
    (p, 2, 2) float64 [mm]
        Start and end of each piece in the view.
    """
    n_y, n_x = height_mm.shape
    # An edge lies on the rim of what it bounds: it shows when the lowest cell
    # around it does not hide it.
    padded = np.pad(height_mm, 1, constant_values=-np.inf)
    low = np.min([padded[a : a + n_y, b : b + n_x] for a in range(3) for b in range(3)], axis=0)
    start, end = points_mm[edges[:, 0]], points_mm[edges[:, 1]]
    length = np.linalg.norm((end - start)[:, :2], axis=1)
    n_steps = np.maximum(np.ceil(length / (2 * pitch_mm)).astype(np.int64), 1)
    edge = np.repeat(np.arange(len(edges)), n_steps)
    begins = np.concatenate([[0], np.cumsum(n_steps)[:-1]])
    step = np.arange(edge.size) - begins[edge]
    middle_t = (step + 0.5) / n_steps[edge]
    middle = start[edge] + middle_t[:, None] * (end - start)[edge]
    i = np.clip(((middle[:, 0] - x0_mm) // pitch_mm).astype(np.int64), 0, n_x - 1)
    row = np.clip(((middle[:, 1] - y0_mm) // pitch_mm).astype(np.int64), 0, n_y - 1)
    seen = middle[:, 2] >= low[row, i] - 2 * pitch_mm
    # Runs of neighbouring seen steps of one edge make one piece.
    first = seen & np.concatenate([[True], ~seen[:-1] | (edge[1:] != edge[:-1])])
    last = seen & np.concatenate([~seen[1:] | (edge[1:] != edge[:-1]), [True]])
    t0 = step[first] / n_steps[edge[first]]
    t1 = (step[last] + 1) / n_steps[edge[last]]
    way = (end - start)[edge[first]]
    base = start[edge[first]]
    pieces = np.stack([base + t0[:, None] * way, base + t1[:, None] * way], axis=1)
    keep = np.linalg.norm(pieces[:, 1, :2] - pieces[:, 0, :2], axis=1) > 0.5 * pitch_mm
    return pieces[keep][:, :, :2]
