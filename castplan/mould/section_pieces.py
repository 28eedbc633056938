"""Loose pieces in a cut through the assembly."""

import numpy as np
import shapely

from castplan.columns import contours
from castplan.geometry import slide
from castplan.mould.cut import Cut
from castplan.part.records import Part
from castplan.part.study import sample_part

ACROSS = 500  # points along the longer side of the cut
SPECK_MM2 = 0.5


def piece_cuts(part: Part, cut: Cut, *, along: int, at_mm: float) -> list[tuple[str, np.ndarray]]:
    """Rings of the loose pieces that a cut along an axis meets, with their labels.

    Parameters
    ----------
    part : Part
    cut : Cut
    along : int
        The axis, 0 or 1, of the draw frame.
    at_mm : float
        Where the cut lies on the other.

    Returns
    -------
    list of (label, (k, 2) float64)
        Along and up, first point not repeated; within a step of the grid.
    """
    if not cut.pieces:
        return []
    low, high = np.asarray(cut.box.low_mm), np.asarray(cut.box.high_mm)
    step_mm = float((high - low)[[along, 2]].max()) / ACROSS
    run, up = (np.arange(low[k] + 0.5 * step_mm, high[k], step_mm) for k in (along, 2))
    points = np.empty((len(up), len(run), 3))
    points[..., along], points[..., 2], points[..., 1 - along] = run, up[:, None], at_mm
    flat = cut.frame.to_part(points.reshape(-1, 3))
    body = np.zeros(len(flat), dtype=bool)
    found = []
    for piece in cut.pieces:
        field = sample_part(part, piece.frame, pitch_mm=piece.pitch_mm)
        is_in = slide.holds(piece, field, piece.frame.to_frame(flat), skin_mm=0.0) & ~body
        body |= is_in
        corner = {"x0_mm": float(low[along]), "y0_mm": float(low[2])}
        rings = contours.rings(is_in.reshape(points.shape[:2]), pitch_mm=step_mm, **corner)
        found += [
            (piece.label, ring[:-1]) for ring in rings if shapely.Polygon(ring).area > SPECK_MM2
        ]
    return found
