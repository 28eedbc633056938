"""A solid made anew from any surface: level set of its winding number and distance."""

import manifold3d
import numpy as np

from castplan.columns.winding import winding_numbers
from castplan.geometry import band
from castplan.geometry.solid import solid_of
from castplan.geometry.tetrahedra import zero_surface

# Cells along the longest side, and how often they are halved where the volume
# shows that walls fall through them.
CELLS_ACROSS = 128
_HALVINGS = 2
MAX_NODES = 8_000_000
CLOSE_FRACTION = 0.01
_REACH = 1.8  # cells from the surface: more than a cube's diagonal


def remake(
    vertices_mm: np.ndarray, faces: np.ndarray, *, volume_mm3: float
) -> tuple[manifold3d.Manifold, float]:
    """The region whose winding number is above a half, as a manifold.

    The signed distance is taken on a grid near the surface (sign from the
    winding number) and its zero level by marching tetrahedra, so that the
    surface passes smoothly between nodes. The cells are made finer until the
    volume agrees within 1 %, a few times at most.

    Parameters
    ----------
    vertices_mm : (n, 3) float64
    faces : (m, 3) int
    volume_mm3 : float
        Of the region, from elsewhere.

    Returns
    -------
    solid : manifold3d.Manifold
    cell_mm : float
    """
    cell_mm = float(np.ptp(vertices_mm, axis=0).max()) / CELLS_ACROSS
    solid = _remake(vertices_mm, faces, cell_mm)
    while solid is None:
        cell_mm *= 1.25
        solid = _remake(vertices_mm, faces, cell_mm)
    for _ in range(_HALVINGS):
        if abs(solid.volume() / volume_mm3 - 1) <= CLOSE_FRACTION:
            break
        finer = _remake(vertices_mm, faces, 0.5 * cell_mm)
        if finer is None:
            break
        solid, cell_mm = finer, 0.5 * cell_mm
    return solid, cell_mm


def _remake(vertices_mm, faces, cell_mm):
    """The solid at one cell size; None where it would take too many nodes."""
    import igl

    points = np.array(vertices_mm, dtype=np.float64)
    triangles = np.array(faces, dtype=np.int64)
    seeds = band.spread_over(points, triangles, apart_mm=1.5 * cell_mm)
    reach_mm = _REACH * cell_mm
    blocks, origin = band.blocks_near(seeds, reach_mm=reach_mm + 1.5 * cell_mm, cell_mm=cell_mm)
    if len(blocks) * len(band.WITHIN) > MAX_NODES:
        return None
    nodes = band.nodes_of(blocks)
    distance, *_ = igl.signed_distance(
        origin + cell_mm * nodes,
        points,
        triangles,
        igl.SIGNED_DISTANCE_TYPE_UNSIGNED,
        0.0,
        reach_mm,
    )
    is_near = np.isfinite(distance) & (np.abs(distance) < reach_mm)
    nodes, distance = nodes[is_near], np.abs(distance[is_near])
    is_inside = winding_numbers(vertices_mm, faces, origin + cell_mm * nodes) > 0.5
    values = np.where(is_inside, distance, -distance)
    surface = zero_surface(nodes, values, origin_mm=origin, cell_mm=cell_mm, is_all=False)
    return solid_of(*surface)
