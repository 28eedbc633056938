"""How finely a view has to be sampled: what is long and thin needs more than what is compact."""

import math

import numpy as np

from castplan.columns.field import ColumnField, lattice_of, sample
from castplan.columns.raster import compiled

# Columns across what is thin: with three a slanted wall already breaks up where
# the lattice falls badly, and an outline of less is none.
THIN_COLUMNS = 4
# A view that shows less than this share of (longest side / pitch)^2 columns may
# be sampled finer; a compact part shows more along every direction.
SHADOW_FRACTION = 0.25
# An outline of wire spans a wide grid of which it fills little; empty cells are
# cheap, but not free.
MOST_CELLS = 8


@compiled
def _measure(vertices, faces, lattice):
    """Volume, area and shadow along the third row, and bounds along all three: (3,), (2, 3)."""
    low = np.full(3, np.inf)
    high = np.full(3, -np.inf)
    for k in range(vertices.shape[0]):
        for axis in range(3):
            value = 0.0
            for j in range(3):
                value += lattice[axis, j] * vertices[k, j]
            low[axis] = min(low[axis], value)
            high[axis] = max(high[axis], value)
    volume = area = shadow = 0.0
    # From a corner of the part, so that one far from the origin loses no digits.
    x0, y0, z0 = vertices[faces[0, 0]]
    for m in range(faces.shape[0]):
        ax, ay, az = vertices[faces[m, 0]]
        bx, by, bz = vertices[faces[m, 1]]
        cx, cy, cz = vertices[faces[m, 2]]
        ux, uy, uz, vx, vy, vz = bx - ax, by - ay, bz - az, cx - ax, cy - ay, cz - az
        nx, ny, nz = uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx
        area += math.sqrt(nx * nx + ny * ny + nz * nz)
        shadow += abs(nx * lattice[2, 0] + ny * lattice[2, 1] + nz * lattice[2, 2])
        volume += nx * (ax - x0) + ny * (ay - y0) + nz * (az - z0)
    return np.array([abs(volume) / 6, area / 2, shadow / 4]), high - low


def _read_only(array, dtype):
    """A read-only view in one layout, so that the kernel is compiled once."""
    view = np.ascontiguousarray(array, dtype=dtype).view()
    view.flags.writeable = False
    return view


def view_pitch(vertices_mm, faces, rotation, *, pitch_mm: float) -> float:
    """Pitch for one view of a part, finer than the usual one where the part needs it.

    A strip seen on edge, a rod or a ring of wire falls between the columns of
    a pitch that is a share of its length. Where the view shows few columns the
    pitch is made finer, until `THIN_COLUMNS` lie across the thinnest of the
    part (twice its volume by its area: a sheet's thickness, half a rod's) or
    the view shows `SHADOW_FRACTION` of the columns that a square would.

    Parameters
    ----------
    vertices_mm : (n, 3) float64
    faces : (m, 3) int32, closed
    rotation : (3, 3) float64
        The third row is the direction.
    pitch_mm : float
        Pitch of a compact part as long as this one; the answer is never coarser.

    Returns
    -------
    float
    """
    (volume, area, shadow), size = _measure(
        _read_only(vertices_mm, np.float64), _read_only(faces, np.int32), lattice_of(rotation)
    )
    if not (area > 0 and shadow > 0):
        return pitch_mm
    across = float(size.max()) / pitch_mm
    thin_mm = 2 * volume / area / THIN_COLUMNS
    sparse_mm = math.sqrt(shadow / SHADOW_FRACTION) / across
    wide_mm = math.sqrt(float(size[0] * size[1]) / MOST_CELLS) / across
    return min(pitch_mm, max(thin_mm, sparse_mm, wide_mm))


def sample_view(vertices_mm, faces, cap_faces, rotation, *, pitch_mm: float) -> ColumnField:
    """Sample along the third row of a rotation, finer than a pitch where the view needs it.

    Parameters
    ----------
    vertices_mm, faces, cap_faces, rotation
        As for `field.sample`.
    pitch_mm : float
        As for `view_pitch`.
    """
    closed = np.concatenate([faces, cap_faces]) if len(cap_faces) else faces
    fine_mm = view_pitch(vertices_mm, closed, rotation, pitch_mm=pitch_mm)
    return sample(vertices_mm, faces, cap_faces, rotation, pitch_mm=fine_mm)
