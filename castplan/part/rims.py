"""Holes: the open edges of a mesh as simple loops, and facets that close them."""

import heapq
import math
from typing import NamedTuple

import numpy as np

from castplan.part.check import Edges

_DOME = 1.16
# A rim that holds less than this share of the area of a circle as long runs
# back along itself: a fan from its middle would lie far off it.
_SLIM_FRACTION = 0.05


class Caps(NamedTuple):
    """Facets over the holes: fans, or a seam where a rim runs back along itself.

    `middles_mm` (f, 3), one a fan; `faces` (k, 3) int64, hole by hole, whose
    indices from `n_vertices` on count the middles; `hole` (k,) int64.
    """

    middles_mm: np.ndarray
    faces: np.ndarray
    hole: np.ndarray


class Holes(NamedTuple):
    """Sizes of the holes: rim length [mm], area [mm2] and middle [mm]; (h,), (h,), (h, 3)."""

    rim_mm: np.ndarray
    area_mm2: np.ndarray
    middle_mm: np.ndarray


def trace_rims(edges: Edges, vertices_mm: np.ndarray) -> list[np.ndarray]:
    """Open edges as simple loops of vertices, in the direction the facets run.

    Holes that touch at a corner come out one by one: whenever the way along
    the rim meets itself, the loop it closed is cut off. Where several edges
    go on, the one that turns back most is taken, so that two rims that run
    along each other make narrow loops between them, not two wide ones.

    Parameters
    ----------
    edges : Edges
        Of the facets.
    vertices_mm : (n, 3) float64

    Returns
    -------
    list of (k,) int64
        No vertex twice within a loop.
    """
    is_open = edges.surplus != 0
    pairs, surplus = edges.pairs[is_open], edges.surplus[is_open]
    start = np.where(surplus > 0, pairs[:, 0], pairs[:, 1])
    end = np.where(surplus > 0, pairs[:, 1], pairs[:, 0])
    leaving: dict[int, list[int]] = {}
    for a, b, n in zip(start.tolist(), end.tolist(), np.abs(surplus).tolist(), strict=True):
        leaving.setdefault(a, []).extend([b] * n)
    loops = []
    for first in sorted(leaving):
        while leaving[first]:
            path, place = [first], {first: 0}
            while leaving[path[-1]]:
                vertex = _next_of(leaving[path[-1]], path, vertices_mm)
                at = place.get(vertex)
                if at is None:
                    place[vertex] = len(path)
                    path.append(vertex)
                    continue
                loops.append(np.array(path[at:]))
                for passed in path[at + 1 :]:
                    del place[passed]
                del path[at + 1 :]
    return loops


def _next_of(ends, path, vertices_mm):
    """Take the end to go on to out of a list."""
    if len(ends) == 1 or len(path) < 2:
        return ends.pop()
    here = vertices_mm[path[-1]]
    back = vertices_mm[path[-2]] - here
    ways = vertices_mm[ends] - here
    turns = ways @ back / np.maximum(np.linalg.norm(ways, axis=1), 1e-300)
    return ends.pop(int(np.argmax(turns)))


def close_rims(vertices_mm: np.ndarray, loops: list[np.ndarray]) -> Caps:
    """Close every hole: with a fan from the middle of its rim, or along itself where slim.

    Parameters
    ----------
    vertices_mm : (n, 3) float64
    loops : list of (k,) int
        From `trace_rims`.

    Returns
    -------
    Caps
        Facets and caps together use every edge equally both ways.
    """
    if not loops:
        none = np.zeros(0, dtype=np.int64)
        return Caps(np.zeros((0, 3)), none.reshape(0, 3), none)
    sizes = measure_rims(vertices_mm, loops)
    is_slim = 4 * np.pi * sizes.area_mm2 < _SLIM_FRACTION * sizes.rim_mm**2
    middle = len(vertices_mm) + np.cumsum(~is_slim) - 1
    faces = []
    for k, loop in enumerate(loops):
        if is_slim[k]:
            faces.append(_sewn(vertices_mm, loop))
        else:
            faces.append(np.column_stack((np.roll(loop, -1), loop, np.full(len(loop), middle[k]))))
    hole = np.repeat(np.arange(len(loops)), [len(facets) for facets in faces])
    return Caps(sizes.middle_mm[~is_slim], np.concatenate(faces), hole)


def _sewn(vertices_mm, loop):
    """Facets that close a rim by cutting its corners off, the shortest cut first."""
    points = vertices_mm[loop].tolist()
    n = len(points)
    before = [(k - 1) % n for k in range(n)]
    after = [(k + 1) % n for k in range(n)]
    cuts = [
        (math.dist(points[before[k]], points[after[k]]), k, before[k], after[k]) for k in range(n)
    ]
    heapq.heapify(cuts)
    faces = []
    while len(faces) < n - 2:
        _, k, left, right = heapq.heappop(cuts)
        if (before[k], after[k]) != (left, right):
            continue  # a neighbour was cut off since
        faces.append((right, k, left))
        before[k] = after[k] = -1
        after[left], before[right] = right, left
        for m in (left, right):
            heapq.heappush(
                cuts, (math.dist(points[before[m]], points[after[m]]), m, before[m], after[m])
            )
    return loop[np.array(faces)]


def measure_rims(vertices_mm: np.ndarray, loops: list[np.ndarray]) -> Holes:
    """How large the holes are.

    The area is that of the rim's vector area, exact for a flat hole of any
    outline: half the sum of the cross products round it.
    """
    if not loops:
        return Holes(np.zeros(0), np.zeros(0), np.zeros((0, 3)))
    rim = np.concatenate(loops)
    hole, follower = _followers(loops)
    middle_mm = _means(vertices_mm[rim], hole, len(loops))
    a = vertices_mm[rim] - middle_mm[hole]
    b = a[follower]
    crossed = np.cross(a, b)
    vector_mm2 = np.stack(
        [np.bincount(hole, weights=crossed[:, axis], minlength=len(loops)) for axis in range(3)],
        axis=1,
    )
    return Holes(
        np.bincount(hole, weights=np.linalg.norm(b - a, axis=1), minlength=len(loops)),
        np.linalg.norm(vector_mm2, axis=1) / 2,
        middle_mm,
    )


def doubt_mm3(area_mm2: np.ndarray) -> np.ndarray:
    """Volume a hole leaves open to either side, per hole area.

    The surface that is missing may bulge or sink. For a round hole in a plane
    the generalised winding number is 3/4 and 1/4 where the hole is seen under a
    solid angle of 3 pi and pi: two domes over its rim, as high and steep as a
    ball's cap of 60 degrees. Each holds 1.16 times the radius cubed (integrated
    numerically); other outlines go by their area.
    """
    return _DOME * (np.asarray(area_mm2) / np.pi) ** 1.5


def _followers(loops):
    """Hole of each rim vertex, and the place of the one after it round its loop."""
    lengths = np.array([len(loop) for loop in loops])
    hole = np.repeat(np.arange(len(loops)), lengths)
    follower = np.arange(1, lengths.sum() + 1)
    ends = np.cumsum(lengths)
    follower[ends - 1] = ends - lengths
    return hole, follower


def _means(points, group, n_groups):
    count = np.bincount(group, minlength=n_groups)
    return (
        np.stack(
            [np.bincount(group, weights=points[:, axis], minlength=n_groups) for axis in range(3)],
            axis=1,
        )
        / np.maximum(count, 1)[:, None]
    )
