"""The column field: a part seen along one direction, as solid intervals.

Exact along the direction, sampled across it at one pitch. The lattice of
columns stands askew to the frame: a wall that ran along a lattice row would
gain or lose a whole row of columns at once, a slanted one only in parts.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from castplan.columns import raster
from castplan.columns.holes import find_unsure
from castplan.columns.winding import find_inside

# What one column costs while a plan is made, all working arrays together
# (measured on scans with four crossings a column: 250 bytes).
# More intervals than this, half as many again as a cube has, are sampled coarser.
MOST_INTERVALS = 600_000
BYTES_PER_COLUMN = 300
FINEST_PITCH_MM = 0.02
# Half the golden ratio's inverse: far from the simple slopes of made things.
_ASKEW = np.arctan(0.25 * (np.sqrt(5) - 1))
_LATTICE = np.array(
    [[np.cos(_ASKEW), np.sin(_ASKEW), 0], [-np.sin(_ASKEW), np.cos(_ASKEW), 0], [0, 0, 1]]
)


@dataclass(frozen=True, kw_only=True, eq=False)
class ColumnField:
    """Solid intervals on a square grid of columns, in the frame's coordinates.

    Column c = row * n_x + i stands at u = u0_mm + (i + 0.5) pitch_mm,
    v = v0_mm + (row + 0.5) pitch_mm of the lattice; `to_xy` turns that into
    the frame. Its intervals are first[c]:first[c + 1]. A margin of one empty
    column surrounds the part on every side.
    """

    rotation: np.ndarray  # (3, 3), rows are the frame's axes in the part's
    pitch_mm: float
    u0_mm: float
    v0_mm: float
    n_x: int
    n_y: int
    first: np.ndarray  # (n_x * n_y + 1,) int64
    bottom_mm: np.ndarray  # (n,)
    top_mm: np.ndarray  # (n,)
    low_mm: np.ndarray  # (3,) exact bounds of the mesh in the frame
    high_mm: np.ndarray  # (3,)
    n_unclosed: int
    is_doubtful: np.ndarray  # (n_x * n_y,) bool; a hole leaves the column open

    @property
    def n_decided(self) -> int:
        """Columns decided by the winding number."""
        return int(np.count_nonzero(self.is_doubtful))

    @property
    def cell_mm2(self) -> float:
        """Area of one column."""
        return self.pitch_mm**2

    @property
    def volume_mm3(self) -> float:
        """Solid volume as sampled."""
        return float((self.top_mm - self.bottom_mm).sum() * self.cell_mm2)

    @cached_property
    def column_of(self) -> np.ndarray:
        """Column of each interval, (n,) int64."""
        return np.repeat(np.arange(self.n_x * self.n_y), np.diff(self.first))

    @cached_property
    def lowest_mm(self) -> np.ndarray:
        """Lowest solid height per column, (n_x * n_y,); +inf where empty."""
        return self._end(self.bottom_mm, self.first[:-1], np.inf)

    @cached_property
    def highest_mm(self) -> np.ndarray:
        """Highest solid height per column, (n_x * n_y,); -inf where empty."""
        return self._end(self.top_mm, self.first[1:] - 1, -np.inf)

    def _end(self, values, index, empty):
        full = np.diff(self.first) > 0
        out = np.full(full.size, empty)
        out[full] = values[index[full]]
        return out

    def centre_mm(self, columns) -> np.ndarray:
        """x, y of columns (k,) in the frame -> (k, 2)."""
        row, i = np.divmod(np.asarray(columns), self.n_x)
        u = self.u0_mm + (i + 0.5) * self.pitch_mm
        v = self.v0_mm + (row + 0.5) * self.pitch_mm
        # Written out: the general product costs many times that where it runs on threads.
        out = np.empty((*u.shape, 2))
        for k in (0, 1):
            out[..., k] = u * _LATTICE[0, k] + v * _LATTICE[1, k]
        return out

    def column_at(self, *, x_mm: float, y_mm: float) -> int:
        """Column that contains a point of the frame."""
        return int(self.columns_at(np.array([[x_mm, y_mm]]))[0])

    def columns_at(self, points_mm) -> np.ndarray:
        """Columns that contain points (k, 2) of the frame, the nearest if outside: (k,)."""
        cell = (points_mm @ _LATTICE[:2, :2].T - (self.u0_mm, self.v0_mm)) // self.pitch_mm
        i = np.clip(cell[:, 0].astype(np.int64), 0, self.n_x - 1)
        return np.clip(cell[:, 1].astype(np.int64), 0, self.n_y - 1) * self.n_x + i

    def mask_of(self, columns) -> tuple[np.ndarray, tuple[int, int]]:
        """Columns (k,) as a mask of the least rows and columns that hold them, and its corner."""
        row, i = np.divmod(np.asarray(columns), self.n_x)
        corner = int(row.min()), int(i.min())
        mask = np.zeros((int(row.max()) - corner[0] + 1, int(i.max()) - corner[1] + 1), dtype=bool)
        mask[row - corner[0], i - corner[1]] = True
        return mask, corner


def to_xy(points_mm) -> np.ndarray:
    """Turn lattice points (k, 2) into x, y of the frame, (k, 2)."""
    return np.asarray(points_mm) @ _LATTICE[:2, :2]


def lattice_of(rotation) -> np.ndarray:
    """Axes of the lattice of columns of a frame, rows in the part's, (3, 3)."""
    return _LATTICE @ rotation


def choose_pitch(extent_mm, *, area_mm2: float, memory_mb: float) -> float:
    """Pitch for a part: 512 columns along its longest side, memory and time allowing.

    Parameters
    ----------
    extent_mm : (3,) array_like
    area_mm2 : float
        Surface of the part. A sponge has many times that of a block of its size, and its
        columns as many intervals.
    memory_mb : float
        Bound on the working arrays of one field.
    """
    sides_mm = np.sort(np.asarray(extent_mm, dtype=float))
    fine_mm = sides_mm[2] / 512
    # The widest view shows about the two longest sides.
    shadow_mm2 = sides_mm[2] * max(sides_mm[1], fine_mm)
    affordable_mm = np.sqrt(shadow_mm2 * BYTES_PER_COLUMN / (memory_mb * 1e6))
    # Of all directions a quarter of the surface is the mean shadow, each fold of it
    # counted (Cauchy's formula; Santalo, Integral Geometry and Geometric Probability).
    crowded_mm = np.sqrt(area_mm2 / 4 / MOST_INTERVALS)
    return float(max(fine_mm, affordable_mm, crowded_mm, FINEST_PITCH_MM))


def grid_shape(low_mm, high_mm, *, pitch_mm: float):
    """Grid that covers bounds with one empty column around: (x0, y0, n_x, n_y).

    The part sits centred, so that mirrored parts get mirrored columns.
    """
    n_x = int(np.ceil((high_mm[0] - low_mm[0]) / pitch_mm)) + 2
    n_y = int(np.ceil((high_mm[1] - low_mm[1]) / pitch_mm)) + 2
    x0_mm = 0.5 * (low_mm[0] + high_mm[0] - n_x * pitch_mm)
    y0_mm = 0.5 * (low_mm[1] + high_mm[1] - n_y * pitch_mm)
    return x0_mm, y0_mm, n_x, n_y


def sample(vertices_mm, faces, cap_faces, rotation, *, pitch_mm: float) -> ColumnField:
    """Sample a closed or nearly closed surface along the third row of a rotation.

    Columns that a hole in the mesh touches, or whose crossings do not close,
    are decided segment by segment by the generalised winding number (Jacobson
    et al. 2013; libigl's fast version), and counted. It is asked in one go, and
    only where `holes` cannot tell what it would say.

    Parameters
    ----------
    vertices_mm : (n, 3) float64
    faces : (m, 3) int32
        Normals point out of the part.
    cap_faces : (k, 3) int32
        Close the holes; they mark columns as doubtful and are no surface.
    rotation : (3, 3) float64
    pitch_mm : float

    Returns
    -------
    ColumnField
    """
    lattice = lattice_of(rotation)
    if not len(cap_faces):
        field, n_unclosed = _sample_closed(vertices_mm, faces, rotation, lattice, pitch_mm)
        if not n_unclosed:
            return field
    low_mm, high_mm = raster.turned_bounds(vertices_mm, rotation)
    u0_mm, v0_mm, n_x, n_y = grid_shape(
        *raster.turned_bounds(vertices_mm, lattice), pitch_mm=pitch_mm
    )
    grid = raster.to_grid(vertices_mm, lattice, u0_mm, v0_mm, pitch_mm)
    crossed = faces
    is_cap_crossed = is_unclosed = np.zeros(n_x * n_y, dtype=bool)
    if len(cap_faces):
        cap_start, _, cap_sign = raster.find_crossings(grid, cap_faces, n_x, n_y)
        is_cap_crossed = np.diff(cap_start) > 0
        is_unclosed = _sums(cap_start, cap_sign) != 0
        crossed = np.concatenate([faces, cap_faces])
    start, z, sign = raster.find_crossings(grid, crossed, n_x, n_y)
    is_broken = _sums(start, sign) != 0
    is_doubtful = is_cap_crossed | is_broken
    is_unclosed |= is_broken
    is_inside = np.zeros(0, dtype=bool)
    if is_doubtful.any():
        is_inside = _decide(
            (vertices_mm, faces, cap_faces, lattice),
            (start, z, sign),
            is_doubtful,
            is_broken,
            (u0_mm, v0_mm, n_x, pitch_mm),
        )
    first, bottom, top = raster.wind(start, z, sign, is_doubtful, is_inside)
    return ColumnField(
        rotation=rotation,
        pitch_mm=pitch_mm,
        u0_mm=float(u0_mm),
        v0_mm=float(v0_mm),
        n_x=n_x,
        n_y=n_y,
        first=first,
        bottom_mm=bottom,
        top_mm=top,
        low_mm=low_mm,
        high_mm=high_mm,
        n_unclosed=int(is_unclosed.sum()),
        is_doubtful=is_doubtful,
    )


def _sample_closed(vertices_mm, faces, rotation, lattice, pitch_mm):
    """Field of a surface without holes, and how many of its columns do not close."""
    bounds, u0_mm, v0_mm, n_x, n_y, first, bottom, top, is_doubtful, n_unclosed = (
        raster.sample_closed(vertices_mm, faces, rotation, lattice, pitch_mm)
    )
    field = ColumnField(
        rotation=rotation,
        pitch_mm=pitch_mm,
        u0_mm=u0_mm,
        v0_mm=v0_mm,
        n_x=n_x,
        n_y=n_y,
        first=first,
        bottom_mm=bottom,
        top_mm=top,
        low_mm=bounds[0],
        high_mm=bounds[1],
        n_unclosed=0,
        is_doubtful=is_doubtful,
    )
    return field, n_unclosed


def _sums(start, sign):
    """Signed crossings per column."""
    running = np.concatenate([[0], np.cumsum(sign, dtype=np.int64)])
    return running[start[1:]] - running[start[:-1]]


def _decide(surface, crossings, is_doubtful, is_broken, grid):
    """Inside or not, for each segment of the doubtful columns."""
    vertices_mm, faces, cap_faces, lattice = surface
    start, z, sign = crossings
    u0_mm, v0_mm, n_x, pitch_mm = grid
    counts = np.diff(start)
    column = np.repeat(np.arange(counts.size), counts)
    is_segment = is_doubtful[column]
    is_segment[start[1:][counts > 0] - 1] = False  # nothing above the last crossing
    below = np.flatnonzero(is_segment)
    # Facets that lie on each other leave segments of no length, thousands of them.
    below = below[z[below + 1] - z[below] > raster.TOUCH_MM]
    is_inside = np.zeros(z.size, dtype=bool)
    if not below.size:
        return is_inside
    row, i = np.divmod(column[below], n_x)
    middle = np.stack(
        [
            u0_mm + (i + 0.5) * pitch_mm,
            v0_mm + (row + 0.5) * pitch_mm,
            0.5 * (z[below] + z[below + 1]),
        ],
        axis=1,
    )
    points = middle @ lattice
    running = np.concatenate([[0], np.cumsum(sign, dtype=np.int64)])
    count = running[start[column[below]]] - running[below + 1]
    is_inside[below] = count > 0
    is_asked = is_broken[column[below]]
    if len(cap_faces):
        is_asked |= find_unsure(vertices_mm, cap_faces, points, count)
    if is_asked.any():
        is_inside[below[is_asked]] = find_inside(vertices_mm, faces, points[is_asked])
    return is_inside


def interval_at(field: ColumnField, point_mm) -> int:
    """The interval that holds a point (3,) of the field's frame, or the nearest to it."""
    x, y, z = point_mm
    across = np.linalg.norm(field.centre_mm(field.column_of) - (x, y), axis=1)
    beyond = np.maximum(field.bottom_mm - z, z - field.top_mm)
    return int(np.argmin(np.round(across + np.maximum(beyond, 0.0), 9)))
