"""How a part lies of itself: axes that go with its surface, however the file lists or turns it.

Lattices of directions hang on these axes, so that a turned part is asked the same
questions, and equal answers are told apart by them and not by the file's axes.
"""

from functools import lru_cache

import numpy as np

from castplan.geometry import frames
from castplan.part.records import Part

# Spreads nearer to each other than this leave the axes between them open.
ALIKE_FRACTION = 0.01
# A third moment under this, for a spread of 1, is none: the surface is even that way. That
# is ten times what corners make of it that are each moved by a millionth of the size.
EVEN = 1e-5
# A rule for triangles that is exact to the third degree, so that cutting them finer
# changes nothing (corners, middles of edges, centroid; Zienkiewicz and Taylor, The Finite
# Element Method, table of triangular rules).
_POINTS = np.array(
    [[1, 0, 0], [0, 1, 0], [0, 0, 1], [0, 0.5, 0.5], [0.5, 0, 0.5], [0.5, 0.5, 0], [1 / 3] * 3]
)
_WEIGHTS = np.array([3, 3, 3, 8, 8, 8, 27]) / 60
_AT_ONCE = 100_000  # facets


@lru_cache(maxsize=2)
def surface_moments(part: Part) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Exact moments of the surface's area about its middle, per area.

    Returns
    -------
    middle_mm : (3,) float64
    second_mm2 : (3, 3) float64
    third_mm3 : (3, 3, 3) float64
    """
    total, middle = 0.0, np.zeros(3)
    for corners, area in _pieces(part):
        total += area.sum()
        middle += area @ corners.mean(axis=1)
    middle = middle / total
    second, third = np.zeros((3, 3)), np.zeros((3, 3, 3))
    for corners, area in _pieces(part):
        points = np.einsum("pc,fck->pfk", _POINTS, corners - middle).reshape(-1, 3)
        weighted = points * np.outer(_WEIGHTS, area / total).ravel()[:, None]
        second += weighted.T @ points
        for k in range(3):
            third[k] += (weighted * points[:, k : k + 1]).T @ points
    return middle, second, third


def _pieces(part):
    """Corners and areas of some facets at a time: of millions the points would fill the memory."""
    for start in range(0, len(part.faces), _AT_ONCE):
        corners = part.vertices_mm[part.faces[start : start + _AT_ONCE]]
        cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
        yield corners, np.linalg.norm(cross, axis=1)


def inertia_axes(part: Part) -> np.ndarray:
    """Main axes of the surface's area, shortest spread first, (3, 3), one a row."""
    _, second, _ = surface_moments(part)
    return np.linalg.eigh(second)[1].T


def own_turn(part: Part, normals) -> np.ndarray:
    """The part's own axes, longest spread first, (3, 3), one a row.

    A part in the mirror has them in the mirror: they need not be right-handed.
    Axes that the spread leaves open follow the largest flats, or the file where
    there is none; a way round that the surface leaves open, because it is even,
    is the file's.

    Parameters
    ----------
    part : Part
    normals : (k, 3) float64
        Of the part's flats, largest first, either way round.
    """
    _, second, third = surface_moments(part)
    spread, axes = np.linalg.eigh(second)
    spread, axes = np.sqrt(np.maximum(spread[::-1], 0.0)), axes.T[::-1]
    near = [spread[k] - spread[k + 1] < ALIKE_FRACTION * spread[0] for k in range(2)]
    wanted = np.concatenate([np.reshape(normals, (-1, 3)), np.eye(3)])
    if all(near):
        axes = _along(wanted, np.eye(3))
    elif near[0]:
        axes = np.concatenate([_along(wanted, axes[:2]), axes[2:]])
    elif near[1]:
        axes = np.concatenate([axes[:1], _along(wanted, axes[1:])])
    size = max(float(spread[0]), 1e-12)
    return _signed(axes, np.einsum("ai,bj,ck,ijk->abc", axes, axes, axes, third) / size**3)


def _along(wanted, span):
    """Axes within the span of some (k, 3), the first ones wanted of those that lie in it."""
    found = []
    for axis in wanted:
        inside = span.T @ (span @ axis)
        if np.linalg.norm(inside) < 0.9:
            continue
        for other in found:
            inside = inside - other * (inside @ other)
        if np.linalg.norm(inside) > 0.5 and len(found) < len(span):
            found.append(frames.unit(inside))
    for axis in span:
        for other in found:
            axis = axis - other * (axis @ other)
        if len(found) < len(span) and np.linalg.norm(axis) > 0.1:
            found.append(frames.unit(axis))
    return np.array(found)


def _signed(axes, third):
    """Axes turned so that the first third moment that tells is positive; else as the file's."""
    signs = np.zeros(3)
    for k in range(3):
        i, j = (n for n in range(3) if n != k)
        for moment in (third[k, k, k], third[k, i, i], third[k, j, j]):
            if abs(moment) > EVEN:
                signs[k] = np.sign(moment)
                break
    is_open = signs == 0
    lead = np.argmax(np.abs(np.round(axes, 6)), axis=1)
    signs[is_open] = np.sign(axes[np.arange(3), lead])[is_open]
    if is_open.any() and abs(third[0, 1, 2]) > EVEN and np.prod(signs) * third[0, 1, 2] < 0:
        signs[np.flatnonzero(is_open)[-1]] *= -1
    return axes * signs[:, None]
