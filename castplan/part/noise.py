"""Noise of a scan: what its corners stand off the smooth surface round them."""

import numpy as np
from scipy import sparse

from castplan.part import check

# Noise is told on the even facets that scanners make (1 for an equilateral
# one), not on the slivers of a drawing; and from vertices whose facets turn
# less than this from their mean.
_MIN_EVENNESS = 0.7
_SMOOTH_DEG = 40.0
_MIN_SMOOTH = 200
# Neighbours that lie exactly in one plane are drawn, not scanned; above the
# rounding of 32-bit numbers over a facet of a thousandth of the part.
_FLAT_RAD = 3e-4
_MIN_SCANNED_FRACTION = 0.2
_MAX_SAMPLED = 2_000
# A surface of second order has six terms; fewer neighbours leave nothing over.
_TERMS = 6
_LEAST_NEIGHBOURS = 10
# The quietest corners tell: at creases and holes more than the noise is left.
_QUIET = 0.25
# Quantile 0.25 of the absolute value of a standard normal variate.
_QUIET_NORMAL = 0.3186
# Noise differs from corner to corner; what facets leave of a curve hardly does.
_MOST_ALIKE = 0.3
# Less than this share of an edge shows on no copy and tells nothing.
_LEAST_FRACTION = 0.004


def estimate_noise_mm(vertices_mm, faces, pairs) -> float | None:
    """Standard deviation of the noise across a surface, or None where it cannot be told.

    A surface of second order is fitted to the two rings of neighbours round a
    corner; what the corner stands off it, over what independent noise would
    leave there, is a sample of the noise. 0 where the corners lie in planes, or
    stand off alike: then it is a drawing, and its facets are all there is.

    Parameters
    ----------
    vertices_mm : (n, 3) float64
    faces : (m, 3) int
    pairs : (k, 2) int
        Edges.
    """
    if not _is_even(vertices_mm, faces):
        return None
    normal, facet, is_smooth = _smooth_corners(vertices_mm, faces)
    n_smooth = int(is_smooth.sum())
    if n_smooth < max(_MIN_SMOOTH, 0.3 * len(vertices_mm)):
        return None
    is_scanned = is_smooth & ~_in_planes(faces, facet, len(vertices_mm))
    if is_scanned.sum() < max(_MIN_SMOOTH, _MIN_SCANNED_FRACTION * n_smooth):
        return 0.0
    chosen, ends = _choose(is_scanned, pairs)
    found, off_mm = _stand_off_mm(vertices_mm, normal, chosen, pairs)
    if len(off_mm) < _MIN_SMOOTH:
        return None
    noise_mm = float(np.quantile(np.abs(off_mm), _QUIET)) / _QUIET_NORMAL
    edge_mm = np.median(np.linalg.norm(np.diff(vertices_mm[pairs], axis=1)[:, 0], axis=1))
    is_told = noise_mm > _LEAST_FRACTION * edge_mm and _likeness(found, off_mm, ends) < _MOST_ALIKE
    return noise_mm if is_told else 0.0


def _is_even(vertices_mm, faces):
    """Facets near enough to equilateral, as a scan's are; a model's long ones tell nothing."""
    corners = vertices_mm[faces]
    squares = ((corners - np.roll(corners, 1, axis=1)) ** 2).sum(axis=(1, 2))
    area_mm2 = check.facet_areas_mm2(vertices_mm, faces)
    evenness = 4 * np.sqrt(3) * area_mm2 / np.maximum(squares, 1e-300)
    return np.median(evenness) >= _MIN_EVENNESS


def _in_planes(faces, facet, n):
    """Vertices with a neighbour beyond which the surface goes on in the same plane, (n,) bool."""
    after = np.roll(faces, -1, axis=1)
    key = (np.minimum(faces, after) * n + np.maximum(faces, after)).ravel()
    order = np.argsort(key, kind="stable")
    is_pair = key[order][1:] == key[order][:-1]
    one, other = order[:-1][is_pair], order[1:][is_pair]
    turn = np.linalg.norm(np.cross(facet[one // 3], facet[other // 3]), axis=1)
    in_plane = np.zeros(n, dtype=bool)
    ends = np.concatenate((faces.ravel()[one], after.ravel()[one]))
    in_plane[ends[np.tile(turn < _FLAT_RAD, 2)]] = True
    return in_plane


def _choose(is_scanned, pairs):
    """Some vertices, each with a neighbour, and the edges between chosen ones."""
    between = pairs[is_scanned[pairs].all(axis=1)]
    if len(between) > _MAX_SAMPLED:
        picked = np.random.default_rng(0).choice(len(between), _MAX_SAMPLED, replace=False)
        between = between[np.sort(picked)]
    return np.unique(between), between


def _likeness(found, off_mm, ends):
    """Correlation of neighbours: 1 where both stand off alike, 0 or less for noise."""
    of_vertex = np.full(max(int(ends.max()), int(found.max())) + 1, np.nan)
    # Corners at creases stand off most, and do so side by side.
    is_usual = np.abs(off_mm) <= np.quantile(np.abs(off_mm), 0.9)
    of_vertex[found[is_usual]] = off_mm[is_usual]
    both = of_vertex[ends]
    both = both[np.isfinite(both).all(axis=1)]
    size = np.sqrt((both**2).mean(axis=0).prod()) if len(both) else 0.0
    return float((both[:, 0] * both[:, 1]).mean() / size) if size > 0 else 1.0


def _smooth_corners(vertices_mm, faces):
    """Normals of vertices (n, 3) and facets (m, 3), and which vertices turn little: (n,) bool."""
    n = len(vertices_mm)
    corners = vertices_mm[faces]
    facet = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    normal = np.stack(
        [
            sum(np.bincount(faces[:, k], weights=facet[:, axis], minlength=n) for k in range(3))
            for axis in range(3)
        ],
        axis=1,
    )
    normal /= np.maximum(np.linalg.norm(normal, axis=1), 1e-300)[:, None]
    facet /= np.maximum(np.linalg.norm(facet, axis=1), 1e-300)[:, None]
    least = np.ones(n)
    for k in range(3):
        np.minimum.at(least, faces[:, k], np.einsum("ij,ij->i", facet, normal[faces[:, k]]))
    return normal, facet, least > np.cos(np.radians(_SMOOTH_DEG))


def _stand_off_mm(vertices_mm, normal, chosen, pairs):
    """Chosen corners with neighbours enough, and how far each stands off, scaled to the noise."""
    n = len(vertices_mm)
    ends = np.concatenate((pairs, pairs[:, ::-1]))
    ones = np.ones(len(ends), dtype=np.int32)
    graph = sparse.csr_matrix((ones, (ends[:, 0], ends[:, 1])), shape=(n, n))
    near = (graph[chosen] + graph[chosen] @ graph).tocsr()
    row = np.repeat(np.arange(len(chosen)), np.diff(near.indptr))
    column = near.indices
    is_other = column != chosen[row]
    row, column = row[is_other], column[is_other]
    count = np.bincount(row, minlength=len(chosen))
    enough = count >= _LEAST_NEIGHBOURS
    row, column = row[enough[row]], column[enough[row]]
    row = (np.cumsum(enough) - 1)[row]
    chosen, count = chosen[enough], count[enough]
    if not len(chosen):
        return chosen, np.zeros(0)
    up = normal[chosen]
    side = np.cross(up, np.eye(3)[np.abs(up).argmin(axis=1)])
    side /= np.linalg.norm(side, axis=1)[:, None]
    across = np.cross(up, side)
    away = vertices_mm[column] - vertices_mm[chosen][row]
    u, v, w = (np.einsum("ij,ij->i", away, axis[row]) for axis in (side, across, up))
    reach = np.sqrt(np.bincount(row, weights=u * u + v * v) / count)
    u, v = u / reach[row], v / reach[row]
    terms = np.stack((np.ones(len(u)), u, v, u * u, u * v, v * v), axis=1)
    begin = np.concatenate(([0], np.cumsum(count)[:-1]))
    squares = np.add.reduceat(terms[:, :, None] * terms[:, None, :], begin, axis=0)
    sums = np.add.reduceat(terms * w[:, None], begin, axis=0)
    squares += 1e-9 * count[:, None, None] * np.eye(_TERMS)
    inverse = np.linalg.inv(squares)
    # The fitted height at the corner itself, and its variance per that of a neighbour.
    height = np.einsum("kj,kj->k", inverse[:, 0], sums)
    gain = np.sqrt(1.0 + inverse[:, 0, 0])
    return chosen, height / gain
