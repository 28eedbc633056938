"""Closed solids: the part, blocks and bores, by way of manifold3d.

Everything is in the draw frame, in double precision.
"""

import manifold3d
import numpy as np
import shapely
from manifold3d import Manifold
from scipy.sparse import coo_matrix, csgraph

from castplan.geometry import frames
from castplan.part.records import Part
from castplan.split.records import PartingSurface

# A block under a curved surface may leave it by this much to save triangles.
SURFACE_TOLERANCE_MM = 0.01
SEGMENTS = 48  # round a bore
BALL_SEGMENTS = 32  # of a key


def solid_of(vertices_mm, faces) -> Manifold:
    """Solid from vertices (n, 3) and faces (m, 3); ask its `status`."""
    mesh = manifold3d.Mesh64(
        np.array(vertices_mm, dtype=np.float64, order="C"),
        np.array(faces, dtype=np.uint64, order="C"),
    )
    return Manifold(mesh)


def arrays_of(solid: Manifold) -> tuple[np.ndarray, np.ndarray]:
    """Vertices (n, 3) float64 and faces (m, 3) int32 of a solid."""
    mesh = solid.to_mesh64()
    points = np.asarray(mesh.vert_properties)[:, :3]
    faces = np.asarray(mesh.tri_verts).astype(np.int64)
    # Copies of a vertex that only carry other properties become one again.
    target = np.arange(len(points))
    if len(mesh.merge_from_vert):
        target[np.asarray(mesh.merge_from_vert)] = np.asarray(mesh.merge_to_vert)
    used, faces = np.unique(target[faces], return_inverse=True)
    return points[used], faces.reshape(-1, 3).astype(np.int32)


def part_solid(part: Part, rotation) -> Manifold | None:
    """The part turned by a rotation (3, 3), holes capped, voids inside it filled.

    Separate bodies are united where they overlap. A void that is closed all
    round is filled: no silicone reaches it, so the mould does not know it.

    Returns
    -------
    Manifold or None
        None where the surface does not bound a solid (more than two facets at
        an edge, or facets that face each other's way).
    """
    faces = np.concatenate([part.faces, part.cap_faces])
    whole = solid_of(part.vertices_mm @ np.asarray(rotation).T, faces)
    if whole.status() != manifold3d.Error.NoError or whole.is_empty():
        return None
    bodies = _outsides(whole)
    if not bodies:
        return None
    return Manifold.batch_boolean(bodies, manifold3d.OpType.Add)


def _outsides(whole):
    """The connected surfaces of a solid that look outward, a solid each.

    `Manifold.decompose` makes a solid of every one first, which takes seconds
    where a thinned part has a thousand voids.
    """
    points, faces, of_face, volumes_mm3 = pieces_of(whole)
    n = len(volumes_mm3)
    if n == 1:
        return [whole] if whole.volume() > 0 else []
    is_out = volumes_mm3 > 0
    order = np.argsort(of_face, kind="stable")
    ends = np.searchsorted(of_face[order], np.arange(n + 1))
    bodies = []
    for k in np.flatnonzero(is_out):
        used, own = np.unique(faces[order[ends[k] : ends[k + 1]]], return_inverse=True)
        bodies.append(solid_of(points[used], own.reshape(-1, 3)))
    return bodies


def pieces_of(solid: Manifold):
    """The connected surfaces of a solid, counted without making a solid of each.

    Returns
    -------
    points : (n, 3) float64
    faces : (m, 3) int32
    of_face : (m,) int, the surface of each face
    volumes_mm3 : (k,) float64, negative where a surface looks inward
    """
    points, faces = arrays_of(solid)
    ends = faces[:, [0, 1, 1, 2]].reshape(-1, 2).T
    links = coo_matrix((np.ones(ends.shape[1], dtype=bool), ends), shape=(len(points),) * 2)
    n, label = csgraph.connected_components(links, directed=False)
    of_face = label[faces[:, 0]]
    # From a middle of its own, or a far-off body would lose its digits.
    corners = (points - points.mean(axis=0))[faces]
    six = np.einsum("ij,ij->i", corners[:, 0], np.cross(corners[:, 1], corners[:, 2]))
    return points, faces, of_face, np.bincount(of_face, weights=six, minlength=n) / 6


def prism(outline, *, low_mm: float, high_mm: float) -> Manifold:
    """Upright prism over a polygon, holes included.

    Parameters
    ----------
    outline : (k, 2) array_like or shapely polygon
    low_mm, high_mm : float
    """
    if not isinstance(outline, shapely.Geometry):
        outline = shapely.Polygon(outline)
    outline = shapely.orient_polygons(outline)
    rings = [
        shapely.get_coordinates(ring)[:-1]
        for piece in shapely.get_parts(outline)
        for ring in (piece.exterior, *piece.interiors)
    ]
    section = manifold3d.CrossSection(rings, manifold3d.FillRule.EvenOdd)
    return Manifold.extrude(section, high_mm - low_mm).translate((0.0, 0.0, low_mm))


def block_under(surface: PartingSurface, *, bottom_mm: float, margin_mm: float) -> Manifold:
    """Everything under a parting surface down to `bottom_mm`, box and a margin around it.

    A twisted cell of the surface becomes two triangles; their middles then
    lie on one of its diagonals.
    """
    h = surface.heights_mm
    n_y, n_x = h.shape
    x = surface.x0_mm + surface.step_x_mm * np.arange(n_x)
    y = surface.y0_mm + surface.step_y_mm * np.arange(n_y)
    x = np.concatenate([[x[0] - margin_mm], x, [x[-1] + margin_mm]])
    y = np.concatenate([[y[0] - margin_mm], y, [y[-1] + margin_mm]])
    return height_block(x, y, np.pad(h, 1, mode="edge"), bottom_mm=bottom_mm)


def height_block(x_mm, y_mm, heights_mm, *, bottom_mm: float) -> Manifold:
    """Solid between a level floor and heights (n_y, n_x) on a grid x (n_x,), y (n_y,)."""
    n_y, n_x = heights_mm.shape
    if np.ptp(heights_mm) < 1e-9:
        size = (x_mm[-1] - x_mm[0], y_mm[-1] - y_mm[0], float(heights_mm[0, 0]) - bottom_mm)
        return Manifold.cube(size).translate((x_mm[0], y_mm[0], bottom_mm))
    gx, gy = np.meshgrid(x_mm, y_mm)
    top = np.stack([gx, gy, heights_mm], axis=-1).reshape(-1, 3)
    cells = (np.arange(n_y - 1)[:, None] * n_x + np.arange(n_x - 1)).ravel()
    a, b, c, d = cells, cells + 1, cells + n_x + 1, cells + n_x
    skin = np.concatenate([np.stack([a, b, c], axis=1), np.stack([a, c, d], axis=1)])
    # The rim goes down to one polygon of floor vertices, fanned from a corner.
    rim = np.concatenate(
        [
            np.arange(n_x - 1),
            (n_x - 1) + n_x * np.arange(n_y - 1),
            n_x * n_y - 1 - np.arange(n_x - 1),
            n_x * (n_y - 1) - n_x * np.arange(n_y - 1),
        ]
    )
    floor = top[rim].copy()
    floor[:, 2] = bottom_mm
    foot = len(top) + np.arange(len(rim))
    after, foot_after = np.roll(rim, -1), np.roll(foot, -1)
    wall = np.concatenate(
        [np.stack([rim, foot, after], axis=1), np.stack([after, foot, foot_after], axis=1)]
    )
    middle = len(top) + len(floor)
    hub = np.array([[x_mm.mean(), y_mm.mean(), bottom_mm]])
    base = np.stack([foot_after, foot, np.full(len(rim), middle)], axis=1)
    solid = solid_of(np.concatenate([top, floor, hub]), np.concatenate([skin, wall, base]))
    return solid.simplify(SURFACE_TOLERANCE_MM)


def ball_cap(place_mm, *, diameter_mm: float, depth_mm: float, is_raised: bool) -> Manifold:
    """Ball whose cap of `depth_mm` under (over, if raised) a place is `diameter_mm` across."""
    radius = (0.25 * diameter_mm**2 + depth_mm**2) / (2 * depth_mm)
    away = radius - depth_mm
    x, y, z = (float(v) for v in place_mm)
    ball = Manifold.sphere(radius, BALL_SEGMENTS)
    return ball.translate((x, y, z - away if is_raised else z + away))


def bore(start_mm, end_mm, *, diameter_mm: float, end_diameter_mm: float | None = None) -> Manifold:
    """Round bore from one point (3,) to another, tapered if its end differs."""
    start, end = np.asarray(start_mm, dtype=float), np.asarray(end_mm, dtype=float)
    length = float(np.linalg.norm(end - start))
    turn = frames.turn_to(end - start).T
    wide = diameter_mm if end_diameter_mm is None else end_diameter_mm
    pin = Manifold.cylinder(length, 0.5 * diameter_mm, 0.5 * wide, SEGMENTS)
    return pin.transform(np.column_stack([turn, start]))
