"""What a triangle list holds: bodies, holes, volume; pure functions on arrays.

An undirected edge is *closed* when the facets use it equally often in both
directions, and *open* otherwise. The facets' boundary, as a chain, is the sum
of the open edges with their surplus.
"""

from typing import NamedTuple

import numpy as np


class Edges(NamedTuple):
    """Every undirected edge once.

    `pairs` (k, 2) int64 with the smaller vertex first, `surplus` (k,) uses from
    the smaller to the larger vertex less uses the other way, `n_uses` (k,).
    """

    pairs: np.ndarray
    surplus: np.ndarray
    n_uses: np.ndarray


def merge_vertices(vertices: np.ndarray, faces: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Give vertices with the same coordinates one number, and drop unused ones.

    Only exactly equal coordinates are merged (0.0 equals -0.0); what should
    meet and does not is for `join`.

    Parameters
    ----------
    vertices : (n, 3) float64
    faces : (m, 3) int

    Returns
    -------
    vertices : (k, 3) float64
        In the order of their first appearance.
    faces : (m, 3) int64
    """
    used = np.zeros(len(vertices), dtype=bool)
    used[faces.ravel()] = True
    chosen = np.flatnonzero(used)
    points = np.ascontiguousarray(vertices[chosen]) + 0.0  # -0.0 becomes 0.0
    label, first = _group_equal(points)
    # The file's own order, so that neighbours in the file stay near in memory.
    order = np.argsort(first)
    rank = np.empty_like(order)
    rank[order] = np.arange(len(order))
    renumber = np.empty(len(vertices), dtype=np.int64)
    renumber[chosen] = rank[label]
    return points[first[order]], renumber[faces]


def _group_equal(points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Group number of each row, and one row of each group; equal means same bits.

    Rows are hashed to one word: sorting words is several times faster than
    sorting rows. Every row is then compared with its group's, so a collision
    costs time, never truth.
    """
    words = points.view(np.uint64)
    # Odd multipliers of the SplitMix64 finaliser (Steele, Lea, Flood 2014).
    with np.errstate(over="ignore"):
        mixed = words[:, 0] * np.uint64(0x9E3779B97F4A7C15)
        for column in (1, 2):
            mixed ^= mixed >> np.uint64(31)
            mixed = (mixed + words[:, column]) * np.uint64(0xBF58476D1CE4E5B9)
        mixed ^= mixed >> np.uint64(29)
    order = np.argsort(mixed)
    mixed = mixed[order]
    is_start = np.concatenate(([True], mixed[1:] != mixed[:-1]))
    first = np.minimum.reduceat(order, np.flatnonzero(is_start))
    label = np.empty_like(order)
    label[order] = np.cumsum(is_start) - 1
    if not np.array_equal(points[first[label]], points):
        _, first, label = np.unique(points, axis=0, return_index=True, return_inverse=True)
        label = label.reshape(-1)
    return label, first


def drop_degenerate(faces: np.ndarray) -> np.ndarray:
    """Faces (m, 3) without those that name a vertex twice.

    Such a facet uses its edges equally both ways, so dropping it opens nothing.
    """
    a, b, c = faces.T
    return faces[(a != b) & (b != c) & (c != a)]


def thin_repeats(faces: np.ndarray) -> np.ndarray:
    """Faces (m, 3) without the third and further copies of any, the same way round.

    A second copy is kept: two bodies may share a wall. More are damage, and a
    facet held dozens of times makes a scrap look like the wall of something
    closed and every question about its surroundings dear.
    """
    first = np.argmin(faces, axis=1)
    turned = np.take_along_axis(faces, (first[:, None] + np.arange(3)) % 3, axis=1)
    order = np.lexsort((*turned.T[::-1],))
    ranked = turned[order]
    is_third = np.concatenate(([False, False], (ranked[2:] == ranked[:-2]).all(axis=1)))
    return faces[np.sort(order[~is_third[: len(faces)]])]


def edges_of(faces: np.ndarray, *, n_vertices: int) -> Edges:
    """Undirected edges of faces (m, 3) with their surplus."""
    start = faces.ravel()
    end = np.roll(faces, -1, axis=1).ravel()
    low, high = np.minimum(start, end), np.maximum(start, end)
    # One word per use: the pair, then a bit for the direction.
    uses = ((low.astype(np.int64) * n_vertices + high) << 1) | (start > end)
    uses.sort()
    key = uses >> 1
    first = np.flatnonzero(np.concatenate(([True], key[1:] != key[:-1])))
    surplus = np.add.reduceat(1 - 2 * (uses & 1), first)
    n_uses = np.diff(first, append=len(key))
    key = key[first]
    return Edges(np.stack((key // n_vertices, key % n_vertices), axis=1), surplus, n_uses)


def count_components(pairs: np.ndarray, *, n_vertices: int) -> tuple[int, np.ndarray]:
    """How many pieces the vertices form over the edges, and each one's piece (n,)."""
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components

    ones = np.ones(len(pairs), dtype=np.int32)
    graph = coo_matrix((ones, (pairs[:, 0], pairs[:, 1])), shape=(n_vertices, n_vertices))
    return connected_components(graph, directed=False)


def facet_volumes_mm3(vertices_mm: np.ndarray, faces: np.ndarray) -> np.ndarray:
    """Signed volume between each facet and the middle of the box, (m,).

    Over a closed surface they sum to its volume, positive when normals point
    out (divergence theorem).
    """
    # About the middle: far from the origin the tetrahedra would cancel digits away.
    centred = vertices_mm - (vertices_mm.min(axis=0) + vertices_mm.max(axis=0)) / 2
    a, b, c = (centred[faces[:, corner]] for corner in range(3))
    return np.einsum("ij,ij->i", a, np.cross(b, c)) / 6


def volume_mm3(vertices_mm: np.ndarray, faces: np.ndarray) -> float:
    """Signed volume of a closed surface, vertices (n, 3) and faces (m, 3)."""
    return float(facet_volumes_mm3(vertices_mm, faces).sum())


def facet_areas_mm2(vertices_mm: np.ndarray, faces: np.ndarray) -> np.ndarray:
    """Area of each facet, (m,)."""
    a, b, c = (vertices_mm[faces[:, corner]] for corner in range(3))
    return np.linalg.norm(np.cross(b - a, c - a), axis=1) / 2


def area_mm2(vertices_mm: np.ndarray, faces: np.ndarray) -> float:
    """Area of the facets, vertices (n, 3) and faces (m, 3)."""
    return float(facet_areas_mm2(vertices_mm, faces).sum())
