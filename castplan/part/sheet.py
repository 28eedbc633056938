"""A solid sheet from the one side of it that was scanned.

The scanned side stays as it is. Its back is the same surface moved back by the
thickness. Where that would cross itself, at bends tighter than the thickness,
it moves back only as far as it can, and a level set fills what is missing.
"""

from typing import NamedTuple

import manifold3d
import numpy as np

from castplan.geometry import frames
from castplan.geometry.solid import arrays_of, solid_of
from castplan.part import check, rims
from castplan.part.infill import infill
from castplan.part.offset import Moved, move_back, wall_up

# A hole of the scan is filled where it is narrower than the sheet is thick, up
# to this; wider ones are openings of the part (assumed).
MAX_FILLED_MM = 3.0
# A hole much longer than wide is a slot, whatever its width.
_MAX_LENGTH = 5.0
SCRAP_FRACTION = 0.01  # of the largest piece's area
_APART = 0.05  # of an edge, between pieces that only touched at a corner
_TINY = 1e-3  # of the solid's volume: what a level set leaves loose
_SLIVER_MM = 1e-3
_HAIR_MM = 1e-4
_DIGITS = 5  # of corners in mm, that files tell apart


class Sheet(NamedTuple):
    """The solid, and what was done to get there.

    `filled_mm` and `open_mm`: widths of the holes that were filled and of the
    openings that stay, largest first; `limit_mm` parts them. `cell_mm`: cell of the level set, None
    where none was needed; `is_remade`: all of it comes from the level set.
    """

    vertices_mm: np.ndarray
    faces: np.ndarray
    area_mm2: float
    volume_mm3: float
    filled_mm: tuple[float, ...]
    open_mm: tuple[float, ...]
    limit_mm: float
    n_scraps: int
    cell_mm: float | None
    is_remade: bool


def thicken(vertices_mm, faces, *, thickness_mm: float) -> Sheet:
    """Make a sheet a solid behind the side that its facets face.

    Parameters
    ----------
    vertices_mm : (n, 3) float64
    faces : (m, 3) int64
    thickness_mm : float

    Returns
    -------
    Sheet
    """
    vertices_mm, faces, n_scraps = _without_scraps(*_part_touching(vertices_mm, faces))
    vertices_mm, faces, filled, left = _fill_small(vertices_mm, faces, thickness_mm)
    area_mm2 = check.area_mm2(vertices_mm, faces)
    moved = move_back(vertices_mm, faces, _rims, thickness_mm=thickness_mm)
    points, facets, cell_mm, is_remade = _solid(moved, thickness_mm)
    return Sheet(
        points,
        facets,
        area_mm2,
        check.volume_mm3(points, facets),
        filled,
        left,
        _limit_mm(thickness_mm),
        n_scraps,
        cell_mm,
        is_remade,
    )


def _rims(vertices_mm, faces):
    return rims.trace_rims(check.edges_of(faces, n_vertices=len(vertices_mm)), vertices_mm)


def _solid(moved: Moved, thickness_mm):
    """Vertices and faces of the solid, cell of the level set, whether all is from it."""
    loops = _rims(moved.vertices_mm, moved.faces)
    backs = moved.vertices_mm - moved.moves_mm[:, None] * moved.steps
    shell = wall_up(moved.vertices_mm, moved.faces, backs, loops)
    if moved.is_sound and (moved.moves_mm == thickness_mm).all():
        return *shell, None, False
    skin = solid_of(*check.merge_vertices(*shell))
    if moved.is_sound and skin.status() == manifold3d.Error.NoError:
        *filling, cell_mm = infill(moved, loops, thickness_mm=thickness_mm)
        solid = skin + solid_of(*filling)
        is_remade = False
    else:
        *filling, cell_mm = infill(moved, loops, thickness_mm=thickness_mm, is_whole=True)
        solid, is_remade = solid_of(*filling), True
    pieces = solid.decompose()
    whole = max(piece.volume() for piece in pieces)
    # Bubbles between sheet and filling are closed, crumbs are left out.
    kept = [piece for piece in pieces if piece.volume() > _TINY * whole]
    solid = manifold3d.Manifold.compose(kept).as_original().simplify(_SLIVER_MM)
    points, faces = _without_hairs(*arrays_of(solid))
    return _part_equal(points, faces), faces, cell_mm, is_remade


def _without_hairs(points, faces):
    """The solid with corners joined that are a hair apart, as files would join them."""
    corners = points[faces]
    length = np.linalg.norm(corners - np.roll(corners, -1, axis=1), axis=2)
    ends = np.stack([faces, np.roll(faces, -1, axis=1)], axis=2)[length < _HAIR_MM]
    if not len(ends):
        return points, faces
    _, group = check.count_components(ends, n_vertices=len(points))
    _, first = np.unique(group, return_index=True)
    joined = check.drop_degenerate(first[group][faces])
    # A facet and its back lie on each other now; neither bounds anything.
    key = np.sort(joined, axis=1)
    _, which, count = np.unique(key, axis=0, return_inverse=True, return_counts=True)
    joined = joined[count[which.reshape(-1)] == 1]
    if solid_of(points, joined).status() != manifold3d.Error.NoError:
        return points, faces
    used, joined = np.unique(joined, return_inverse=True)
    return points[used], joined.reshape(-1, 3)


def _part_equal(points, faces):
    """Corners at one place that belong to different walls, drawn a hair into the solid.

    A solid may touch itself along an edge; told by its corners' places alone,
    four facets would share that edge.
    """
    _, group, count = np.unique(
        np.round(points, _DIGITS), axis=0, return_inverse=True, return_counts=True
    )
    is_twice = count[group.reshape(-1)] > 1
    if not is_twice.any():
        return points
    corners = points[faces]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    normal /= np.maximum(np.linalg.norm(normal, axis=1), 1e-300)[:, None]
    way = np.stack(
        [
            np.bincount(faces.ravel(), weights=np.repeat(normal[:, k], 3), minlength=len(points))
            for k in range(3)
        ],
        axis=1,
    )
    way /= np.maximum(np.linalg.norm(way, axis=1), 1e-300)[:, None]
    return np.where(is_twice[:, None], points - 10 * _HAIR_MM * way, points)


def _part_touching(vertices_mm, faces):
    """Pieces of the surface that only touch at a corner, drawn apart there a little.

    Walls round a rim that passes a corner twice would share an edge four times.
    """
    n = len(vertices_mm)
    start, end = faces, np.roll(faces, -1, axis=1)
    low, high = np.minimum(start, end), np.maximum(start, end)
    key = (low * n + high).ravel()
    order = np.argsort(key, kind="stable")
    same = np.flatnonzero(key[order][1:] == key[order][:-1])
    one, two = order[same], order[same + 1]
    # Two uses of a corner belong together over an edge that both facets have.
    pairs = []
    for is_end in (False, True):
        a = _use_at(one, low if not is_end else high, faces)
        b = _use_at(two, low if not is_end else high, faces)
        pairs.append(np.stack([a, b], axis=1))
    _, fan = check.count_components(np.concatenate(pairs), n_vertices=faces.size)
    corner = faces.ravel()
    _, first, fan = np.unique(fan, return_index=True, return_inverse=True)
    owner = corner[first]
    count = np.bincount(owner, minlength=n)
    if not (count > 1).any():
        return vertices_mm, faces
    points = vertices_mm[owner]
    middle = vertices_mm[faces].mean(axis=1)
    inward = (
        np.stack(
            [
                np.bincount(fan, weights=np.repeat(middle[:, k], 3) - vertices_mm[corner, k])
                for k in range(3)
            ],
            axis=1,
        )
        / np.bincount(fan)[:, None]
    )
    points = points + np.where((count[owner] > 1)[:, None], _APART * inward, 0.0)
    return points, fan.reshape(-1, 3)


def _use_at(edge_use, vertex, faces):
    """Place in `faces.ravel()` where the facet of an edge's use has a given end of it."""
    facet, k = np.divmod(edge_use, 3)
    wanted = vertex.ravel()[edge_use]
    return facet * 3 + np.where(faces[facet, k] == wanted, k, (k + 1) % 3)


def _without_scraps(vertices_mm, faces):
    """The surface without loose scraps; how many there were."""
    edges = check.edges_of(faces, n_vertices=len(vertices_mm))
    n, piece = check.count_components(edges.pairs, n_vertices=len(vertices_mm))
    of_facet = piece[faces[:, 0]]
    area = np.bincount(of_facet, weights=check.facet_areas_mm2(vertices_mm, faces), minlength=n)
    is_scrap = (area > 0) & (area < SCRAP_FRACTION * area.max())
    return vertices_mm, faces[~is_scrap[of_facet]], int(is_scrap.sum())


def _fill_small(vertices_mm, faces, thickness_mm):
    """The surface with its narrow holes closed, and widths of those and of the others."""
    loops = _rims(vertices_mm, faces)
    sizes = rims.measure_rims(vertices_mm, loops)
    edges = check.edges_of(faces, n_vertices=len(vertices_mm))
    _, piece = check.count_components(edges.pairs, n_vertices=len(vertices_mm))
    mine = np.array([piece[loop[0]] for loop in loops], dtype=np.int64)
    # The longest rim of each piece is its border.
    order = np.lexsort((-sizes.rim_mm, mine))
    is_border = np.zeros(len(loops), dtype=bool)
    is_border[order[np.concatenate(([True], mine[order][1:] != mine[order][:-1]))]] = True
    # Of a circle its diameter, of a square its side.
    width = 4 * sizes.area_mm2 / sizes.rim_mm
    long = np.array([np.ptp(vertices_mm[loop], axis=0).max() for loop in loops])
    limit = _limit_mm(thickness_mm)
    is_small = ~is_border & (width < limit) & (long < _MAX_LENGTH * limit)
    caps = [_cap(vertices_mm, loops[k]) for k in np.flatnonzero(is_small)]
    left = ~is_border & ~is_small
    return (
        vertices_mm,
        np.concatenate((faces, *caps)),
        tuple(sorted((float(w) for w in width[is_small]), reverse=True)),
        tuple(sorted((float(w) for w in width[left]), reverse=True)),
    )


def _limit_mm(thickness_mm):
    """Width up to which holes are filled."""
    return min(thickness_mm, MAX_FILLED_MM)


def _cap(vertices_mm, loop):
    """Facets (k, 3) over a hole between the corners of its rim, as seen straight on."""
    rim = vertices_mm[loop] - vertices_mm[loop].mean(axis=0)
    area = np.cross(rim, np.roll(rim, -1, axis=0)).sum(axis=0)
    flat = rim @ frames.turn_to(-area)[:2].T
    triangles = manifold3d.triangulate([flat[::-1]])
    return loop[::-1][np.asarray(triangles, dtype=np.int64)]
