"""The part's surface in facets for the view: what holds, drafts, is thick, and keeps air."""

from dataclasses import dataclass

import numpy as np

from castplan.air.records import AirResult
from castplan.columns.field import ColumnField, sample
from castplan.columns.flood import Filling
from castplan.columns.held import SEALED, UPPER, Held
from castplan.columns.thickness import length_through
from castplan.geometry import frames
from castplan.geometry.refine import across_edges, edge_lengths, split_edges
from castplan.geometry.standin import HALFWAY, thin_out
from castplan.memory import remembered
from castplan.part.records import Part
from castplan.record import Frame
from castplan.view.records import CLOSED, FREE, HELD_LOWER, HELD_UPPER, SurfaceMaps
from castplan.view.resin import NUDGE_MM, Resin, count_under
from castplan.view.shade import open_fraction

# What a file to look at can hold; a heavier part is shown thinned.
MOST_FACETS = HALFWAY
# A light part gets about this many facets, so that a map has room for its limits,
# and then finer ones along the limits.
EVEN_FACETS = 8_000
N_FINER = 3
MOST_REFINED = 36_000
THICKNESS_ACROSS = 160
STEEP = 0.01  # slope against the draw under which a wall is upright
# Lines through the nodes of a 5 x 5 x 5 lattice's middle: no direction is more
# than 14 degrees from one of them.
_STEPS = np.array(np.meshgrid(*[np.arange(-2, 3)] * 3, indexing="ij")).reshape(3, -1).T
WAYS = np.array(
    [w for w in _STEPS[_STEPS.shape[0] // 2 + 1 :] if np.gcd.reduce(w) == 1], dtype=float
)


def shown_part(part: Part) -> tuple[np.ndarray, np.ndarray, bool]:
    """The surface as the view can carry it: vertices, faces (caps too), whether thinned.

    Parameters
    ----------
    part : Part

    Returns
    -------
    vertices_mm : (n, 3) float64
    faces : (m, 3) int32
    is_thinned : bool
    """
    n_given = len(part.faces) + len(part.cap_faces)
    cell_mm = max(part.check.extent_mm) / 512
    points, faces = thin_out(part, n_triangles=MOST_FACETS, cell_mm=cell_mm)
    corners = points[faces]
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    has_area = np.linalg.norm(cross, axis=1) > 0
    return points, faces[has_area], n_given > MOST_FACETS


def map_surface(
    part: Part,
    frame: Frame,
    parting_mm: np.ndarray,
    field: ColumnField,
    held: Held,
    pocket_of_gap: np.ndarray,
    filling: Filling,
    air: AirResult,
    shown: tuple[np.ndarray, np.ndarray, bool],
) -> SurfaceMaps:
    """Read every map at every facet from the columns of the whole part.

    Parameters
    ----------
    part : Part
    frame : Frame
        The draw frame.
    parting_mm : (n,) float64
        Height of the parting in every column of the field.
    field : ColumnField
        Along the draw.
    held : Held
        What the halves hold.
    pocket_of_gap : (g,) int64
        Number of the listed pocket, 0 for none.
    filling : Filling
        Along up at the pour.
    air : AirResult
    shown : tuple
        From `shown_part`.

    Returns
    -------
    SurfaceMaps
    """
    rubber = _Rubber(field, held, pocket_of_gap, parting_mm)
    resin = Resin(filling, frame, air)
    even = even_surface(part, frame, shown)
    points, faces, of_even = _refine(even, rubber, resin)
    centre, normal = _facets(points, faces)
    holder, is_upper, pocket, depth_mm = rubber.at(centre, normal)
    slope = np.where(is_upper, normal[:, 2], -normal[:, 2])
    is_caught, peak, basin, air_floor_mm, cut_off_mm = resin.at(centre, normal)
    return SurfaceMaps(
        vertices_mm=points,
        faces=faces,
        is_thinned=shown[2],
        holder=holder,
        is_upper=is_upper,
        pocket=pocket,
        peak=peak,
        draft_deg=np.degrees(np.arcsin(np.clip(slope, -1.0, 1.0))),
        depth_mm=depth_mm,
        thickness_mm=even.thickness_mm[of_even],
        is_caught=is_caught,
        basin=basin,
        air_floor_mm=air_floor_mm,
        cut_off_mm=cut_off_mm,
        open_fraction=even.open_fraction[of_even],
    )


@dataclass(frozen=True, eq=False)
class Even:
    """The part's surface in facets of about one size, draw frame, with what no split changes."""

    points_mm: np.ndarray  # (n, 3)
    faces: np.ndarray  # (m, 3)
    longest_mm: float  # that an edge should have
    thickness_mm: np.ndarray  # (m,)
    open_fraction: np.ndarray  # (m,)


@remembered
def even_surface(part: Part, frame: Frame, shown: tuple) -> Even:
    """What of `map_surface` neither split nor pour changes: a change to them leaves it as it is.

    Parameters
    ----------
    part : Part
    frame : Frame
        The draw frame.
    shown : tuple
        From `shown_part`.
    """
    points, faces = shown[0] @ frame.rotation.T, shown[1]
    corners = points[faces]
    area = 0.5 * np.linalg.norm(
        np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), axis=1
    )
    # Halved edges leave facets of about a third of the square of the limit.
    longest_mm = float(np.sqrt(3 * area.sum() / EVEN_FACETS))
    while len(faces) < MOST_REFINED:
        too_long = edge_lengths(points, faces) > longest_mm
        if not too_long.any():
            break
        points, faces = _limited(points, faces, too_long)
    centre, normal = _facets(points, faces)
    return Even(
        points_mm=points,
        faces=faces,
        longest_mm=longest_mm,
        thickness_mm=_thickness(_Solid(part, frame), faces, len(points), centre, normal),
        open_fraction=open_fraction(points, faces),
    )


def _facets(points, faces):
    corners = points[faces]
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    double = np.linalg.norm(cross, axis=1)
    return corners.mean(axis=1), cross / np.where(double > 0, double, 1.0)[:, None]


def class_of(holder, caught, pocket) -> np.ndarray:
    """One number for what a facet is: who holds it, whether air stays, in which pocket, (m,).

    Parameters
    ----------
    holder : (m,) int
    caught : (m,) bool
    pocket : (m,) int
        However many; holders come as small integers that would run over.
    """
    kind = 2 * holder.astype(np.int64) + caught
    return kind * (1 + int(pocket.max(initial=0))) + pocket


def _refine(even, rubber, resin):
    """The even facets, smaller where a class ends; and of each the even one it lies in."""
    points, faces, longest_mm = even.points_mm, even.faces, even.longest_mm
    of_even = np.arange(len(faces))
    for _ in range(N_FINER):
        longest_mm *= 0.5
        centre, normal = _facets(points, faces)
        holder, _, pocket, _ = rubber.at(centre, normal)
        caught = resin.at(centre, normal)[0]
        label = class_of(holder, caught, pocket)
        ends_here = label[across_edges(faces, len(points))] != label[:, None]
        ends_here = ends_here.any(axis=1)[:, None] & (edge_lengths(points, faces) > longest_mm)
        if len(faces) + 2 * ends_here.sum() > MOST_REFINED:
            break
        points, faces, parent = split_edges(points, faces, ends_here)
        of_even = of_even[parent]
    return points, faces, of_even


def _limited(points, faces, too_long):
    """Split the longest edges first where there is not room for all."""
    room = (MOST_REFINED - len(faces)) // 2 + 1
    if too_long.sum() > room:
        length = np.where(too_long, edge_lengths(points, faces), 0.0)
        too_long = length >= np.partition(length.ravel(), -room)[-room]
    points, faces, _ = split_edges(points, faces, too_long)
    return points, faces


class _Rubber:
    """Which half's rubber lies on a point of the surface, and whether it is held there."""

    def __init__(self, field, held, pocket_of_gap, parting_mm):
        self.field, self.held, self.pocket_of_gap = field, held, pocket_of_gap
        self.parting_mm = parting_mm

    def at(self, centre, normal):
        """Holder, owning half, pocket and depth at facets, each (m,)."""
        field, held = self.field, self.held
        # A facet that grazes its column is judged from the void beside it.
        xy = centre[:, :2] + normal[:, :2] * field.pitch_mm
        z = centre[:, 2] + normal[:, 2] * NUDGE_MM
        column = field.columns_at(xy)
        # Where a slope ends at the outline, only the column within tells.
        is_rim = (np.diff(field.first)[column] == 0) & (np.abs(normal[:, 2]) > STEEP)
        within = centre[:, :2] - normal[:, :2] * field.pitch_mm
        column = np.where(is_rim, field.columns_at(within), column)
        n_under, is_solid = count_under(field, column, z)
        # Inside solid: the void above it for what looks up, else the one below.
        at = field.first[column] + np.maximum(n_under - 1, 0)
        at = np.minimum(at, field.bottom_mm.size - 1)
        beside = np.where(normal[:, 2] > 0, field.top_mm[at], field.bottom_mm[at])
        z = np.where(is_solid, beside + np.where(normal[:, 2] > 0, NUDGE_MM, -NUDGE_MM), z)
        is_upper = z > self.parting_mm[column]
        piece = held.piece_at(column, z, within_mm=NUDGE_MM)
        is_held = piece >= 0
        half = held.half[piece] if held.half.size else np.full(len(z), SEALED)
        is_upper = np.where(is_held, half == UPPER, is_upper)
        holder = np.where(is_held, np.where(is_upper, HELD_UPPER, HELD_LOWER), FREE)
        pocket = np.zeros(len(centre), dtype=np.int32)
        depth = np.zeros(len(centre))
        pocket[is_held] = self.pocket_of_gap[piece[is_held]]
        deep = held.gaps.depth_mm[piece[is_held]]
        depth[is_held] = np.where(np.isfinite(deep), deep, 0.0)
        holder[is_held & (half == SEALED)] = CLOSED
        return holder.astype(np.int8), is_upper, pocket, depth


class _Solid:
    """Lengths of solid through points of the draw frame, along lines of the draw frame."""

    def __init__(self, part, frame):
        self.part, self.frame = part, frame
        self.pitch_mm = max(part.check.extent_mm) / THICKNESS_ACROSS
        self.fields = {}

    def through(self, points_mm, way):
        """Length of the solid that holds each point along a way, (m,); inf beside the part."""
        key = tuple(int(value) for value in way)
        turn = frames.turn_to(way)
        if key not in self.fields:
            self.fields[key] = sample(
                self.part.vertices_mm,
                self.part.faces,
                self.part.cap_faces,
                turn @ self.frame.rotation,
                pitch_mm=self.pitch_mm,
            )
        return length_through(self.fields[key], points_mm @ turn.T)


def _thickness(solid, faces, n_vertices, centre, normal):
    """Shortest way through the middle of the wall under each facet, (m,) [mm].

    The middle lies half way straight in, and the ways through it are that one
    and the axes of the draw frame: a slanting line would find every convex
    edge thin. The way in is read along the nearest of `WAYS` and turned onto
    the normal: exact between parallel walls.
    """
    ways = WAYS / np.linalg.norm(WAYS, axis=1)[:, None]
    cosine = normal @ ways.T
    nearest = np.argmax(np.abs(np.round(cosine, 9)), axis=1)
    deep = np.full(len(centre), np.inf)
    for k in np.unique(nearest):
        here = nearest == k
        inside = centre[here] - NUDGE_MM * normal[here]
        deep[here] = solid.through(inside, WAYS[k]) * np.abs(cosine[here, k])
    # Beside an edge the nearest column may pass the part by: ask the neighbours.
    beside = across_edges(faces, n_vertices)
    while not np.isfinite(deep).all():
        near = deep[beside].min(axis=1)
        is_filled = ~np.isfinite(deep) & np.isfinite(near)
        if not is_filled.any():
            break
        deep[is_filled] = near[is_filled]
    deep = np.where(np.isfinite(deep), deep, 0.0)
    middle = centre - 0.5 * deep[:, None] * normal
    return np.minimum.reduce([deep, *(solid.through(middle, way) for way in np.eye(3))])
