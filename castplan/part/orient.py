"""Which way the facets face: neighbours made to agree, bodies made to face out.

A winding number counts signs, so a patch or a body that faces the wrong way
would cut a hole into the part. Turning facets moves no surface.
"""

from typing import NamedTuple

import numpy as np

from castplan.part import check

# A body open over more of its area than this has no volume to tell its sign by.
_MAX_OPEN_FRACTION = 0.3
# Bodies are looked for inside at most this many of the largest.
_MAX_CONTAINERS = 64


class Agreed(NamedTuple):
    """Faces (m, 3) whose neighbours agree, as far as they can; how many were turned."""

    faces: np.ndarray
    n_turned: int


class Bodies(NamedTuple):
    """The connected pieces of a mesh, in the order of their first vertex.

    Each array has one entry a body: signed volume with its holes capped [mm3],
    area [mm2], facets, how many other bodies it lies in, the outermost of them
    (itself if none), whether it faces inward by mistake, whether it bounds no
    solid: a shell inside solid, or a void in a void. `of_facet` (m,) is each
    facet's body.
    """

    of_facet: np.ndarray
    volume_mm3: np.ndarray
    area_mm2: np.ndarray
    n_facets: np.ndarray
    depth: np.ndarray
    outermost: np.ndarray
    is_turned: np.ndarray
    adds_nothing: np.ndarray


def agree(vertices_mm: np.ndarray, faces: np.ndarray, edges: check.Edges) -> Agreed:
    """Turn the facets that disagree with their neighbours.

    Within each patch joined over edges of two facets the side that most area
    shows stays; the others turn. A surface with one side only (a Moebius band)
    cannot agree.

    Parameters
    ----------
    vertices_mm : (n, 3) float64
    faces : (m, 3) int64
    edges : check.Edges
        Of the faces.

    Returns
    -------
    Agreed
    """
    if not (np.abs(edges.surplus) >= 2).any():
        return Agreed(faces, 0)
    # Heavy, and a sound mesh never needs it.
    import igl

    spread, patch = igl.bfs_orient(np.ascontiguousarray(faces, dtype=np.int64))
    # Equal facets have their corners in the same cyclic order.
    step = np.take_along_axis(spread, (spread.argmin(axis=1)[:, None] + 1) % 3, axis=1)
    before = np.take_along_axis(faces, (faces.argmin(axis=1)[:, None] + 1) % 3, axis=1)
    is_other = (step != before)[:, 0]
    area = check.facet_areas_mm2(vertices_mm, faces)
    n_patches = int(patch.max()) + 1
    weight = np.bincount(patch, weights=np.where(is_other, area, -area), minlength=n_patches)
    is_turned = is_other ^ (weight > 0)[patch]
    turned = faces.copy()
    turned[is_turned] = turned[is_turned][:, ::-1]
    return Agreed(turned, int(is_turned.sum()))


def find_bodies(
    vertices_mm: np.ndarray,
    faces: np.ndarray,
    edges: check.Edges,
    caps: tuple[np.ndarray, np.ndarray],
) -> Bodies:
    """List the connected bodies and which of them face inward by mistake.

    A body that lies in no other must face out. One inside another is a void if
    it faces in, and stays as it is; where its surroundings are turned it turns
    with them.

    Parameters
    ----------
    vertices_mm : (n, 3) float64
        Of the surface, then the middles of the caps.
    faces : (m, 3) int64
    edges : check.Edges
    caps : (k, 3) int64 and (k,) float64
        Facets that close the holes, the first two corners of each on its rim; and the
        area of each.

    Returns
    -------
    Bodies
    """
    cap_faces, open_mm2 = caps
    n_surface = int(faces.max()) + 1
    n_bodies, of_vertex = check.count_components(edges.pairs, n_vertices=n_surface)
    of_facet, of_cap = of_vertex[faces[:, 0]], of_vertex[cap_faces[:, 0]]
    both = np.concatenate((faces, cap_faces))
    volume = np.bincount(
        np.concatenate((of_facet, of_cap)),
        weights=check.facet_volumes_mm3(vertices_mm, both),
        minlength=n_bodies,
    )
    area = np.bincount(
        of_facet, weights=check.facet_areas_mm2(vertices_mm, faces), minlength=n_bodies
    )
    open_area = np.bincount(of_cap, weights=open_mm2, minlength=n_bodies)
    depth, outermost = np.zeros(n_bodies, dtype=np.int64), np.arange(n_bodies)
    around = np.zeros(n_bodies, dtype=np.int64)
    if n_bodies > 1:
        depth, outermost, around = _nest(vertices_mm, faces, of_vertex, of_facet, volume)
    has_sign = open_area <= _MAX_OPEN_FRACTION * area
    is_wrong = (volume < 0) & has_sign & (depth == 0)
    return Bodies(
        of_facet,
        volume,
        area,
        np.bincount(of_facet, minlength=n_bodies),
        depth,
        outermost,
        is_wrong[outermost],
        _adds_nothing(volume, depth, around, is_wrong[outermost]),
    )


def _adds_nothing(volume, depth, around, is_turned):
    """Bodies on whose two sides there is solid, or none.

    Bodies count as the columns do: where the windings sum to more than zero,
    there is solid.
    """
    turn = np.where(is_turned, -1, 1)
    outside = turn * around
    inside = outside + turn * np.where(volume < 0, -1, 1)
    return (depth > 0) & ((outside > 0) == (inside > 0))


def _nest(vertices_mm, faces, of_vertex, of_facet, volume):
    """How many other bodies each body lies in, the outermost of them, and their windings."""
    n_bodies = len(volume)
    low, high = np.full((n_bodies, 3), np.inf), np.full((n_bodies, 3), -np.inf)
    np.minimum.at(low, of_vertex, vertices_mm[: len(of_vertex)])
    np.maximum.at(high, of_vertex, vertices_mm[: len(of_vertex)])
    probes = _probes(of_vertex, n_bodies)
    depth, outermost = np.zeros(n_bodies, dtype=np.int64), np.arange(n_bodies)
    around = np.zeros(n_bodies, dtype=np.int64)
    largest = np.argsort(-np.abs(volume), kind="stable")[:_MAX_CONTAINERS]
    order = np.argsort(of_facet, kind="stable")
    begin = np.searchsorted(of_facet[order], np.arange(n_bodies + 1))
    # Smallest first, so that the last one to claim a body is its outermost.
    for container in largest[::-1]:
        inside = (low > low[container]).all(axis=1) & (high < high[container]).all(axis=1)
        candidates = np.flatnonzero(inside)
        if not len(candidates):
            continue
        import igl

        shell = faces[order[begin[container] : begin[container + 1]]]
        used, local = np.unique(shell, return_inverse=True)
        winding = igl.fast_winding_number(
            vertices_mm[used],
            local.reshape(-1, 3).astype(np.int64),
            vertices_mm[probes[candidates].ravel()],
        ).reshape(-1, probes.shape[1])
        held = candidates[(np.abs(winding) > 0.5).all(axis=1)]
        depth[held] += 1
        around[held] += -1 if volume[container] < 0 else 1
        outermost[held] = container
    return depth, outermost, around


def _probes(of_vertex, n_bodies):
    """Three vertices of each body, spread over its list: (n_bodies, 3)."""
    order = np.argsort(of_vertex, kind="stable")
    begin = np.searchsorted(of_vertex[order], np.arange(n_bodies + 1))
    count = np.diff(begin)
    return order[begin[:-1, None] + (count[:, None] * np.array([0, 1, 2])) // 3]
