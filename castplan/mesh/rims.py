"""Holes: the open edges of a mesh as simple loops, and fans that close them."""

from typing import NamedTuple

import numpy as np

from castplan.mesh.check import Edges

_DOME = 1.16


class Caps(NamedTuple):
    """Fans over the holes, one fan a hole.

    `middles_mm` (h, 3); `faces` (k, 3) int64, hole by hole, whose indices from
    `n_vertices` on count the middles.
    """

    middles_mm: np.ndarray
    faces: np.ndarray


class Holes(NamedTuple):
    """Sizes of the holes: rim length [mm], area [mm2] and middle [mm]; (h,), (h,), (h, 3)."""

    rim_mm: np.ndarray
    area_mm2: np.ndarray
    middle_mm: np.ndarray


def trace_rims(edges: Edges) -> list[np.ndarray]:
    """Open edges as simple loops of vertices, in the direction the facets run.

    Holes that touch at a corner come out one by one: whenever the way along
    the rim meets itself, the loop it closed is cut off.

    Parameters
    ----------
    edges : Edges
        Of the facets.

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
                vertex = leaving[path[-1]].pop()
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


def close_rims(vertices_mm: np.ndarray, loops: list[np.ndarray]) -> Caps:
    """Close every hole with a fan from the middle of its rim.

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
        return Caps(np.zeros((0, 3)), np.zeros((0, 3), dtype=np.int64))
    rim = np.concatenate(loops)
    hole, follower = _followers(loops)
    fans = np.stack((rim[follower], rim, len(vertices_mm) + hole), axis=1)
    return Caps(_means(vertices_mm[rim], hole, len(loops)), fans)


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
