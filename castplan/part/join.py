"""Corners and edges that should meet: joined within a tolerance, where a surface is open.

Only corners on open edges are joined: everything else meets exactly already.
A facet that loses a corner so uses its edges equally both ways, and a facet
that is split along an edge keeps its outline, so neither opens anything.
"""

from typing import NamedTuple

import numpy as np

from castplan.part import check

# Corners nearer than this share of the longest side are one: programs turn and
# convert parts with roundings of 1e-9 to 1e-6 of it. Never more than this many
# mm: a gap that a caliper can feel is a gap.
JOIN_FRACTION = 1e-5
MOST_MM = 0.01
# Two roundings of one number differ by one step of the format; turned before,
# by a few.
_STEPS = 4.0
# Nearest first: what meets closely must not be drawn to what passes by.
_LADDER = (1e-3, 3e-2, 1.0)
# Corners strung together over more than this many tolerances are a fine edge,
# not one corner.
_MOST_SPREAD = 4.0
# Each facet is split along one edge a round.
_ROUNDS = 6
# An oblique view: hardly any edge of a made thing stands upright in it.
_OBLIQUE = np.linalg.qr(np.array([[0.83, 0.19, 0.37], [-0.29, 0.91, 0.43]]).T)[0]


class Joined(NamedTuple):
    """A surface whose corners meet as far as they can.

    `vertices` (n, 3), `faces` (m, 3); how many facets shrank to nothing, how
    many corners were drawn to others, how many edges were split at corners on them.
    """

    vertices: np.ndarray
    faces: np.ndarray
    n_dropped: int
    n_joined: int
    n_split: int


def tolerance_of(vertices: np.ndarray, *, unit_mm: float) -> float:
    """How near two corners are one, in the unit of the vertices.

    Parameters
    ----------
    vertices : (n, 3) float64
        As the file has them; where all are 32-bit numbers, their step counts.
    unit_mm : float
        [mm] per unit.
    """
    size = float(np.ptp(vertices, axis=0).max())
    largest = float(np.abs(vertices).max())
    is_single = bool((vertices == vertices.astype(np.float32)).all())
    # IEEE 754: 24 and 53 binary digits.
    step = largest * (2.0**-23 if is_single else 2.0**-52)
    return max(min(JOIN_FRACTION * size, MOST_MM / unit_mm), _STEPS * step)


def join(vertices: np.ndarray, faces: np.ndarray, *, tolerance: float) -> Joined:
    """Let corners meet that should, then edges that run along each other.

    Parameters
    ----------
    vertices : (n, 3) float64
        No two equal.
    faces : (m, 3) int64
        None without three corners.
    tolerance : float
        In the unit of the vertices.

    Returns
    -------
    Joined
        The surface itself where nothing is open.
    """
    n_joined = n_dropped = 0
    for share in _LADDER:
        corners = _open_corners(vertices, faces)
        if not len(corners):
            break
        place = _near(vertices[corners], tolerance * share)
        n_moved = int(np.count_nonzero(place != np.arange(len(corners))))
        if not n_moved:
            continue
        target = np.arange(len(vertices))
        target[corners] = corners[place]
        n_before = len(faces)
        faces = check.drop_degenerate(target[faces])
        n_joined += n_moved
        n_dropped += n_before - len(faces)
        if not len(faces):
            break
    faces, n_split, n_lost = _split(vertices, faces, tolerance)
    n_dropped += n_lost
    if n_joined or n_lost:
        vertices, faces = check.merge_vertices(vertices, faces)  # some are unused now
    return Joined(vertices, faces, n_dropped, n_joined, n_split)


def _open_corners(vertices, faces):
    """Numbers of the corners on open edges."""
    edges = check.edges_of(faces, n_vertices=len(vertices))
    return np.unique(edges.pairs[edges.surplus != 0])


def _near(points, tolerance):
    """For each point the first of those it is one with: (n,) int."""
    from scipy.spatial import cKDTree

    place = np.arange(len(points))
    pairs = cKDTree(points).query_pairs(tolerance, output_type="ndarray")
    if not len(pairs):
        return place
    _, group = check.count_components(pairs, n_vertices=len(points))
    order = np.argsort(group, kind="stable")
    begin = np.flatnonzero(np.diff(group[order], prepend=-1))
    spread = np.maximum.reduceat(points[order], begin) - np.minimum.reduceat(points[order], begin)
    is_one = (np.linalg.norm(spread, axis=1) <= _MOST_SPREAD * tolerance)[group]
    # The first of each group stands for all: no new coordinates are made up.
    return np.where(is_one, order[begin][group], place)


def _split(vertices, faces, tolerance):
    """Faces split where corners of the open edges lie on them: at how many places, how many lost.

    A facet that has its third corner on its first side is lost.
    """
    n_split = n_lost = 0
    for _ in range(_ROUNDS):
        facet, side, ends = _open_sides(vertices, faces)
        if not len(facet):
            break
        edge, corner, along = _on_edges(vertices, ends, tolerance)
        if not len(edge):
            break
        # One side of a facet a round; the others stay whole in its pieces.
        order = np.lexsort((along, edge))
        edge, corner = edge[order], corner[order]
        _, first = np.unique(facet[edge], return_index=True)
        chosen = np.zeros(len(facet), dtype=bool)
        chosen[edge[first]] = True
        is_taken = chosen[edge]
        edge, corner = edge[is_taken], corner[is_taken]
        n_split += len(edge)
        pieces = _with_corners(faces, facet, side, edge, corner)
        faces = check.drop_degenerate(pieces)
        n_lost += (len(pieces) - len(faces)) // 2  # the pieces on either side of that corner
    return faces, n_split, n_lost


def _open_sides(vertices, faces):
    """The sides of facets on open edges: facet, number of the side, ends (k, 2)."""
    edges = check.edges_of(faces, n_vertices=len(vertices))
    is_open = edges.surplus != 0
    if not is_open.any():
        none = np.zeros(0, dtype=np.int64)
        return none, none, np.zeros((0, 2), dtype=np.int64)
    n = len(vertices)
    keys = edges.pairs[is_open, 0] * n + edges.pairs[is_open, 1]
    after = np.roll(faces, -1, axis=1)
    key = np.minimum(faces, after) * n + np.maximum(faces, after)
    facet, side = np.nonzero(np.isin(key, keys))
    return facet, side, np.stack((faces[facet, side], after[facet, side]), axis=1)


def _on_edges(vertices, ends, tolerance):
    """Open corners that lie on an edge between its ends: edge, corner, place along it."""
    import shapely

    corners = np.unique(ends)
    flat = vertices @ _OBLIQUE
    tree = shapely.STRtree(shapely.linestrings(flat[ends]))
    points = shapely.points(flat[corners])
    which, edge = tree.query(points, predicate="dwithin", distance=tolerance)
    corner = corners[which]
    a, b, p = vertices[ends[edge, 0]], vertices[ends[edge, 1]], vertices[corner]
    run = b - a
    length = np.linalg.norm(run, axis=1)
    along = np.einsum("ij,ij->i", p - a, run) / np.maximum(length, 1e-300)
    away = np.linalg.norm(p - a - (along / np.maximum(length, 1e-300))[:, None] * run, axis=1)
    is_on = (away <= tolerance) & (along > tolerance) & (along < length - tolerance)
    is_on &= (corner != ends[edge, 0]) & (corner != ends[edge, 1])
    return edge[is_on], corner[is_on], along[is_on]


def _with_corners(faces, facet, side, edge, corner):
    """Faces whose chosen sides have more corners, as fans from the corner across."""
    split, first, count = np.unique(edge, return_index=True, return_counts=True)
    a = faces[facet[split], side[split]]
    b = faces[facet[split], (side[split] + 1) % 3]
    across = faces[facet[split], (side[split] + 2) % 3]
    begin = np.insert(corner, first, a)
    end = np.insert(corner, first + count, b)
    pieces = np.stack((begin, end, np.repeat(across, count + 1)), axis=1)
    kept = np.ones(len(faces), dtype=bool)
    kept[facet[split]] = False
    whole = np.concatenate((faces[kept], pieces))
    # The pieces stand where their facet stood, so that the file's order stays.
    place = np.concatenate((np.flatnonzero(kept), np.repeat(facet[split], count + 1)))
    return whole[np.argsort(place, kind="stable")]
