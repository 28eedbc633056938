"""The part's surface in facets for the view: what holds, drafts, is thick, and keeps air."""

import numpy as np

from castplan.air.records import AirResult
from castplan.columns.field import ColumnField, interval_at, sample
from castplan.columns.flood import Filling, label_joined
from castplan.columns.held import SEALED, UPPER, Held
from castplan.columns.thickness import length_through
from castplan.geometry import frames
from castplan.geometry.refine import across_edges, edge_lengths, split_edges
from castplan.geometry.standin import HALFWAY, thin_out
from castplan.part.records import Part
from castplan.record import Frame
from castplan.view.records import CLOSED, FREE, HELD_LOWER, HELD_UPPER, Film, SurfaceMaps

# What a file to look at can hold; a heavier part is shown thinned.
MOST_FACETS = HALFWAY
# A light part gets about this many facets, so that a map has room for its limits,
# and then finer ones along the limits.
EVEN_FACETS = 8_000
N_FINER = 3
MOST_REFINED = 36_000
THICKNESS_ACROSS = 160
N_FILM = 41  # steps of the pour, the empty cavity with them
LEAST_SPILL_FRACTION = 0.002  # of the cavity; less runs over unnoticed
STEEP = 0.01  # slope against the draw under which a wall is upright
NUDGE_MM = 0.01  # off the surface, to tell its two sides apart
# Air under this height is the sampling of a level roof.
LEAST_AIR_MM = 0.1
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
    resin = _Resin(filling, frame, air)
    points, faces, is_thinned = shown
    points = points @ frame.rotation.T
    points, faces = _refine(points, faces, rubber, resin)
    centre, normal = _facets(points, faces)
    holder, is_upper, pocket, depth_mm = rubber.at(centre, normal)
    slope = np.where(is_upper, normal[:, 2], -normal[:, 2])
    is_caught, peak, spill_fraction, cut_off_mm = resin.at(centre, normal)
    return SurfaceMaps(
        vertices_mm=points,
        faces=faces,
        is_thinned=is_thinned,
        holder=holder,
        is_upper=is_upper,
        pocket=pocket,
        peak=peak,
        draft_deg=np.degrees(np.arcsin(np.clip(slope, -1.0, 1.0))),
        depth_mm=depth_mm,
        thickness_mm=_thickness(_Solid(part, frame), faces, len(points), centre, normal),
        is_caught=is_caught,
        spill_fraction=spill_fraction,
        cut_off_mm=cut_off_mm,
    )


def roll_film(filling: Filling, frame: Frame, draw_frame: Frame) -> Film:
    """The pour in even steps of the volume that fills.

    Parameters
    ----------
    filling : Filling
    frame, draw_frame : Frame
        Of the pour and of the draw.
    """
    low = float(filling.field.low_mm[2])
    total_mm3 = _total_mm3(filling)
    spills = _spills(filling)
    steps = []
    for filled_mm3 in np.linspace(0.0, total_mm3, N_FILM):
        level = rising = filling.level_at(fraction=filled_mm3 / total_mm3)
        for spill in spills:
            run_over = filled_mm3 - spill.before_mm3
            if 0 <= run_over < spill.volume_mm3[-1]:
                level = spill.sill_mm
                rising = float(np.interp(run_over, spill.volume_mm3, spill.height_mm))
        steps.append((level, rising, filled_mm3, filling.caught_mm3(level_mm=level)))
    level, rising, filled, caught = np.array(steps).T
    # The ledge that the first drop falls on is no level.
    rising[0] = rising[:2].min()
    high = filling.field.high_mm[2]
    return Film(
        up=tuple(float(v) for v in draw_frame.to_frame(frame.up)),
        low_mm=low,
        level_mm=np.minimum(level, high) - low,
        rising_mm=np.minimum(rising, high) - low,
        filled_ml=filled / 1000,
        caught_ml=caught / 1000,
        cavity_ml=filling.field.volume_mm3 / 1000,
    )


def _total_mm3(filling):
    return filling.filled_mm3(level_mm=float(np.nextafter(filling.high_mm, np.inf)))


def _spills(filling):
    return filling.spills(min_mm3=LEAST_SPILL_FRACTION * filling.field.volume_mm3)


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


def _refine(points, faces, rubber, resin):
    """Facets small enough for the maps, smaller still where a class ends."""
    corners = points[faces]
    area = 0.5 * np.linalg.norm(
        np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), axis=1
    )
    # Halved edges leave facets of about a third of the square of the limit.
    longest_mm = np.sqrt(3 * area.sum() / EVEN_FACETS)
    while len(faces) < MOST_REFINED:
        too_long = edge_lengths(points, faces) > longest_mm
        if not too_long.any():
            break
        points, faces = _limited(points, faces, too_long)
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
        points, faces, _ = split_edges(points, faces, ends_here)
    return points, faces


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
        n_under, is_solid = _count_under(field, column, z)
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


class _Resin:
    """When resin comes to a point of the surface, and whether air stays there."""

    def __init__(self, filling, draw_frame, air):
        self.filling = filling
        field = filling.field
        self.turn = field.rotation @ draw_frame.rotation.T
        self.low_mm = float(field.low_mm[2])
        self.spills, self.total_mm3 = _spills(filling), _total_mm3(filling)
        self.air_mm = field.top_mm - filling.floor_of_air_mm
        self.peak = self._peaks(air)

    def _peaks(self, air):
        """Number of the high point whose air each interval keeps, 0 for none, (n,)."""
        field = self.filling.field
        label, n = label_joined(
            field.first,
            self.filling.floor_of_air_mm,
            field.top_mm,
            field.column_of,
            field.n_x,
            self.air_mm > LEAST_AIR_MM,
        )
        number = np.zeros(n + 1, dtype=np.int32)  # the last stands for no air
        for peak in reversed(air.peaks):  # of several in one air the first stays
            place = field.rotation @ air.frame.to_part(np.array(peak.place_mm))
            number[label[interval_at(field, place)]] = peak.number
        number[-1] = 0
        return number[label]

    def at(self, centre, normal):
        """Caught or not, high point, share of the fill that spills in, level that cuts off."""
        filling, field = self.filling, self.filling.field
        points, out = centre @ self.turn.T, normal @ self.turn.T
        column = field.columns_at(points[:, :2] - out[:, :2] * field.pitch_mm)
        z = points[:, 2] - out[:, 2] * NUDGE_MM
        n = np.diff(field.first)[column]
        n_under, is_solid = _count_under(field, column, z)
        # Outside solid: the one below for what looks up, else the one above.
        at = n_under - (is_solid | (out[:, 2] > 0))
        at = field.first[column] + np.clip(at, 0, np.maximum(n - 1, 0))
        at = np.minimum(at, field.bottom_mm.size - 1)
        is_known = n > 0
        floor = np.where(is_known, filling.floor_of_air_mm[at], np.inf)
        is_caught = (z >= floor) & (self.air_mm[at] > LEAST_AIR_MM)
        spilled = np.zeros(len(centre))
        for spill in self.spills:
            here = is_known & (np.abs(filling.entry_mm[at] - spill.sill_mm) < 1e-5)
            here &= z < spill.sill_mm
            run_over = np.interp(z[here], spill.height_mm, spill.volume_mm3)
            spilled[here] = (spill.before_mm3 + run_over) / self.total_mm3
        cut_off = np.where(is_caught, filling.cut_off_mm[at], filling.high_mm)
        peak = np.where(is_caught, self.peak[at], 0)
        last = np.clip(cut_off, field.low_mm[2], field.high_mm[2])
        return is_caught, peak, spilled, last - self.low_mm


def _count_under(field, column, z):
    """Intervals of each point's column that begin under it, and whether one holds it."""
    first, last = field.first[column], field.first[column + 1]
    count = np.zeros(len(z), dtype=np.int64)
    is_solid = np.zeros(len(z), dtype=bool)
    for k in range(int((last - first).max(initial=0))):
        at = np.minimum(first + k, field.bottom_mm.size - 1)
        is_under = (first + k < last) & (field.bottom_mm[at] <= z)
        count += is_under
        is_solid |= is_under & (z <= field.top_mm[at])
    return count, is_solid


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
