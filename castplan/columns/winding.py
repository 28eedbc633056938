"""Inside or outside of a surface with holes: the generalised winding number.

Jacobson, Kavan and Sorkine-Hornung, ACM TOG 32 (2013) 33; here the fast
approximation of Barill and others, TOG 37 (2018) 43, as libigl computes it.
"""

import threading
import weakref

import numpy as np

from castplan.columns.cluster import draw_together

# The tree takes about 600 bytes a facet: above this number a lighter copy does.
# Its vertices move by half a mean edge of the copy, which changes what lies
# that close to the surface and nothing else.
MAX_FACETS = 1_500_000
# A cluster of long facets is summed up from far off only: on shells of a robot, split
# to a share of their size, a point takes 1.3 and 3.5 us instead of 4.2 and 27.
_SPLIT_TO = (1 / 32, 1 / 16, 1 / 8)
_MAX_SPLIT = 250_000

# A third of the time of full accuracy, and off by less than 0.05 at 200,000
# points about two robot shells of 20,000 facets.
_ROUGH = 1.2
_ROUGH_ERROR = 0.15

_lock = threading.Lock()
_latest: list = []


def winding_numbers(
    vertices_mm: np.ndarray, faces: np.ndarray, points_mm: np.ndarray, *, accuracy: float = 2.0
):
    """Winding number of a surface about points: 1 inside, 0 outside, between at holes.

    The tree over the surface is kept for the next call with the same arrays,
    as long as these live.

    Parameters
    ----------
    vertices_mm : (n, 3) float64
    faces : (m, 3) int
        Normals point out.
    points_mm : (k, 3) float64
    accuracy : float
        How many of its own radii away a cluster of facets is summed up.

    Returns
    -------
    (k,) float64
    """
    with _lock:
        if not (_latest and _latest[0]() is vertices_mm and _latest[1]() is faces):
            # Heavy, and a sound mesh never needs it.
            import igl

            tree = igl.FastWindingNumberBVH()
            # The binding refuses read-only arrays, so they are copied.
            points, triangles = _split(*_light(vertices_mm, faces))
            tree.init(np.array(points, dtype=np.float64), np.array(triangles, dtype=np.int64))
            _latest[:] = [weakref.ref(vertices_mm), weakref.ref(faces), tree]
        return _latest[2].winding_number(
            np.ascontiguousarray(points_mm, dtype=np.float64), accuracy
        )


def find_inside(vertices_mm: np.ndarray, faces: np.ndarray, points_mm: np.ndarray) -> np.ndarray:
    """Points (k, 3) that lie inside of a surface with holes: winding number over a half, (k,).

    Roughly first, which tells nearly all; the others at full accuracy.
    """
    winding = winding_numbers(vertices_mm, faces, points_mm, accuracy=_ROUGH)
    is_near = np.abs(winding - 0.5) < _ROUGH_ERROR
    if is_near.any():
        winding[is_near] = winding_numbers(vertices_mm, faces, points_mm[is_near])
    return winding > 0.5


def _light(vertices_mm, faces):
    """The surface itself, or a copy of at most about `MAX_FACETS`."""
    if len(faces) <= MAX_FACETS:
        return vertices_mm, faces
    corners = vertices_mm[faces[:: len(faces) // 100_000]]
    crossed = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    area_mm2 = 0.5 * float(np.linalg.norm(crossed, axis=1).mean()) * len(faces)
    # A surface crosses about 1.5 cubes a square of their size; two facets a vertex.
    return draw_together(vertices_mm, faces, cell_mm=float(np.sqrt(3 * area_mm2 / MAX_FACETS)))


def _split(vertices_mm, faces):
    """The same surface in shorter facets, as far as their number allows."""
    corners = vertices_mm[faces]
    longest_mm = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).max(axis=1)
    size_mm = float(np.ptp(vertices_mm, axis=0).max())
    for share in _SPLIT_TO:
        halvings = np.ceil(np.log2(np.maximum(longest_mm / (share * size_mm), 1)))
        if (4.0**halvings).sum() <= _MAX_SPLIT:
            from trimesh import remesh

            return remesh.subdivide_to_size(
                vertices_mm, faces, share * size_mm, max_iter=int(halvings.max()) + 1
            )
    return vertices_mm, faces
