"""A light stand-in for a heavy mesh, for searching over directions."""

import fast_simplification
import numpy as np

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
        vertices, faces = _cluster(vertices, faces, cell_mm)
    if len(faces) > n_triangles:
        points, triangles = fast_simplification.simplify(
            # The binding refuses read-only arrays, so both are copied.
            np.array(vertices),
            np.array(faces, dtype=np.int32),
            target_count=n_triangles,
        )
        vertices, faces = points.astype(np.float64), triangles.astype(np.int32)
    return vertices, faces


def _cluster(vertices, faces, cell_mm):
    cell = np.floor((vertices - vertices.min(axis=0)) / cell_mm).astype(np.int64)
    n = cell.max(axis=0) + 1
    _, group = np.unique(cell[:, 0] + n[0] * (cell[:, 1] + n[1] * cell[:, 2]), return_inverse=True)
    count = np.bincount(group)
    middle = np.stack([np.bincount(group, weights=vertices[:, k]) for k in range(3)], axis=1)
    mapped = group[faces]
    a, b, c = mapped.T
    kept = mapped[(a != b) & (b != c) & (c != a)]
    return middle / count[:, None], kept.astype(np.int32)
