"""Where the holes of a surface cannot change what its crossings say.

The surface with its caps is closed, and along a column its windings are
counted exactly. The generalised winding number is that count less the share
of the sphere that the caps cover, seen from the point. Where this share is
bounded below a half, the count decides and nobody needs to be asked.
"""

import weakref
from typing import NamedTuple

import numpy as np

from castplan.columns.raster import compiled

# More groups than this cost as much as asking.
MOST_GROUPS = 500
# Caps that fold back have no side that they cover from; those bent more than
# this may meet a line of sight twice.
_FLAT_FRACTION = 0.5

_latest: list = []


class Groups(NamedTuple):
    """Caps that hang together, each within a flat round tin.

    `centre_mm` and `normal` (g, 3), `radius_mm`, `thick_mm` (half of the tin's
    height) and `area_mm2` (g,); `is_folded` (g,) bool.
    """

    centre_mm: np.ndarray
    normal: np.ndarray
    radius_mm: np.ndarray
    thick_mm: np.ndarray
    area_mm2: np.ndarray
    is_folded: np.ndarray


def find_unsure(vertices_mm, cap_faces, points_mm, count) -> np.ndarray:
    """Points about which the holes may change what the count says.

    Parameters
    ----------
    vertices_mm : (n, 3) float64
    cap_faces : (k, 3) int
    points_mm : (p, 3) float64
    count : (p,) int64
        Windings of the surface and its caps together round each point.

    Returns
    -------
    (p,) bool
    """
    groups = _groups_of(vertices_mm, cap_faces)
    if len(groups.area_mm2) > MOST_GROUPS:
        return np.ones(len(points_mm), dtype=bool)
    return _find_unsure(np.ascontiguousarray(points_mm), count, *groups)


def _groups_of(vertices_mm, cap_faces):
    """The groups of these caps, kept for the next question about them."""
    if _latest and _latest[0]() is vertices_mm and _latest[1]() is cap_faces:
        return _latest[2]
    groups = _group(np.asarray(vertices_mm), np.asarray(cap_faces, dtype=np.int64))
    _latest[:] = [weakref.ref(vertices_mm), weakref.ref(cap_faces), groups]
    return groups


def _group(vertices_mm, cap_faces):
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components

    n = len(vertices_mm)
    a, b = cap_faces[:, [0, 0]].ravel(), cap_faces[:, 1:].ravel()
    graph = coo_matrix((np.ones(len(a), dtype=np.int32), (a, b)), shape=(n, n))
    _, label = connected_components(graph, directed=False)
    kept, of_facet = np.unique(label[cap_faces[:, 0]], return_inverse=True)
    g = len(kept)
    corners = vertices_mm[cap_faces]
    vector = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]) / 2
    size = np.linalg.norm(vector, axis=1)
    area_mm2 = np.bincount(of_facet, weights=size, minlength=g)
    whole = np.stack([np.bincount(of_facet, weights=v, minlength=g) for v in vector.T], axis=1)
    flat_mm2 = np.linalg.norm(whole, axis=1)
    normal = whole / np.maximum(flat_mm2, 1e-300)[:, None]
    low, high = np.full((g, 3), np.inf), np.full((g, 3), -np.inf)
    np.minimum.at(low, of_facet, corners.min(axis=1))
    np.maximum.at(high, of_facet, corners.max(axis=1))
    centre_mm = (low + high) / 2
    away = corners - centre_mm[of_facet][:, None]
    radius_mm, thick_mm = np.zeros(g), np.zeros(g)
    np.maximum.at(radius_mm, of_facet, np.linalg.norm(away, axis=2).max(axis=1))
    height = np.abs(np.einsum("kij,kj->ki", away, normal[of_facet])).max(axis=1)
    np.maximum.at(thick_mm, of_facet, height)
    is_folded = flat_mm2 < _FLAT_FRACTION * area_mm2
    is_folded[of_facet[np.einsum("kj,kj->k", vector, normal[of_facet]) < 0]] = True
    return Groups(centre_mm, normal, radius_mm, thick_mm, area_mm2, is_folded)


@compiled
def _find_unsure(points, count, centre, normal, radius, thick, area, is_folded):
    unsure = np.zeros(points.shape[0], np.bool_)
    for k in range(points.shape[0]):
        least = count[k] - 0.5 if count[k] > 0 else 0.5 - count[k]
        # Caps seen from behind lower the winding number, from before they raise it.
        wanted = -1.0 if count[k] > 0 else 1.0
        covered = 0.0
        for g in range(area.size):
            x = points[k, 0] - centre[g, 0]
            y = points[k, 1] - centre[g, 1]
            z = points[k, 2] - centre[g, 2]
            side = normal[g, 0] * x + normal[g, 1] * y + normal[g, 2] * z
            above = abs(side) - thick[g]
            if above > 0.0 and not is_folded[g]:
                if side * wanted < 0.0:
                    continue
                # The tin's lid, were the point right over its middle.
                share = 0.5 * (1.0 - above / np.sqrt(above * above + radius[g] * radius[g]))
            else:
                share = 1.0
            clear = np.sqrt(x * x + y * y + z * z) - radius[g]
            if clear > 0.0:
                share = min(share, area[g] / (4.0 * np.pi * clear * clear))
            covered += share
            if covered >= least:
                unsure[k] = True
                break
    return unsure
