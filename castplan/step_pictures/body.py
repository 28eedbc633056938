"""A closed surface, and which way its facets look once small roughness is smoothed."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.spatial import ConvexHull, QhullError

from castplan.columns.raster import compiled

# Facets of so fine a mesh are smoothed before their light and creases are told: a scan's
# noise is no edge. Those that lean more than this from the facets round them stay.
_FINE = 5_000
_ROUNDS = 3
_FEW = 500
_LIKE_COS = 0.75


@dataclass(frozen=True, eq=False)
class Body:
    """Corners (n, 3) [mm] and facets (m, 3), looking outward."""

    corners_mm: np.ndarray
    facets: np.ndarray

    @cached_property
    def outermost_mm(self) -> np.ndarray:
        """Corners of its hull, or all of few, (k, 3): what a picture must hold."""
        if len(self.corners_mm) <= _FEW:
            return self.corners_mm
        try:
            return self.corners_mm[np.sort(ConvexHull(self.corners_mm).vertices)]
        except QhullError:  # flat
            return self.corners_mm

    @cached_property
    def normals(self) -> np.ndarray:
        """Unit normals of the facets, smoothed where the mesh is fine, (m, 3) float32."""
        corners = np.ascontiguousarray(self.corners_mm, dtype=np.float64)
        facets = np.ascontiguousarray(self.facets, dtype=np.int32)
        return _normals(corners, facets, _ROUNDS if len(facets) > _FINE else 0)


def carried(points, turn, shift) -> np.ndarray:
    """Points (n, 3) turned by a matrix (3, 3) and shifted, (n, 3) float64.

    Row by row on one core: a matrix product of so many rows of three spends its time
    on handing them to threads.
    """
    out = np.empty((len(points), 3))
    for row, along in enumerate(_turned(points, turn)):
        np.add(along, shift[row], out=out[:, row])
    return out


def ahead(normals, turn) -> np.ndarray:
    """Normals (m, 3) turned by a matrix (3, 3), those that look away the other way; float32."""
    out = np.empty((len(normals), 3), np.float32)
    along = _turned(normals, turn)
    looks_away = along[2] < 0
    for row in range(3):
        np.negative(along[row], out=along[row], where=looks_away)
        out[:, row] = along[row]
    return out


def _turned(points, turn):
    x, y, z = np.array(points, dtype=np.float64, order="F").T
    return [row[0] * x + row[1] * y + row[2] * z for row in np.asarray(turn, dtype=np.float64)]


@compiled
def _normals(corners, facets, rounds):
    m = facets.shape[0]
    unit = np.zeros((m, 3))
    size = np.zeros(m)
    for f in range(m):
        a, b, c = facets[f, 0], facets[f, 1], facets[f, 2]
        ux, uy, uz = (
            corners[b, 0] - corners[a, 0],
            corners[b, 1] - corners[a, 1],
            corners[b, 2] - corners[a, 2],
        )
        vx, vy, vz = (
            corners[c, 0] - corners[a, 0],
            corners[c, 1] - corners[a, 1],
            corners[c, 2] - corners[a, 2],
        )
        unit[f, 0], unit[f, 1], unit[f, 2] = uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx
        size[f] = np.sqrt(unit[f, 0] ** 2 + unit[f, 1] ** 2 + unit[f, 2] ** 2)
        for k in range(3):
            unit[f, k] /= max(size[f], 1e-12)
    own = unit.copy()
    for _ in range(rounds):
        at = np.zeros((corners.shape[0], 3))
        for f in range(m):
            for e in range(3):
                for k in range(3):
                    at[facets[f, e], k] += size[f] * unit[f, k]
        for f in range(m):
            x = y = z = 0.0
            for e in range(3):
                x += at[facets[f, e], 0]
                y += at[facets[f, e], 1]
                z += at[facets[f, e], 2]
            long = max(np.sqrt(x * x + y * y + z * z), 1e-12)
            if (x * own[f, 0] + y * own[f, 1] + z * own[f, 2]) / long > _LIKE_COS:
                unit[f, 0], unit[f, 1], unit[f, 2] = x / long, y / long, z / long
    return unit.astype(np.float32)
