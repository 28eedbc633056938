"""Directions worth trying: an even lattice, and what the part's shape suggests."""

import itertools
from functools import lru_cache

import numpy as np
from scipy.spatial import ConvexHull, QhullError

from castplan.geometry import frames, pose
from castplan.part.records import Part

# Directions closer than this are one proposal.
ONE_DEG = 0.5
# Flats between faces: so many of the largest that the part can be laid on, and the
# directions midway between so many of its faces.
N_LAID_ON, N_MIDWAY = 4, 3
# Nearer to a flat it is that flat a little tilted, not a direction between two.
LEAST_LEAN_DEG = 10.0
# Shares of the own axes in the direction that tells places apart: no two of them and no
# sum are alike, so that places which a symmetry of the part exchanges differ along it.
_SKEW = np.array([1.0, 0.618, 0.382])


def lattice(*, count: int) -> np.ndarray:
    """Nearly even directions over the upper hemisphere, (count, 3).

    The golden-angle spiral (Gonzalez, Mathematical Geosciences 42 (2010) 49-64).
    """
    k = np.arange(count)
    z = (k + 0.5) / count
    angle = k * np.pi * (3 - np.sqrt(5))
    radius = np.sqrt(1 - z**2)
    return np.stack([radius * np.cos(angle), radius * np.sin(angle), z], axis=1)


def ring(direction, *, step_deg: float, turn=None) -> np.ndarray:
    """Six directions around one, each `step_deg` away, (6, 3).

    They begin where the axes of `turn` (3, 3) have them, else the file's.
    """
    angle = np.radians(np.arange(6) * 60.0)
    turn = np.eye(3) if turn is None else turn
    ahead = frames.turn_to(turn @ direction)[:2] @ turn
    across = np.stack([np.cos(angle), np.sin(angle)], axis=1) @ ahead
    out = direction + np.tan(np.radians(step_deg)) * across
    return out / np.linalg.norm(out, axis=1)[:, None]


def nearest_rows(tried, others) -> np.ndarray:
    """For each direction (n, 3) the row of the nearest of others (k, 3), (n,) int64."""
    cosine = (
        tried[:, :1] * others[:, 0] + tried[:, 1:2] * others[:, 1] + tried[:, 2:] * others[:, 2]
    )
    return np.argmax(np.round(cosine, 9), axis=1)


@lru_cache(maxsize=2)
def own_turn(part: Part) -> np.ndarray:
    """The part's own axes, (3, 3), one a row: lattices of directions hang on them."""
    turn = pose.own_turn(part, main_normals(part, count=3))
    turn.flags.writeable = False
    return turn


@lru_cache(maxsize=2)
def own_extent_mm(part: Part) -> tuple[float, float, float]:
    """Extent of a part along its own axes, which set how finely it is sampled.

    The box along the file's axes grows as the part is turned, and with it every pitch.
    """
    return frames.extent_mm(part, own_turn(part))


def longest_mm(part: Part) -> float:
    """Longest extent of a part along its own axes."""
    return max(own_extent_mm(part))


def farthest_along(points_mm, turn) -> int:
    """Of places as good (k, 3), part frame, the one farthest askew along axes `turn` (3, 3)."""
    return int(np.argmax(np.round(points_mm @ (_SKEW @ turn), 6)))


def own_directions(part: Part) -> tuple[np.ndarray, list[str]]:
    """Directions of the part's own making: (k, 3) unit vectors and what each is.

    The file's axes, the facet normals that carry most area, the directions
    square to pairs of them, and the main axes of the surface. What each is
    stands as a code: ``file_x``, ``file_y``, ``file_z``, ``flat_face``,
    ``two_flat_faces`` or ``main_axis``.
    """
    own, names = [], []

    def add(direction, name):
        d = frames.unit(direction)
        if all(abs(d @ e) < np.cos(np.radians(ONE_DEG)) for e in own):
            own.append(d)
            names.append(name)

    for k, axis in enumerate(np.eye(3)):
        add(axis, f"file_{'xyz'[k]}")
    normals = main_normals(part, count=8)
    for normal in normals:
        add(normal, "flat_face")
    for a in range(min(len(normals), 6)):
        for b in range(a + 1, min(len(normals), 6)):
            across = np.cross(normals[a], normals[b])
            if np.linalg.norm(across) > 0.1:
                add(across, "two_flat_faces")
    for axis in pose.inertia_axes(part):
        add(axis, "main_axis")
    return np.array(own), names


def draw_directions(part: Part, hull_mm, *, show_face=None) -> tuple[np.ndarray, list[str]]:
    """The part's own directions, and those that lean between its faces: (k, 3) and their codes.

    An angle is drawn neither square to a leg nor along it but between them, so
    that both legs have draft and the line runs at their ends: square to the flat
    that a board laid against those ends would have (``laid_on``, of the hull), or
    midway between the legs' faces (``midway``).

    Parameters
    ----------
    part : Part
    hull_mm : (k, 3) float64
        Corners of its convex hull.
    show_face : (3,) array_like, optional
        The way the face that shows looks (``show_face``).
    """
    own, names = own_directions(part)
    normals = main_normals(part, count=N_MIDWAY)
    leaning = [(flat, "laid_on") for flat in _hull_flats(hull_mm)]
    for a, b in itertools.combinations(normals, 2):
        leaning += [(frames.unit(a + b), "midway"), (frames.unit(a - b), "midway")]
    if show_face is not None:
        leaning.append((frames.unit(show_face), "show_face"))
    flats = own[[name.startswith(("file", "flat")) for name in names]]
    for way, name in leaning:
        is_new = (np.abs(own @ way) < np.cos(np.radians(ONE_DEG))).all()
        is_leaning = (np.abs(flats @ way) < np.cos(np.radians(LEAST_LEAN_DEG))).all()
        if is_new and (is_leaning or name == "show_face"):
            own, names = np.vstack([own, way]), [*names, name]
    return own, names


def _hull_flats(hull_mm):
    """Normals of a hull's largest flats, of opposite ones one, at most `N_LAID_ON`."""
    try:
        hull = ConvexHull(hull_mm)
    except QhullError:
        return []
    corners = hull.points[hull.simplices]
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    normals = hull.equations[:, :3]
    flat = np.unique(np.round(normals, 4), axis=0, return_inverse=True)[1].ravel()
    area = np.bincount(flat, weights=0.5 * np.linalg.norm(cross, axis=1))
    first = np.unique(flat, return_index=True)[1]
    # By size, and of equal ones by the hull's own order, never by the file's axes.
    order = np.lexsort((first, -np.round(area / area.max(), 6)))
    kept = []
    for k in order:
        if all(abs(normals[first[k]] @ other) < np.cos(np.radians(ONE_DEG)) for other in kept):
            kept.append(normals[first[k]])
        if len(kept) == N_LAID_ON:
            break
    return kept


def main_normals(part: Part, *, count: int) -> np.ndarray:
    """Facet normals that carry most area, opposite ones together, (<= count, 3)."""
    corners = part.vertices_mm[part.faces]
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    area = np.linalg.norm(cross, axis=1)
    normal = cross[area > 0] / area[area > 0, None]
    # Opposite normals mean the same draw: fold them onto one hemisphere by
    # the first clearly nonzero component, with rounding kept off the fold.
    lead = np.argmax(np.abs(np.round(normal, 6)) > 1e-3, axis=1)
    normal *= np.sign(normal[np.arange(len(normal)), lead])[:, None]
    weight = area[area > 0]
    cell = np.round(normal * 20).astype(np.int64) + 20
    _, group = np.unique(cell @ (1, 41, 41 * 41), return_inverse=True)
    total = np.bincount(group, weights=weight)
    sums = np.stack([np.bincount(group, weights=weight * normal[:, k]) for k in range(3)], axis=1)
    middles = sums / np.linalg.norm(sums, axis=1)[:, None]
    out = []
    for g in np.argsort(-total, kind="stable")[: 4 * count]:
        # Mean over every cell near, so that a cluster cut by a cell's border
        # gives its true middle.
        along = middles @ middles[g]
        near = np.abs(along) > np.cos(np.radians(4.0))
        mean = frames.unit((sums[near] * np.sign(along[near])[:, None]).sum(axis=0))
        if all(abs(mean @ other) < np.cos(np.radians(2.0)) for other in out):
            out.append(mean)
        if len(out) == count:
            break
    return np.array(out)
