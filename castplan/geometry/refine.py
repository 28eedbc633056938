"""Finer facets on the same surface, so that a value per facet can follow a limit."""

import numpy as np


def split_edges(vertices_mm, faces, is_split) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Halve edges and divide the facets beside them; both sides of an edge agree.

    Parameters
    ----------
    vertices_mm : (n, 3) float64
    faces : (m, 3) int
    is_split : (m, 3) bool
        Edge k of a facet runs from its corner k to the next. An edge is halved
        if either of its facets asks for it.

    Returns
    -------
    vertices_mm : (n + s, 3) float64
    faces : (p, 3) int32
    parent : (p,) int64
        Facet that each new one lies in.
    """
    faces = np.asarray(faces, dtype=np.int64)
    ends = np.sort(np.stack([faces, np.roll(faces, -1, axis=1)], axis=2), axis=2)
    key = ends[..., 0] * len(vertices_mm) + ends[..., 1]
    wanted = np.unique(key[is_split])
    if not wanted.size:
        return np.asarray(vertices_mm), faces.astype(np.int32), np.arange(len(faces))
    place = np.minimum(np.searchsorted(wanted, key), wanted.size - 1)
    middle = np.where(wanted[place] == key, len(vertices_mm) + place, -1)
    low, high = np.divmod(wanted, len(vertices_mm))
    points = np.concatenate([vertices_mm, 0.5 * (vertices_mm[low] + vertices_mm[high])])
    corners, mids, source = _lead(faces, middle)
    a, b, c = corners.T
    ab, bc, ca = mids.T
    count = (mids >= 0).sum(axis=1)
    made, parent = [corners[count == 0]], [source[count == 0]]
    # Facets with one, two and three halved edges; `_lead` turned them so that
    # the first edge is halved and, of two, the last is not.
    for n, triangles in (
        (1, ((a, ab, c), (ab, b, c))),
        (2, ((a, ab, c), (ab, b, bc), (ab, bc, c))),
        (3, ((a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca))),
    ):
        here = count == n
        made += [np.stack(corner, axis=1)[here] for corner in triangles]
        parent += [source[here]] * len(triangles)
    parent = np.concatenate(parent)
    # Children stand where their facet stood, so that near things stay near.
    order = np.argsort(parent, kind="stable")
    return points, np.concatenate(made)[order].astype(np.int32), parent[order]


def _lead(faces, middle):
    """Each facet turned so that its halved edges come first."""
    is_halved = middle >= 0
    # The edge before the first halved one must not be halved, unless all are.
    start = np.argmax(is_halved & ~np.roll(is_halved, 1, axis=1), axis=1)
    turn = (start[:, None] + np.arange(3)) % 3
    rows = np.arange(len(faces))[:, None]
    return faces[rows, turn], middle[rows, turn], np.arange(len(faces))


def edge_lengths(vertices_mm, faces) -> np.ndarray:
    """Length of edge k of each facet, from its corner k to the next: (m, 3) [mm]."""
    corners = vertices_mm[faces]
    return np.linalg.norm(np.roll(corners, -1, axis=1) - corners, axis=2)


def across_edges(faces, n_vertices) -> np.ndarray:
    """The facet across edge k of each facet, (m, 3) int64; itself where there is none.

    Where more than two facets share an edge, the next of them.
    """
    faces = np.asarray(faces, dtype=np.int64)
    ends = np.sort(np.stack([faces, np.roll(faces, -1, axis=1)], axis=2), axis=2)
    key = (ends[..., 0] * n_vertices + ends[..., 1]).ravel()
    order = np.argsort(key, kind="stable")
    facet = order // 3
    runs = np.flatnonzero(np.concatenate([[True], np.diff(key[order]) > 0, [True]]))
    after = np.arange(1, key.size + 1)
    after[runs[1:] - 1] = runs[:-1]  # the last of a run meets the first
    out = np.empty(key.size, dtype=np.int64)
    out[order] = facet[after]
    return out.reshape(-1, 3)
