"""A light stand-in for a heavy mesh, for searching over directions."""

from functools import lru_cache

import fast_simplification
import numpy as np

from castplan.columns.cluster import draw_together
from castplan.part.records import Part

# The heaviest stand-in, which the view shows, and its cubes along the side of a square
# as large as the surface: about 512 along a compact part, however the file turns it.
HALFWAY = 50_000
HALFWAY_ACROSS = 1250


def thin_out(part: Part, *, n_triangles: int, cell_mm: float):
    """Vertices and faces of a lighter copy of the part, holes capped.

    Vertices are first drawn together within cubes of `cell_mm` (Rossignac and
    Borrel 1993): mapping vertices sends closed surfaces to closed surfaces,
    so columns still close, and no vertex moves further than the cube's
    diagonal. Quadric edge collapse (Garland and Heckbert 1997) then takes the
    rest down to `n_triangles`.

    Parameters
    ----------
    part : Part
    n_triangles : int
    cell_mm : float

    Returns
    -------
    vertices_mm : (n, 3) float64
    faces : (m, 3) int32
    """
    vertices = part.vertices_mm
    faces = np.concatenate([part.faces, part.cap_faces])
    if len(faces) <= n_triangles:
        return vertices, faces
    if len(faces) > 2 * HALFWAY and n_triangles <= 2 * HALFWAY:
        vertices, faces = _halfway(part)
    if len(faces) > 4 * n_triangles:
        vertices, faces = draw_together(vertices, faces, cell_mm=cell_mm)
    return collapse(vertices, faces, n_triangles=n_triangles)


@lru_cache(maxsize=1)
def _halfway(part):
    """A copy of a heavy part that all its stand-ins are made from: once, not for each."""
    faces = np.concatenate([part.faces, part.cap_faces])
    cell_mm = part.check.area_mm2**0.5 / HALFWAY_ACROSS
    vertices = part.vertices_mm
    if len(faces) > 4 * HALFWAY:
        vertices, faces = draw_together(vertices, faces, cell_mm=cell_mm)
    return collapse(vertices, faces, n_triangles=HALFWAY)


def collapse(vertices_mm, faces, *, n_triangles: int):
    """At most so many triangles of a surface, by quadric edge collapse; a light one as it is.

    Parameters
    ----------
    vertices_mm : (n, 3) float64
    faces : (m, 3) int32
    n_triangles : int
    """
    if len(faces) <= n_triangles:
        return vertices_mm, faces
    points, triangles = fast_simplification.simplify(
        # The binding refuses read-only arrays, so both are copied.
        np.array(vertices_mm),
        np.array(faces, dtype=np.int32),
        target_count=n_triangles,
    )
    return points.astype(np.float64), triangles.astype(np.int32)
