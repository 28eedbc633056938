"""Plain bodies that a step is drawn of: blocks, rods, balls, what lies under the parting.

All are closed, in millimetres of whatever frame their places are given in.
"""

from itertools import pairwise

import numpy as np
import shapely

from castplan.geometry import frames
from castplan.split.records import PartingSurface
from castplan.step_pictures.body import Body

_ROUND = 32  # corners of a circle
# Beyond the box, so that no side of a body lies in a side of another.
BEYOND_MM = 3.0
FLAT_MM = 1e-3


def joined(bodies) -> Body:
    """Several bodies as one."""
    corners, facets, n = [np.zeros((0, 3))], [np.zeros((0, 3), dtype=np.int64)], 0
    for body in bodies:
        corners.append(body.corners_mm)
        facets.append(np.asarray(body.facets, dtype=np.int64) + n)
        n += len(body.corners_mm)
    return Body(np.concatenate(corners), np.concatenate(facets))


def prism(outline_mm, *, low_mm: float, high_mm: float) -> Body:
    """What stands over an outline (k, 2), counter-clockwise, between two heights."""
    return tapered(outline_mm, outline_mm, low_mm=low_mm, high_mm=high_mm)


def tapered(outline_mm, top_mm, *, low_mm: float, high_mm: float) -> Body:
    """What goes evenly from an outline (k, 2) at one height to another of as many corners."""
    outline = np.asarray(outline_mm, dtype=float)
    n, ends = len(outline), ((outline, low_mm), (np.asarray(top_mm, dtype=float), high_mm))
    corners = np.concatenate([np.column_stack([ring, np.full(n, z)]) for ring, z in ends])
    k = np.arange(n)
    after = (k + 1) % n
    sides = np.concatenate(
        [np.column_stack([k, after, after + n]), np.column_stack([k, after + n, k + n])]
    )
    cap = _fill(outline)
    return Body(corners, np.concatenate([sides, cap[:, ::-1], cap + n]))


def _fill(outline):
    """Triangles of an outline's inside, of its own corners, counter-clockwise."""
    n = len(outline)
    if shapely.Polygon(outline).convex_hull.area < shapely.Polygon(outline).area * (1 + 1e-9):
        k = np.arange(1, n - 1)
        return np.column_stack([np.zeros_like(k), k, k + 1])
    inside = shapely.constrained_delaunay_triangles(shapely.Polygon(outline))
    at = {tuple(point): k for k, point in enumerate(outline)}
    return np.array(
        [
            [at[tuple(point)] for point in shapely.get_coordinates(shapely.orient_polygons(t))[:3]]
            for t in shapely.get_parts(inside)
        ]
    )


def box(low_mm, high_mm) -> Body:
    """A block between two corners."""
    (x0, y0, z0), (x1, y1, z1) = low_mm, high_mm
    return prism([(x0, y0), (x1, y0), (x1, y1), (x0, y1)], low_mm=z0, high_mm=z1)


def rod(path_mm, *, diameter_mm: float, end_mm: float | None = None):
    """Rods along a path (k, 3), with balls at its bends; the last end may be of another width."""
    path = np.asarray(path_mm, dtype=float)
    last = diameter_mm if end_mm is None else end_mm
    made = [
        _leg(a, b, diameter_mm / 2, (last if k == len(path) - 2 else diameter_mm) / 2)
        for k, (a, b) in enumerate(pairwise(path))
    ]
    return joined([*made, *(ball(bend, diameter_mm=diameter_mm) for bend in path[1:-1])])


def _leg(a, b, radius_a, radius_b):
    x, y, _ = frames.turn_to(b - a)
    angle = np.arange(_ROUND) * 2 * np.pi / _ROUND
    around = np.outer(np.cos(angle), x) + np.outer(np.sin(angle), y)
    round_ = prism(np.column_stack([np.cos(angle), np.sin(angle)]), low_mm=0.0, high_mm=1.0)
    ends = np.concatenate([a + radius_a * around, b + radius_b * around])
    return Body(ends, round_.facets)


def ball(middle_mm, *, diameter_mm: float) -> Body:
    """A ball, its corners on the sphere."""
    n, half = 24, 12
    polar = np.linspace(0, np.pi, half + 1)[1:-1]
    angle = np.arange(n) * 2 * np.pi / n
    rings = np.stack(
        [
            np.outer(np.sin(polar), np.cos(angle)),
            np.outer(np.sin(polar), np.sin(angle)),
            np.repeat(np.cos(polar)[:, None], n, axis=1),
        ],
        axis=-1,
    ).reshape(-1, 3)
    corners = np.concatenate([rings, [(0, 0, 1.0), (0, 0, -1.0)]])
    k, after = np.arange(n), (np.arange(n) + 1) % n
    facets = [np.column_stack([np.full(n, len(rings)), k, after])]
    for r in range(half - 2):
        a, b = r * n, (r + 1) * n
        facets += [np.column_stack([a + k, b + k, b + after])]
        facets += [np.column_stack([a + k, b + after, a + after])]
    end = (half - 2) * n
    facets += [np.column_stack([np.full(n, len(rings) + 1), end + after, end + k])]
    return Body(np.asarray(middle_mm) + 0.5 * diameter_mm * corners, np.concatenate(facets))


def under(surface: PartingSurface, *, bottom_mm: float) -> Body:
    """What lies under a parting surface down to a height, `BEYOND_MM` past the box all round."""
    x, y, heights = surface.x_mm, surface.y_mm, surface.heights_mm
    if np.ptp(heights) < FLAT_MM:
        high = float(heights.mean())
        return box(
            (x[0] - BEYOND_MM, y[0] - BEYOND_MM, bottom_mm),
            (x[-1] + BEYOND_MM, y[-1] + BEYOND_MM, high),
        )
    x = np.concatenate([[x[0] - BEYOND_MM], x, [x[-1] + BEYOND_MM]])
    y = np.concatenate([[y[0] - BEYOND_MM], y, [y[-1] + BEYOND_MM]])
    heights = np.pad(heights, 1, mode="edge")
    n_y, n_x = heights.shape
    grid = np.stack([*np.meshgrid(x, y), heights], axis=-1).reshape(-1, 3)
    at = np.arange(n_x * n_y).reshape(n_y, n_x)
    a, b, c, d = at[:-1, :-1], at[:-1, 1:], at[1:, 1:], at[1:, :-1]
    top = np.concatenate(
        [np.stack(three, axis=-1).reshape(-1, 3) for three in ((a, b, c), (a, c, d))]
    )
    rim = np.concatenate([at[0, :-1], at[:-1, -1], at[-1, :0:-1], at[:0:-1, 0]])
    n, k = len(rim), np.arange(len(rim))
    after = np.roll(rim, -1)
    low = grid[rim] * (1, 1, 0) + (0, 0, bottom_mm)
    first = len(grid)
    middle = first + n
    down, down_after = first + k, first + (k + 1) % n
    facets = [
        top,
        np.column_stack([down, down_after, after]),
        np.column_stack([down, after, rim]),
        np.column_stack([np.full(n, middle), down_after, down]),
    ]
    centre = np.append(low[:, :2].mean(axis=0), bottom_mm)
    return Body(np.concatenate([grid, low, centre[None]]), np.concatenate(facets))
