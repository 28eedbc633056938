"""Pictures of where the part's sides have little draft, from four sides."""

import numpy as np
from scipy import ndimage

from castplan.columns import contours, raster
from castplan.columns.field import grid_shape
from castplan.memory import remembered
from castplan.part.records import Part
from castplan.record import Frame
from castplan.split.records import DraftView

ACROSS = 384
# Limits as in the table of areas; a vertical wall in rounded numbers is not
# negative draft, and one column of height error over ten shows as 0.3 degrees.
LIMITS_DEG = (0.0, 1.0, 3.0)
ROUNDING_DEG = 0.3
# A patch smaller than this on paper is a speck.
LEAST_MM2 = 2.0
# A height step of this many pitches between neighbours is an edge, not a slope.
EDGE_PITCHES = 4.0

# Rows are right, up, and towards the eye, in the draw frame.
_VIEWS = {
    "front": np.array([[1.0, 0, 0], [0, 0, 1], [0, -1, 0]]),
    "right": np.array([[0.0, 1, 0], [0, 0, 1], [1, 0, 0]]),
    "back": np.array([[-1.0, 0, 0], [0, 0, 1], [0, 1, 0]]),
    "left": np.array([[0.0, -1, 0], [0, 0, 1], [-1, 0, 0]]),
}


@remembered
def draw_draft(part: Part, frame: Frame, *, parting_mm: float) -> tuple[DraftView, ...]:
    """Draw the zones of low draft that each side shows.

    Parameters
    ----------
    part : Part
    frame : Frame
        The draw frame.
    parting_mm : float
        Above it the surface belongs to the upper half, below to the lower.

    Returns
    -------
    tuple of DraftView
        Front, right, back, left.
    """
    return tuple(
        _look(part, view @ frame.rotation, name, parting_mm) for name, view in _VIEWS.items()
    )


@remembered
def _heights(part, rotation):
    """The surface as it is seen, nan where there is none, with its corner and pitch."""
    pitch_mm = max(part.check.extent_mm) / ACROSS
    low, high = raster.turned_bounds(part.vertices_mm, rotation)
    x0, y0, n_x, n_y = grid_shape(low, high, pitch_mm=pitch_mm)
    grid = raster.to_grid(part.vertices_mm, rotation, x0, y0, pitch_mm)
    faces = np.concatenate([part.faces, part.cap_faces])
    start, z, _ = raster.find_crossings(grid, faces, n_x, n_y)
    full = np.diff(start) > 0
    height = np.full(n_x * n_y, np.nan)
    height[full] = z[start[1:][full] - 1]
    return height.reshape(n_y, n_x), float(x0), float(y0), pitch_mm


def _look(part, rotation, name, parting_mm):
    height, x0, y0, pitch_mm = _heights(part, rotation)
    draft = _draft_deg(height, pitch_mm)
    y = y0 + (np.arange(len(height)) + 0.5) * pitch_mm
    draft = np.where(y[:, None] >= parting_mm, draft, -draft)
    where = {"x0_mm": x0, "y0_mm": y0, "pitch_mm": pitch_mm}
    zones = []
    least = -np.inf
    for k, limit in enumerate(LIMITS_DEG):
        edge = limit - ROUNDING_DEG if k == 0 else limit
        # nan compares false: what is no surface, or an edge, is in no zone.
        mask = ndimage.binary_opening((draft >= least) & (draft < edge), np.ones((3, 3)))
        least = edge
        zones += [
            (limit, ring) for ring in contours.rings(mask, **where) if _area(ring) >= LEAST_MM2
        ]
    return DraftView(
        name=name,
        pitch_mm=pitch_mm,
        outline=tuple(contours.rings(np.isfinite(height), **where)),
        zones=tuple(zones),
    )


def _draft_deg(height, pitch_mm):
    """Angle of the surface against the view's up, positive where it looks up."""
    steps = [np.diff(height, axis=k, prepend=np.nan) for k in (0, 1)]
    for step in steps:
        step[np.abs(step) > EDGE_PITCHES * pitch_mm] = np.nan
    up, across = (step / pitch_mm for step in steps)
    return np.degrees(np.arcsin(-up / np.sqrt(1 + up**2 + across**2)))


def _area(ring):
    x, y = ring.T
    return 0.5 * abs(float(np.sum(x[:-1] * y[1:] - x[1:] * y[:-1])))
