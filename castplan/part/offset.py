"""A sheet's surface moved back along its normals, and where that goes wrong.

A corner moves so that each of its facets moves by the thickness. Where the
sheet bends tighter than that, facets turn over, run into each other, or come
to lie nearer to another place of the sheet: there the move is made shorter.
"""

from typing import NamedTuple

import numpy as np
from scipy import sparse

from castplan.geometry.refine import edge_lengths, split_edges
from castplan.part.crossings import find_crossing

# How far a corner may stand from its face against the thickness: at a sharp
# edge the moved faces meet far out.
MAX_MITRE = 3.0
# Facets that differ by less than about 30 degrees are one smooth or noisy
# surface; at larger angles they are an edge whose corner is kept.
_EDGE_WEIGHT = 0.07  # sin2 of half of it
_ALIKE = 0.87  # its cosine
_SMOOTHINGS = 10
# A moved corner this much nearer to the sheet than its move is long has passed
# the middle between two places of it.
_PASSED = 0.9
_SUSPECT = 0.998  # nearer than this, it is asked whether it crosses something
_LONG = 1.2  # thicknesses: longer edges are halved where the sheet bends
_DIVISIONS = 12
_LEAST_AREA = 0.05  # of a facet, left of it when moved
_SHORTENINGS = 9  # each to a half
MAX_FACETS = 600_000  # to which facets are divided where the sheet bends


class Moved(NamedTuple):
    """The sheet, divided finer where it had to be, and the way back from each corner.

    `vertices_mm` (n, 3), `faces` (m, 3) int64, `steps` (n, 3) per mm of
    thickness, `moves_mm` (n,): the thickness, or less where that goes wrong.
    `is_sound`: no facet turns over or runs into another at these moves.
    """

    vertices_mm: np.ndarray
    faces: np.ndarray
    steps: np.ndarray
    moves_mm: np.ndarray
    is_sound: bool


def move_back(vertices_mm, faces, loops_of, *, thickness_mm: float) -> Moved:
    """Move a sheet back, each corner as far as it can go, at most the thickness.

    Parameters
    ----------
    vertices_mm : (n, 3) float64
    faces : (m, 3) int64
    loops_of : callable
        (vertices_mm, faces) to rims, as `rims.trace_rims` gives them.
    thickness_mm : float

    Returns
    -------
    Moved
    """
    way = _Way(vertices_mm, faces, mitres(vertices_mm, faces), loops_of, thickness_mm)
    is_bad = way.find_bad()
    if is_bad.any():
        way.calm(is_bad)
        is_bad = way.find_bad()
    for _ in range(_DIVISIONS):
        is_long = edge_lengths(way.points, way.faces) > _LONG * thickness_mm
        is_long &= is_bad[way.faces].any(axis=1)[:, None]
        if not is_long.any() or len(way.faces) > MAX_FACETS:
            break
        way.divide(is_long)
        is_bad = way.find_bad()
    for _ in range(_SHORTENINGS):
        if not is_bad.any():
            break
        way.moves[is_bad] *= 0.5
        is_bad = way.find_bad()
    return Moved(way.points, way.faces, way.steps, way.moves, not is_bad.any())


class _Way:
    """The sheet on its way back, and what was wrong with it when last asked."""

    def __init__(self, points, faces, steps, loops_of, thickness_mm):
        self.points, self.faces, self.steps = points, faces, steps
        self.loops_of, self.thickness_mm = loops_of, thickness_mm
        self.moves = np.full(len(points), thickness_mm)
        self._last = None

    @property
    def backs(self):
        return self.points - self.moves[:, None] * self.steps

    def find_bad(self):
        """Corners whose move turns facets over, runs into others or passes the middle, (n,)."""
        n = len(self.points)
        backs = self.backs
        is_bad = np.zeros(n, dtype=bool)
        front, back = (_area_vectors(points, self.faces) for points in (self.points, backs))
        kept = np.einsum("ij,ij->i", front, back)
        turned = kept < _LEAST_AREA * np.einsum("ij,ij->i", front, front)
        is_bad[self.faces[turned]] = True
        if self._last is None or len(self._last) != n:
            nearness = self._nearness(backs)
            is_bad |= nearness < _PASSED
            is_new = nearness < _SUSPECT
            is_new[self.faces[_longest(self.points, self.faces) > self.thickness_mm]] = True
            is_new |= is_bad
        else:
            is_new = (backs != self._last).any(axis=1)
        loops = self.loops_of(self.points, self.faces)
        points, facets = wall_up(self.points, self.faces, backs, loops)
        is_asked = is_new[facets % n].any(axis=1) & (facets >= n).any(axis=1)
        if self._last is None:
            is_asked[2 * len(self.faces) :] = True
        is_bad[facets[find_crossing(points, facets, is_asked)] % n] = True
        self._last = backs
        return is_bad

    def _nearness(self, backs):
        """How near each moved corner came to the sheet, against the length of its move."""
        import igl

        squared, *_ = igl.point_mesh_squared_distance(
            np.ascontiguousarray(backs), np.array(self.points), np.array(self.faces)
        )
        near = np.sqrt(squared) / self.moves
        near[np.setdiff1d(np.arange(len(backs)), self.faces)] = 1.0
        return near

    def calm(self, is_bad):
        """Even the steps out round bad corners, so that noise does not turn facets over.

        Only among steps that are alike: an edge stays one.
        """
        n = len(self.points)
        a, b = self.faces.ravel(), np.roll(self.faces, -1, axis=1).ravel()
        graph = sparse.coo_matrix((np.ones(len(a)), (a, b)), shape=(n, n)).tocsr()
        graph = graph + graph.T
        near = is_bad.astype(float)
        for _ in range(3):
            near = np.minimum(near + graph @ near, 1.0)
        graph = graph.tocoo()
        length = np.linalg.norm(self.steps, axis=1)
        way = self.steps / np.where(length > 0, length, 1.0)[:, None]
        is_alike = np.einsum("ij,ij->i", way[graph.row], way[graph.col]) > _ALIKE
        weights = sparse.coo_matrix(
            (is_alike.astype(float), (graph.row, graph.col)), shape=(n, n)
        ).tocsr()
        weights = weights + sparse.identity(n, format="csr")
        weights = sparse.diags(1 / np.asarray(weights.sum(axis=1)).ravel()) @ weights
        for _ in range(_SMOOTHINGS):
            way = np.where(near[:, None] > 0, weights @ way, way)
            length = np.where(near > 0, weights @ length, length)
        way /= np.maximum(np.linalg.norm(way, axis=1), 1e-300)[:, None]
        self.steps = way * length[:, None]
        self._last = None

    def divide(self, is_long):
        """Divide long edges; new corners step as their facets do."""
        n = len(self.points)
        self.points, faces, _ = split_edges(self.points, self.faces, is_long)
        self.faces = faces.astype(np.int64)
        self.steps = np.concatenate((self.steps, mitres(self.points, self.faces)[n:]))
        self.moves = np.full(len(self.points), self.thickness_mm)


def wall_up(vertices_mm, faces, backs_mm, loops):
    """A closed surface: the sheet, its back, and walls round every rim.

    Returns
    -------
    vertices_mm : (2 n, 3) float64
    faces : (p, 3) int64
    """
    n = len(vertices_mm)
    facets = [faces, faces[:, ::-1] + n, walls(loops, n)]
    return np.concatenate((vertices_mm, backs_mm)), np.concatenate(facets)


def walls(loops, n):
    """Facets round every rim, between its corners and those `n` further on: (k, 3)."""
    facets = [np.zeros((0, 3), dtype=np.int64)]
    for loop in loops:
        after = np.roll(loop, -1)
        facets += [
            np.stack((after, loop, loop + n), axis=1),
            np.stack((after, loop + n, after + n), axis=1),
        ]
    return np.concatenate(facets)


def mitres(vertices_mm, faces):
    """For each vertex the step that moves all its faces by one: (n, 3).

    Least squares over the normals of its facets, weighed by their angle there;
    of several solutions (flat, or one edge) the shortest.
    """
    corners = vertices_mm[faces]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    length = np.linalg.norm(normal, axis=1)
    normal = normal / np.where(length > 0, length, 1.0)[:, None]
    squares, sums = np.zeros((len(vertices_mm), 3, 3)), np.zeros((len(vertices_mm), 3))
    for k in range(3):
        to_next = corners[:, (k + 1) % 3] - corners[:, k]
        to_last = corners[:, (k + 2) % 3] - corners[:, k]
        scale = np.linalg.norm(to_next, axis=1) * np.linalg.norm(to_last, axis=1)
        cosine = np.einsum("ij,ij->i", to_next, to_last) / np.where(scale > 0, scale, 1.0)
        weight = np.where(length > 0, np.arccos(np.clip(cosine, -1, 1)), 0.0)
        np.add.at(
            squares, faces[:, k], weight[:, None, None] * normal[:, :, None] * normal[:, None]
        )
        np.add.at(sums, faces[:, k], weight[:, None] * normal)
    # Directions in which no facet pulls noticeably stay out of it.
    pull, ways = np.linalg.eigh(squares)
    along = np.einsum("nji,nj->ni", ways, sums)
    is_kept = pull > _EDGE_WEIGHT * pull[:, 2:]
    step = np.einsum(
        "nij,nj->ni", ways, np.where(is_kept, along / np.where(is_kept, pull, 1.0), 0.0)
    )
    long = np.linalg.norm(step, axis=1)
    return step * np.minimum(1.0, MAX_MITRE / np.where(long > 0, long, 1.0))[:, None]


def _area_vectors(points, faces):
    a, b, c = (points[faces[:, k]] for k in range(3))
    return np.cross(b - a, c - a)


def _longest(points, faces):
    return edge_lengths(points, faces).max(axis=1)
