"""Facets that cross others: how many, within a bounded time.

Facets are sorted into a grid of boxes; those that share a box and overlap are
tested edge against facet, by the signs of volumes. Facets that only touch, or
lie in one plane, do not cross; neighbours over an edge are not tested.
"""

import numpy as np

from castplan.columns.raster import compiled

# Facets tested at most, a second or two; larger meshes are sampled.
MAX_TESTED = 200_000
# Pairs of facets looked at, where one that is tested edge against facet counts
# for so many whose boxes alone are compared.
_MAX_PAIRS = 150_000_000
_PAIRS_PER_TEST = 20
# Entries of the grid a facet may take on average before boxes get larger.
_ENTRIES_PER_FACET = 12


def count_crossing(vertices_mm: np.ndarray, faces: np.ndarray) -> tuple[int, int]:
    """Facets that cross another, of how many tested.

    Parameters
    ----------
    vertices_mm : (n, 3) float64
    faces : (m, 3) int32

    Returns
    -------
    n_crossing, n_tested : int
        Where the mesh is too large for all, a random sample, the same each time.
    """
    order = np.random.default_rng(0).permutation(len(faces))[:MAX_TESTED]
    hits, n_tested = _look(vertices_mm, faces, order)
    return int(hits[order[:n_tested]].sum()), n_tested


def find_crossing(vertices_mm, faces, is_asked) -> np.ndarray:
    """Facets (m,) bool that cross one of those asked for, and those of them that are crossed.

    As far as the bounded time goes.
    """
    hits, _ = _look(vertices_mm, np.asarray(faces, dtype=np.int32), np.flatnonzero(is_asked))
    return hits


def _look(vertices_mm, faces, order):
    """Which facets, of some asked for in order, cross another; how many were asked."""
    corners = vertices_mm[faces]
    low, high = corners.min(axis=1), corners.max(axis=1)
    origin = low.min(axis=0)
    span = float((high.max(axis=0) - origin).max())
    cell_mm = max(2.0 * float(np.median((high - low).max(axis=1))), span / 512)
    while True:
        first = np.floor((low - origin) / cell_mm).astype(np.int64)
        last = np.floor((high - origin) / cell_mm).astype(np.int64)
        taken = (last - first + 1).prod(axis=1)
        if taken.sum() <= _ENTRIES_PER_FACET * len(faces) + 100_000:
            break
        cell_mm *= 2
    size = last.max(axis=0) + 1
    start, entry = _fill(first, last, size)
    return _search(
        vertices_mm, faces, low, high, first, last, size, start, entry, order, _MAX_PAIRS
    )


@compiled
def _fill(first, last, size):
    """Facets of each box: entry[start[c]:start[c + 1]]."""
    start = np.zeros(size[0] * size[1] * size[2] + 1, np.int64)
    for fill in range(2):
        if fill:
            for c in range(1, start.size):
                start[c] += start[c - 1]
            cursor = start[:-1].copy()
            entry = np.empty(start[-1], np.int64)
        for f in range(first.shape[0]):
            for x in range(first[f, 0], last[f, 0] + 1):
                for y in range(first[f, 1], last[f, 1] + 1):
                    for z in range(first[f, 2], last[f, 2] + 1):
                        c = (x * size[1] + y) * size[2] + z
                        if fill:
                            entry[cursor[c]] = f
                            cursor[c] += 1
                        else:
                            start[c + 1] += 1
    return start, entry


@compiled
def _volume(a, b, c, d):
    """Six times the signed volume of a tetrahedron."""
    ux, uy, uz = b[0] - a[0], b[1] - a[1], b[2] - a[2]
    vx, vy, vz = c[0] - a[0], c[1] - a[1], c[2] - a[2]
    wx, wy, wz = d[0] - a[0], d[1] - a[1], d[2] - a[2]
    return ux * (vy * wz - vz * wy) - uy * (vx * wz - vz * wx) + uz * (vx * wy - vy * wx)


@compiled
def _pierces(p, q, a, b, c, least):
    """Whether the inside of segment p-q passes through the inside of a facet."""
    side_p, side_q = _volume(a, b, c, p), _volume(a, b, c, q)
    if abs(side_p) <= least or abs(side_q) <= least or (side_p > 0) == (side_q > 0):
        return False
    ab, bc, ca = _volume(p, q, a, b), _volume(p, q, b, c), _volume(p, q, c, a)
    return (ab > least and bc > least and ca > least) or (
        ab < -least and bc < -least and ca < -least
    )


@compiled
def _edges_pierce(vertices, one, two, least):
    """Whether an edge of facet `one` that has no corner of `two` passes through it."""
    for e in range(3):
        p, q = one[e], one[(e + 1) % 3]
        if p == two[0] or p == two[1] or p == two[2] or q == two[0] or q == two[1] or q == two[2]:
            continue
        if _pierces(
            vertices[p], vertices[q], vertices[two[0]], vertices[two[1]], vertices[two[2]], least
        ):
            return True
    return False


@compiled
def _search(vertices, faces, low, high, first, last, size, start, entry, order, max_pairs):
    n_tested = n_pairs = 0
    hits = np.zeros(faces.shape[0], np.bool_)
    for f in order:
        if n_pairs > max_pairs:
            break
        n_tested += 1
        # Rounding of a volume over this facet's own size.
        reach = max(high[f, 0] - low[f, 0], high[f, 1] - low[f, 1], high[f, 2] - low[f, 2])
        found = False
        for x in range(first[f, 0], last[f, 0] + 1):
            for y in range(first[f, 1], last[f, 1] + 1):
                for z in range(first[f, 2], last[f, 2] + 1):
                    c = (x * size[1] + y) * size[2] + z
                    for k in range(start[c], start[c + 1]):
                        g = entry[k]
                        if g == f:
                            continue
                        n_pairs += 1
                        if (
                            low[f, 0] > high[g, 0]
                            or low[g, 0] > high[f, 0]
                            or low[f, 1] > high[g, 1]
                            or low[g, 1] > high[f, 1]
                            or low[f, 2] > high[g, 2]
                            or low[g, 2] > high[f, 2]
                        ):
                            continue
                        n_pairs += _PAIRS_PER_TEST
                        shared = 0
                        for i in range(3):
                            for j in range(3):
                                shared += faces[f, i] == faces[g, j]
                        if shared >= 2:
                            continue
                        wide = max(
                            reach,
                            high[g, 0] - low[g, 0],
                            high[g, 1] - low[g, 1],
                            high[g, 2] - low[g, 2],
                        )
                        least = 1e-9 * wide * wide * wide
                        if _edges_pierce(vertices, faces[f], faces[g], least) or _edges_pierce(
                            vertices, faces[g], faces[f], least
                        ):
                            found = hits[f] = hits[g] = True
                            break
                    if found:
                        break
                if found:
                    break
            if found:
                break
    return hits, n_tested
