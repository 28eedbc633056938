"""Points spread evenly over a surface, to ask it how it looks without asking every facet."""

from typing import NamedTuple

import numpy as np

# Steps of the additive recurrence in two dimensions that leaves no gaps (Roberts
# 2018, "The unreasonable effectiveness of quasirandom sequences").
_STEPS = (0.7548776662466927, 0.5698402909980532)


class Spread(NamedTuple):
    """Points of a surface, each for the same share of it."""

    points_mm: np.ndarray  # (n, 3)
    normals: np.ndarray  # (n, 3) out of the body
    share_mm2: float


def spread_over(vertices_mm, faces, *, count: int) -> Spread:
    """Take points at equal steps of the summed area, so that each facet gets its share.

    Parameters
    ----------
    vertices_mm : (n, 3) float64
    faces : (m, 3) int
    count : int
        How many points.

    Returns
    -------
    Spread
        The same surface gives the same points; a turned one gives them turned.
    """
    corners = np.asarray(vertices_mm)[faces]
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    double = np.linalg.norm(cross, axis=1)
    summed = np.cumsum(double)
    facet = np.searchsorted(summed, (np.arange(count) + 0.5) / count * summed[-1])
    u, v = ((0.5 + np.arange(count) * step) % 1.0 for step in _STEPS)
    over = u + v > 1.0
    u, v = np.where(over, 1 - u, u), np.where(over, 1 - v, v)
    a, b, c = (corners[facet, k] for k in range(3))
    return Spread(
        points_mm=a + u[:, None] * (b - a) + v[:, None] * (c - a),
        normals=cross[facet] / double[facet, None],
        share_mm2=float(0.5 * summed[-1] / count),
    )
