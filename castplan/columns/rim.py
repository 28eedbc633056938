"""The outline of a part seen along the draw, station by station.

At a station of the rim a split traps nothing if it lies between the lowest
and the highest solid of the columns just inside the outline. Columns right on
the outline would ask for the top of every bump of a rough wall, so the range
is read a sliver inside: rubber that thin flexes off.
"""

from dataclasses import dataclass

import contourpy
import numpy as np
from scipy import ndimage

from castplan.columns.field import ColumnField, to_xy
from castplan.columns.raster import compiled

# Rubber thinner than this leaves any edge (assumed; about a sheet of paper).
SLIVER_MM = 0.1
MAX_STATIONS = 720
# A hole smaller than this many columns across is sampling or scan noise.
LEAST_HOLE_COLUMNS = 3


@dataclass(frozen=True, kw_only=True, eq=False)
class Rim:
    """Evenly spaced stations of one ring; ranges of heights that trap nothing."""

    points_mm: np.ndarray  # (k, 2) frame
    outward: np.ndarray  # (k, 2) unit, away from the part
    low_mm: np.ndarray  # (k,)
    high_mm: np.ndarray  # (k,)
    spacing_mm: float
    area_mm2: float
    is_hole: bool
    width_mm: float  # of the widest circle inside a hole; 0 for an outline
    inside: np.ndarray  # (c,) int64 columns of a hole; empty for an outline

    @property
    def length_mm(self) -> float:
        """Around the ring."""
        return self.spacing_mm * len(self.low_mm)


def find_rims(field: ColumnField) -> list[Rim]:
    """Every outline and every hole of the shadow, largest first.

    Parameters
    ----------
    field : ColumnField
        Sampled along the draw.

    Returns
    -------
    list of Rim
        Outlines and holes smaller than `LEAST_HOLE_COLUMNS` across are left out.
    """
    mask = (np.diff(field.first) > 0).reshape(field.n_y, field.n_x)
    rings = contourpy.contour_generator(z=mask.astype(float)).lines(0.5)
    areas = np.array([_area(ring) for ring in rings])
    if not rings:
        return []
    outer_sign = np.sign(areas[np.argmax(np.abs(areas))])
    # From the middle of a void to the middle of a column of part: half a pitch more
    # than to the wall.
    voids, _ = ndimage.label(~mask)
    hole_width = (2 * ndimage.distance_transform_edt(~mask) - 1) * field.pitch_mm
    rims = []
    for k in np.argsort(-np.abs(areas), kind="stable"):
        if abs(areas[k]) < LEAST_HOLE_COLUMNS**2:
            continue
        is_hole = np.sign(areas[k]) != outer_sign
        rims.append(_stations(field, mask, rings[k], areas[k], is_hole, hole_width, voids))
    return rims


def _area(ring):
    x, y = ring.T
    return 0.5 * float(np.sum(x[:-1] * y[1:] - x[1:] * y[:-1]))


def _stations(field, mask, ring, area, is_hole, hole_width, voids):
    """Resample a ring given in column indices and read the ranges inside it."""
    smooth = _smoothed(ring)
    steps = np.linalg.norm(np.diff(smooth, axis=0), axis=1)
    along = np.concatenate([[0.0], np.cumsum(steps)])
    n = int(np.clip(along[-1] / 2, 8, MAX_STATIONS))
    at = (np.arange(n) + 0.5) * along[-1] / n
    points = np.stack([np.interp(at, along, smooth[:, k]) for k in range(2)], axis=1)
    ahead = np.roll(points, -1, axis=0) - np.roll(points, 1, axis=0)
    ahead /= np.maximum(np.linalg.norm(ahead, axis=1), 1e-12)[:, None]
    # The part lies on the left of a ring that encloses it counter-clockwise.
    turn = 1.0 if (area > 0) != is_hole else -1.0
    inward = turn * np.stack([-ahead[:, 1], ahead[:, 0]], axis=1)
    low, high = _ranges(field, mask, points, inward)
    lattice = np.array([field.u0_mm, field.v0_mm]) + (points + 0.5) * field.pitch_mm
    width, inside = 0.0, np.zeros(0, dtype=np.int64)
    if is_hole:
        # One end of every ring vertex is a void column of this hole.
        i, row = _empty_side(mask, ring[0])
        inside = np.flatnonzero(voids.ravel() == voids[row, i])
        width = float(hole_width.ravel()[inside].max())
    return Rim(
        points_mm=to_xy(lattice),
        outward=-to_xy(inward),
        low_mm=low,
        high_mm=high,
        spacing_mm=float(along[-1] / n * field.pitch_mm),
        area_mm2=float(abs(area) * field.cell_mm2),
        is_hole=bool(is_hole),
        width_mm=width,
        inside=inside,
    )


def _empty_side(mask, vertex):
    """The column without part of the two that a ring vertex lies between: (i, row)."""
    ends = np.stack([np.floor(vertex), np.ceil(vertex)]).astype(int)
    return next((i, row) for i, row in ends if not mask[row, i])


def _smoothed(ring):
    """The stairs of a ring on a lattice taken off: a running mean, still closed."""
    body = ring[:-1]
    width = min(5, len(body))
    wrapped = np.concatenate([body[-(width // 2) :], body, body[: width // 2]])
    kernel = np.full(width, 1 / width)
    mean = np.stack([np.convolve(wrapped[:, k], kernel, "valid") for k in range(2)], axis=1)
    return np.concatenate([mean, mean[:1]])


def _ranges(field, mask, points, inward):
    """Lowest and highest solid a sliver inside each station."""
    depth = max(1.5, SLIVER_MM / field.pitch_mm)
    n_y, n_x = mask.shape
    low = np.full(len(points), np.nan)
    high = np.full(len(points), np.nan)
    # Thin walls end before the full sliver: step back out until there is part.
    for share in (1.0, 0.6, 0.3, 0.0):
        at = np.rint(points + share * depth * inward).astype(int)
        i, row = np.clip(at[:, 0], 0, n_x - 1), np.clip(at[:, 1], 0, n_y - 1)
        column = row * n_x + i
        use = np.isnan(low) & mask[row, i]
        low[use] = field.lowest_mm[column[use]]
        high[use] = field.highest_mm[column[use]]
    return _fill_gaps(low), _fill_gaps(high)


def _fill_gaps(values):
    """Stations that found no part take the nearest one that did."""
    known = np.flatnonzero(~np.isnan(values))
    n = len(values)
    away = np.abs(np.arange(n)[:, None] - known[None, :])
    nearest = known[np.argmin(np.minimum(away, n - away), axis=1)]
    return values[nearest]


@compiled
def taut_line(low, high, target, pull, n_sweeps):
    """Smoothest closed line within ranges: successive over-relaxation, clamped.

    Minimises the sum of squared steps plus `pull` times the squared distance
    from `target`, subject to low <= line <= high; a convex problem, so the
    projected sweep converges to its one answer (Cryer, SIAM J. Control 9
    (1971) 385-392).

    Parameters
    ----------
    low, high, target : (n,) float64 [mm]
    pull : float
    n_sweeps : int

    Returns
    -------
    (n,) float64 [mm]
    """
    n = low.size
    line = np.minimum(np.maximum(target, low), high)
    for _ in range(n_sweeps):
        most = 0.0
        for k in range(n):
            free = (line[k - 1] + line[(k + 1) % n] + pull * target[k]) / (2.0 + pull)
            new = line[k] + 1.8 * (free - line[k])
            new = min(max(new, low[k]), high[k])
            most = max(most, abs(new - line[k]))
            line[k] = new
        if most < 1e-5:
            break
    return line
