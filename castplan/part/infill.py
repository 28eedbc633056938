"""What lies behind a sheet no further than its thickness, as a level set on a grid.

Distances are taken to the sheet itself, so the surface cannot cross itself
however tight the sheet bends. Needed only where moving the sheet back fails;
flat walls come out exactly, edges are cut by about half a cell.
"""

import numpy as np
from scipy.spatial import cKDTree

from castplan.geometry import band
from castplan.geometry.refine import edge_lengths
from castplan.geometry.tetrahedra import zero_surface

CELLS_THROUGH = 4  # cells through the thickness
MAX_NODES = 3_000_000  # in blocks, before those out of reach go
# The infill reaches this far beyond the corners that ask for it, in
# thicknesses, and runs out under the moved back over as much again.
_REACH = 0.75
_RUN_OUT = 0.75
# Cells beyond the surface that are looked at: more than a cube's diagonal.
_BEYOND = 1.8
# The infill begins between these shares of what the moved sheet holds.
_COVERED, _LEAST_COVERED = 0.6, 0.1
_CUT = 0.35  # of a cell: half the diagonal of its face, at a right angle
_MOST_RINGS = 10


def infill(moved, loops, *, thickness_mm: float, is_whole: bool = False):
    """Fill behind the corners that could not move back by the whole thickness.

    Parameters
    ----------
    moved : offset.Moved
    loops : list of (k,) int64
        Rims of its faces.
    thickness_mm : float
    is_whole : bool
        Make all of the sheet anew, its front too, not only behind its short moves.

    Returns
    -------
    vertices_mm : (n, 3) float64
    faces : (m, 3) int64
    cell_mm : float
    """
    points, faces = np.array(moved.vertices_mm), np.array(moved.faces)
    used = np.unique(faces)
    short = used if is_whole else used[moved.moves_mm[used] < thickness_mm]
    tree = cKDTree(points[short])
    reach_mm = (_REACH + _RUN_OUT) * thickness_mm
    nodes, height, facet, foot, origin, cell_mm = _heights_behind(
        points, faces, tree, reach_mm, thickness_mm
    )
    depth, cover = thickness_mm, 0.0
    if not is_whole:
        apart, _ = tree.query(foot, distance_upper_bound=reach_mm + cell_mm)
        apart = np.minimum(apart, reach_mm + cell_mm)
        depth = thickness_mm * np.minimum(1.0, (reach_mm - apart) / (_RUN_OUT * thickness_mm))
        held = _least_around(points, faces, moved.moves_mm, short, 2 * cell_mm)
        held = held[faces[facet]].min(axis=1)
        # At an edge of the front the grid cuts the infill short; it begins earlier by that.
        cover = np.maximum(_COVERED * held - _CUT * cell_mm, _LEAST_COVERED * held)
    values = np.minimum(depth + height, -height - cover)
    places = origin + cell_mm * nodes
    beyond = _beyond(points, loops, moved.steps, cell_mm, places, foot)
    values = np.minimum(values, -beyond)
    surface = zero_surface(nodes, values, origin_mm=origin, cell_mm=cell_mm, is_all=True)
    return *surface, cell_mm


def _least_around(points, faces, moves_mm, short, reach_mm):
    """Least move of the corners about each corner, so far that a cell cannot miss it: (n,)."""
    near = faces[np.isin(faces, short).any(axis=1)]
    step_mm = float(np.median(edge_lengths(points, near)))
    least = moves_mm.copy()
    for _ in range(int(np.clip(np.ceil(reach_mm / step_mm), 1, _MOST_RINGS))):
        np.minimum.at(least, faces, least[faces].min(axis=1)[:, None])
    return least


def _heights_behind(points, faces, tree, reach_mm, thickness_mm):
    """Nodes behind the sheet within reach of a tree's points, and where they stand to it."""
    seeds = band.spread_over(
        points,
        faces,
        apart_mm=0.5 * thickness_mm,
        is_kept=lambda middle, wide: (
            tree.query(middle, distance_upper_bound=reach_mm + float(wide.max()))[0]
            <= reach_mm + wide
        ),
    )
    cell_mm = thickness_mm / CELLS_THROUGH
    while True:
        behind_mm = thickness_mm + _BEYOND * cell_mm
        blocks, origin = band.blocks_near(
            seeds, reach_mm=behind_mm + 0.5 * thickness_mm, cell_mm=cell_mm
        )
        if len(blocks) * len(band.WITHIN) <= MAX_NODES:
            break
        cell_mm *= 1.25
    # Most blocks lie out of reach as a whole: their middles tell.
    before_mm, half_mm = _BEYOND * cell_mm, band.HALF * cell_mm
    middles = band.middles_mm(blocks, origin, cell_mm)
    height, _, foot = _heights(points, faces, middles, behind_mm + half_mm)
    is_near = (height > -behind_mm - half_mm) & (height < before_mm + half_mm)
    apart, _ = tree.query(foot, distance_upper_bound=reach_mm + 2 * half_mm)
    nodes = band.nodes_of(blocks[is_near & np.isfinite(apart)])
    height, facet, foot = _heights(points, faces, origin + cell_mm * nodes, behind_mm)
    known = (height > -behind_mm) & (height < before_mm)
    return nodes[known], height[known], facet[known], foot[known], origin, cell_mm


def _heights(points, faces, places, far_mm):
    """Height over the sheet, facet and foot of the nearest place on it; height inf from far on."""
    import igl

    height, facet, foot, _ = igl.signed_distance(
        places, points, faces, igl.SIGNED_DISTANCE_TYPE_PSEUDONORMAL, -far_mm, far_mm
    )
    is_near = np.isfinite(height) & (np.abs(height) < far_mm)
    facet = np.where(is_near, facet, 0)
    return np.where(is_near, height, np.inf), facet, np.where(is_near[:, None], foot, 0.0)


def _beyond(points, loops, steps, cell_mm, places, foot):
    """How far places stand out over the wall round the rim next to their foot: (n,).

    Negative inside, and far from every rim.
    """
    near_mm = 3 * cell_mm
    out = np.full(len(places), -near_mm)
    if not loops:
        return out
    a = np.concatenate(loops)
    b = np.concatenate([np.roll(loop, -1) for loop in loops])
    along = points[b] - points[a]
    # The rim runs as its facets do: out of the sheet is to its right, seen from the front.
    away = np.cross(along, steps[a] + steps[b])
    away /= np.maximum(np.linalg.norm(away, axis=1), 1e-300)[:, None]
    pieces = np.maximum(np.ceil(np.linalg.norm(along, axis=1) / (0.5 * cell_mm)), 1).astype(int)
    edge = np.repeat(np.arange(len(a)), pieces)
    place = np.arange(len(edge)) - np.repeat(np.cumsum(pieces) - pieces, pieces)
    on_rim = points[a][edge] + ((place + 0.5) / pieces[edge])[:, None] * along[edge]
    apart, nearest = cKDTree(on_rim).query(foot, distance_upper_bound=near_mm)
    is_near = np.isfinite(apart)
    nearest = nearest[is_near]
    height = np.einsum("ij,ij->i", places[is_near] - on_rim[nearest], away[edge[nearest]])
    out[is_near] = np.maximum(height, -near_mm)
    return out
