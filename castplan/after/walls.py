"""The least wall between two surfaces of which one lies inside the other.

Of an insert that lies inside all round, the least distance. Where it opens at
a face that would be zero round its mouth: there a wall is what stands between
a facet of the inner surface and the nearest place of the outer one that faces
the same way.

Two triangles that do not meet are nearest at a corner of one or between an
edge of each. Corners are asked of a bounding volume hierarchy (libigl's AABB
tree), both ways; edges of all pairs whose boxes come nearer than the best so
far. The least wall of the two meshes is then exact, up to rounding.
"""

from dataclasses import dataclass

import numpy as np

# Round a mouth, facets that face within this of each other's way can have a wall
# between them; the second where ways are taken together (assumed).
FACING_DEG = (75.0, 60.0)
MOST_WAYS = 32
PAIRS_AT_ONCE = 2_000_000


@dataclass(frozen=True, kw_only=True, eq=False)
class Walls:
    """Walls over an inner surface."""

    points_mm: np.ndarray  # (n, 3) middles of its facets, none larger than the grain
    walls_mm: np.ndarray  # (n,) inf where nothing outside faces the same way
    least_mm: float  # over all of the surface
    at_mm: np.ndarray  # (3,) on the inner surface
    to_mm: np.ndarray  # (3,) the nearest place outside


def find_walls(corners_mm, outer, *, grain_mm: float, has_mouth: bool) -> Walls | None:
    """Walls from facets of an inner surface to a closed outer one.

    Parameters
    ----------
    corners_mm : (m, 3, 3) float64
        Corners of the inner facets, normals away from the insert.
    outer : (vertices_mm, faces)
        Normals out of the copy.
    grain_mm : float
        Greatest edge of the facets that the map is told on.
    has_mouth : bool
        Whether the insert opens at a face.

    Returns
    -------
    Walls or None
        None without any inner facet, or where nothing faces the same way.
    """
    ways = _unit_normals(corners_mm)
    corners_mm = corners_mm[np.isfinite(ways).all(axis=1)]
    if not len(corners_mm):
        return None
    outside = _Outside(*outer, _unit_normals(corners_mm), has_mouth)
    tiles, group = _cut_to(corners_mm, outside.group, grain_mm)
    middles = tiles.mean(axis=1)
    walls, feet = outside.nearest(middles, group)
    if not np.isfinite(walls).any():
        return None
    least = _Least()
    least.see(walls, middles, feet)
    for k in np.unique(outside.group):
        outside.see_all(least, corners_mm[outside.group == k], k)
    return Walls(
        points_mm=middles,
        walls_mm=walls,
        least_mm=least.mm,
        at_mm=least.at_mm,
        to_mm=least.to_mm,
    )


class _Least:
    """The least distance seen so far."""

    def __init__(self):
        self.mm, self.at_mm, self.to_mm = np.inf, None, None

    def see(self, distance, points, feet):
        """Keep the least of some distances if it is less."""
        if not len(distance):
            return
        k = int(np.argmin(distance))
        if distance[k] < self.mm:
            self.mm, self.at_mm, self.to_mm = float(distance[k]), points[k], feet[k]


class _Outside:
    """The outer surface by the way its facets face, one tree for each way asked for."""

    def __init__(self, vertices_mm, faces, ways, has_mouth):
        import igl

        self.vertices_mm = np.array(vertices_mm, dtype=np.float64)
        faces = np.array(faces, dtype=np.int64)
        normals = _unit_normals(self.vertices_mm[faces])
        asked, self.group = np.unique(np.round(ways, 3), axis=0, return_inverse=True)
        self.group, limit_deg = self.group.reshape(-1), FACING_DEG[0]
        if len(asked) > MOST_WAYS:
            asked, limit_deg = _spread(MOST_WAYS), FACING_DEG[1]
            self.group = np.argmax(ways @ asked.T, axis=1)
        limit = np.cos(np.radians(limit_deg))
        if not has_mouth:
            asked, limit, self.group = asked[:1], -2.0, np.zeros(len(ways), dtype=np.int64)
        self.trees = []
        for way in asked:
            facing = faces[normals @ way > limit]
            tree = igl.AABB()
            if len(facing):
                tree.init(self.vertices_mm, facing)
            self.trees.append((tree, facing))

    def nearest(self, points, group):
        """Distance (n,) and foot (n, 3) of the nearest place that faces each point's way."""
        distance = np.full(len(points), np.inf)
        foot = np.full((len(points), 3), np.nan)
        for k in np.unique(group):
            tree, facing = self.trees[k]
            if len(facing):
                mine = np.flatnonzero(group == k)
                squared, _, near = tree.squared_distance(
                    self.vertices_mm, facing, np.ascontiguousarray(points[mine])
                )
                distance[mine], foot[mine] = np.sqrt(squared), near
        return distance, foot

    def see_all(self, least, inner, k):
        """The least wall between inner facets (m, 3, 3) of one way and what faces it."""
        import igl

        _, facing = self.trees[k]
        if not len(facing):
            return
        points = inner.reshape(-1, 3)
        distance, foot = self.nearest(points, np.full(len(points), k))
        least.see(distance, points, foot)
        tree, each = igl.AABB(), np.arange(len(points)).reshape(-1, 3)
        tree.init(np.ascontiguousarray(points), each)
        outer = self.vertices_mm[np.unique(facing)]
        squared, _, near = tree.squared_distance(np.ascontiguousarray(points), each, outer)
        least.see(np.sqrt(squared), near, outer)
        for i, j in _near_pairs(inner, self.vertices_mm[facing], least):
            _see_edges(least, inner[i], self.vertices_mm[facing[j]])


def _near_pairs(inner, outer, least):
    """Indices of pairs whose boxes are nearer than the best so far, a lot at a time."""
    low, high = outer.min(axis=1), outer.max(axis=1)
    step = max(1, PAIRS_AT_ONCE // len(outer))
    for start in range(0, len(inner), step):
        some = inner[start : start + step]
        gap = np.maximum(
            low[None] - some.max(axis=1)[:, None], some.min(axis=1)[:, None] - high[None]
        )
        apart = np.linalg.norm(np.maximum(gap, 0.0), axis=2)
        i, j = np.nonzero(apart < least.mm - 1e-9)
        for k in range(0, len(i), PAIRS_AT_ONCE // 8):
            yield start + i[k : k + PAIRS_AT_ONCE // 8], j[k : k + PAIRS_AT_ONCE // 8]


def _see_edges(least, inner, outer):
    """Edges against edges of pairs of facets (n, 3, 3)."""
    for a in range(3):
        for b in range(3):
            here, there = _between(
                inner[:, a], inner[:, (a + 1) % 3], outer[:, b], outer[:, (b + 1) % 3]
            )
            least.see(np.linalg.norm(here - there, axis=1), here, there)


def _between(p1, q1, p2, q2):
    """Nearest points of pairs of segments, (n, 3) on each.

    The clamped closest points of two lines (textbooks of collision detection;
    from memory).
    """
    d1, d2, r = q1 - p1, q2 - p2, p1 - p2
    a, e = (np.maximum((d * d).sum(axis=1), 1e-300) for d in (d1, d2))
    b, c, f = (d1 * d2).sum(axis=1), (d1 * r).sum(axis=1), (d2 * r).sum(axis=1)
    bent = a * e - b * b
    is_bent = bent > 1e-12 * a * e
    s = np.where(is_bent, np.clip((b * f - c * e) / np.where(is_bent, bent, 1.0), 0, 1), 0.0)
    t = (b * s + f) / e
    s = np.where(t < 0, np.clip(-c / a, 0, 1), np.where(t > 1, np.clip((b - c) / a, 0, 1), s))
    t = np.clip(t, 0, 1)
    return p1 + s[:, None] * d1, p2 + t[:, None] * d2


def _unit_normals(corners):
    crossed = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    with np.errstate(divide="ignore", invalid="ignore"):
        return crossed / np.linalg.norm(crossed, axis=1)[:, None]


def _spread(n):
    """Directions spread evenly over the sphere, (n, 3): a Fibonacci lattice."""
    k = np.arange(n) + 0.5
    z = 1 - 2 * k / n
    angle = np.pi * (1 + 5**0.5) * k
    across = np.sqrt(1 - z**2)
    return np.column_stack([across * np.cos(angle), across * np.sin(angle), z])


def _cut_to(corners, group, grain_mm):
    """Facets cut in four until no edge is longer than the grain."""
    done, groups = [], []
    while len(corners):
        edge = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).max(axis=1)
        fine = edge <= grain_mm
        done.append(corners[fine])
        groups.append(group[fine])
        corners, group = _in_four(corners[~fine]), np.repeat(group[~fine], 4)
    return np.concatenate(done), np.concatenate(groups)


def _in_four(corners):
    a, b, c = corners[:, 0], corners[:, 1], corners[:, 2]
    ab, bc, ca = 0.5 * (a + b), 0.5 * (b + c), 0.5 * (c + a)
    pieces = ((a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca))
    return np.stack([np.stack(piece, axis=1) for piece in pieces], axis=1).reshape(-1, 3, 3)
