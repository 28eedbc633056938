"""Inside or outside of a surface with holes: the generalised winding number.

Jacobson, Kavan and Sorkine-Hornung, ACM TOG 32 (2013) 33; here the fast
approximation of Barill and others, TOG 37 (2018) 43, as libigl computes it.
"""

import threading
import weakref

import numpy as np

_lock = threading.Lock()
_latest: list = []


def winding_numbers(vertices_mm: np.ndarray, faces: np.ndarray, points_mm: np.ndarray):
    """Winding number of a surface about points: 1 inside, 0 outside, between at holes.

    The tree over the surface is kept for the next call with the same arrays,
    as long as these live.

    Parameters
    ----------
    vertices_mm : (n, 3) float64
    faces : (m, 3) int
        Normals point out.
    points_mm : (k, 3) float64

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
            tree.init(np.array(vertices_mm, dtype=np.float64), np.array(faces, dtype=np.int64))
            _latest[:] = [weakref.ref(vertices_mm), weakref.ref(faces), tree]
        return _latest[2].winding_number(np.ascontiguousarray(points_mm, dtype=np.float64))
