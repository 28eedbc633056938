"""Soft shading: how much light from all round comes to each facet of a surface."""

import numpy as np

from castplan.columns.field import sample
from castplan.geometry import frames
from castplan.geometry.refine import across_edges

N_EVENED = 6  # times that neighbours even each other out
ACROSS = 96  # columns along the longest side
# Directions of the light, either way: 25 lines through nodes of a lattice, near even.
_STEPS = np.array(np.meshgrid(*[np.arange(-2, 3)] * 3, indexing="ij")).reshape(3, -1).T
_WAYS = np.array(
    [w for w in _STEPS[63:] if np.gcd.reduce(w) == 1 and np.abs(w).sum() <= 3], dtype=float
)
# Shares of the sphere that lie nearest to each, by the square of its length; the areas of
# their Voronoi cells, which for all 50 add up to 50.
_CELL = {1: 0.8405, 2: 0.7725, 3: 1.4331, 5: 1.0092}


def open_fraction(points_mm: np.ndarray, faces: np.ndarray) -> np.ndarray:
    """Share of the light from all round that comes to facets past the surface itself.

    Light comes from `_WAYS` and their opposites, each weighed by its share of the sphere
    and by its cosine to the facet, as a dull surface takes it.

    Parameters
    ----------
    points_mm : (n, 3)
    faces : (m, 3)
        Of a closed surface; of one with holes, columns that they leave open count as empty.

    Returns
    -------
    (m,)
        0 to 1; 1 for every facet of a convex body.
    """
    corners = points_mm[faces]
    centre = corners.mean(axis=1)
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    normal /= np.maximum(np.linalg.norm(normal, axis=1), 1e-300)[:, None]
    pitch_mm = float(np.ptp(points_mm, axis=0).max()) / ACROSS
    # Clear of the columns of the facet itself: one covers it by up to a pitch.
    points = centre + 1.5 * pitch_mm * normal
    lit, all_light = np.zeros(len(faces)), np.zeros(len(faces))
    for way in _WAYS:
        square = way @ way
        cosine = normal @ (way / np.sqrt(square))
        turn = frames.turn_to(way)
        field = sample(points_mm, faces, faces[:0], turn, pitch_mm=pitch_mm)
        turned = points @ turn.T
        above, below = _ends(field, turned)
        is_lit = np.where(cosine > 0, above <= turned[:, 2], below >= turned[:, 2])
        light = _CELL[int(square)] * np.abs(cosine)
        lit += light * is_lit
        all_light += light
    share = lit / all_light
    # The light comes in steps of a direction: neighbours of one slope even them out.
    beside = across_edges(faces, len(points_mm))
    for _ in range(N_EVENED):
        is_alike = (normal[beside] * normal[:, None]).sum(axis=2) > 0.9
        weight = np.column_stack([np.ones(len(faces)), is_alike])
        share = (weight * share[np.column_stack([np.arange(len(faces)), beside])]).sum(axis=1)
        share /= weight.sum(axis=1)
    return share


def _ends(field, points_mm):
    """Highest and lowest solid in the column of each point, (m,) each; none beside the field."""
    column = field.columns_at(points_mm[:, :2])
    off_mm = np.abs(field.centre_mm(column) - points_mm[:, :2]).max(axis=1)
    is_on = off_mm <= field.pitch_mm
    above = np.where(is_on, field.highest_mm[column], -np.inf)
    return above, np.where(is_on, field.lowest_mm[column], np.inf)
