"""A light stand-in for a heavy mesh, for searching over directions."""

import fast_simplification
import numpy as np

from castplan.columns.cluster import draw_together
from castplan.model import Part


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
    if len(faces) > 4 * n_triangles:
        vertices, faces = draw_together(vertices, faces, cell_mm=cell_mm)
    return collapse(vertices, faces, n_triangles=n_triangles)


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
