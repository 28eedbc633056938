"""The flange of a block mould: where keys have room, and whether they fit one way only.

Everything is flat here, in x and y of the draw frame.
"""

import numpy as np
import shapely

from castplan.columns import contours
from castplan.columns.field import ColumnField, to_xy

# A layout of more keys than this is work without use (from memory).
MAX_KEYS = 24
MIN_KEYS = 3
# A box whose wall comes this near to itself goes in either way round.
SAME_WALL_MM = 1.0
SPECK_CELLS = 4


def shadow_of(field: ColumnField) -> shapely.Geometry:
    """What the part covers seen along the field's z, holes included, within half a pitch."""
    mask = (np.diff(field.first) > 0).reshape(field.n_y, field.n_x)
    rings = contours.rings(mask, x0_mm=field.u0_mm, y0_mm=field.v0_mm, pitch_mm=field.pitch_mm)
    shadow = shapely.Polygon()
    for ring in rings:  # largest first: a ring inside an odd number of others is a hole
        shape = shapely.Polygon(to_xy(ring)).buffer(0)
        if shape.area < SPECK_CELLS * field.cell_mm2:
            break  # specks of a scan, and all that follow are smaller
        shadow = shadow.symmetric_difference(shape)
    return shadow


def filled(shape: shapely.Geometry) -> shapely.Geometry:
    """The same shape without its holes."""
    parts = [p for p in shapely.get_parts(shape) if p.geom_type == "Polygon"]
    return shapely.union_all([shapely.Polygon(p.exterior) for p in parts])


def room_for_keys(outline, covered, blocked, *, key_mm: float, clearance_mm: float):
    """Where the middle of a key may stand.

    Parameters
    ----------
    outline : Polygon
        Inside of the box.
    covered : Geometry
        The part's shadow without holes.
    blocked : Geometry
        What else a key keeps off: gate and vents.
    key_mm, clearance_mm : float
        Diameter of a key; from its edge to part and box.

    Returns
    -------
    shapely.Geometry
    """
    reach_mm = 0.5 * key_mm + clearance_mm
    inside = outline.buffer(-reach_mm, join_style="mitre")
    keep_off = shapely.union_all([covered.buffer(reach_mm), blocked])
    return inside.difference(keep_off)


def lay_keys(outline, room, *, pitch_mm: float, key_mm: float, clearance_mm: float) -> np.ndarray:
    """Keys along the box's wall, evenly spaced where there is room, fitting one way only.

    The layout starts even; where some symmetry of the box, mirroring
    included, carries it onto itself, up to three keys are left out.

    Parameters
    ----------
    outline : Polygon
    room : Geometry, of `room_for_keys`
    pitch_mm : float
        Least distance of two keys.
    key_mm, clearance_mm : float

    Returns
    -------
    (n, 2) float64
        Empty where there is no room for `MIN_KEYS`, or no layout fits one way.
    """
    inset = outline.buffer(-(0.5 * key_mm + clearance_mm), join_style="mitre")
    none = np.empty((0, 2))
    if inset.is_empty or room.is_empty or inset.geom_type != "Polygon":
        return none
    # Rounding must not cut the ring off the room it bounds.
    on_ring = shapely.intersection(inset.exterior, room.buffer(1e-6))
    parts = shapely.get_parts(on_ring)
    # Where the room keeps off the wall, what they share is an empty line or a point.
    lines = [p for p in parts if p.geom_type == "LineString" and p.length > 0]
    if not lines:
        return none
    runs = shapely.get_parts(shapely.line_merge(shapely.MultiLineString(lines)))
    pitch_mm = max(pitch_mm, sum(run.length for run in runs) / MAX_KEYS)
    points = np.concatenate([_along(run, pitch_mm) for run in runs])
    points = points[np.lexsort((np.round(points[:, 0], 6), np.round(points[:, 1], 6)))]
    points = _apart(points, pitch_mm)
    return _one_way(outline, points, least_mm=0.5 * key_mm)


def _along(run, pitch_mm):
    if run.is_ring:
        n = int(run.length // pitch_mm)
        at = np.arange(n) * run.length / max(n, 1)
    else:
        n = int(run.length // pitch_mm) + 1
        at = np.linspace(0, run.length, n) if n > 1 else np.array([0.5 * run.length])
    return shapely.get_coordinates(shapely.line_interpolate_point(run, at))


def _apart(points, pitch_mm):
    """Drop keys much nearer than the pitch to one kept before (ends of two runs at a corner)."""
    kept = []
    for point in points:
        if all(np.hypot(*(point - other)) > 0.9 * pitch_mm for other in kept):
            kept.append(point)
    return np.array(kept).reshape(-1, 2)


def _one_way(outline, points, *, least_mm):
    if len(points) < MIN_KEYS or not is_spread(outline, points):
        return np.empty((0, 2))
    away = _after_turns(points, symmetries(outline, points))
    if _misfit(away) >= least_mm:
        return points
    n = len(points)
    # Evenly spaced keys in a round box need three gaps that differ.
    around = np.argsort(np.arctan2(*(points - points.mean(axis=0)).T), kind="stable")
    gaps = [(k,) for k in range(n)] + [(0, k) for k in range(1, n)]
    gaps += [(0, 1, k) for k in range(3, n - 1)]
    for gap in gaps:
        if n - len(gap) < MIN_KEYS:
            break
        kept = np.delete(np.arange(n), around[list(gap)])
        fits = _misfit(away[:, kept][:, :, kept]) < least_mm
        if not fits and is_spread(outline, points[kept]):
            return points[kept]
    return np.empty((0, 2))


def is_spread(outline, points_mm) -> bool:
    """Whether keys hold both ways across the box, not along one line only."""
    size = np.ptp(shapely.get_coordinates(outline), axis=0)
    return bool((np.ptp(points_mm, axis=0) >= 0.3 * size).all())


def symmetries(outline, points_mm) -> list[np.ndarray]:
    """Turns and mirrorings that carry the box onto itself, but not the identity.

    Candidates are quarter turns and every turn or mirroring that would carry
    one key to another, about the box's middle; those count that move its wall
    by less than a millimetre.

    Parameters
    ----------
    outline : Polygon
    points_mm : (n, 2)

    Returns
    -------
    list of (2, 3) float64
        New point = matrix[:, :2] @ point + matrix[:, 2].
    """
    middle = shapely.get_coordinates(outline.centroid)[0]
    angle = np.arctan2(*(np.asarray(points_mm) - middle).T[::-1])
    one, two = np.meshgrid(angle, angle)
    quarter = 0.5 * np.pi * np.arange(4)
    ring = outline.exterior
    # Corners and points between them, to be carried over and measured.
    on_ring = np.concatenate(
        [
            shapely.get_coordinates(
                shapely.line_interpolate_point(ring, np.arange(40) / 40, normalized=True)
            ),
            shapely.get_coordinates(shapely.simplify(ring, 0.1)),
        ]
    )
    found = []
    for mirror, angles in ((1.0, one - two), (-1.0, one + two)):
        # To a thousandth: even spacing gives the same angle many times over.
        wanted = np.unique(np.round(np.mod(angles.ravel(), 2 * np.pi), 3))
        beside = np.abs(wanted[:, None] - quarter).min(axis=1) > 2e-3
        wanted = np.concatenate([quarter, wanted[beside]])
        if mirror > 0:  # the right way round is no symmetry
            wanted = wanted[np.minimum(wanted, 2 * np.pi - wanted) > 0.02]
        c, s = np.cos(wanted), np.sin(wanted)
        linear = np.stack([np.stack([c, -mirror * s], 1), np.stack([s, mirror * c], 1)], 1)
        shift = middle - linear @ middle
        # A few points tell most candidates off; the rest are measured all round.
        kept = np.arange(len(wanted))
        for probe in (on_ring[:: len(on_ring) // 5], on_ring):
            carried = np.einsum("kij,nj->kni", linear[kept], probe) + shift[kept, None]
            away = shapely.distance(ring, shapely.points(carried)).max(axis=1)
            kept = kept[away < SAME_WALL_MM]
        found += [np.column_stack([linear[k], shift[k]]) for k in kept]
    return found


def _after_turns(points, turns):
    """Distance of each key to each hole after each turn, (t, n, n)."""
    if not turns:
        return np.full((1, len(points), len(points)), np.inf)
    turn = np.stack(turns)
    moved = np.einsum("tij,nj->tni", turn[:, :, :2], points) + turn[:, None, :, 2]
    return np.linalg.norm(moved[:, :, None] - points[None, None], axis=3)


def _misfit(away):
    """How far the worst key misses its hole in the best wrong position, mm."""
    return float(away.min(axis=2).max(axis=1).min())


def misfit_mm(outline, points_mm) -> float:
    """How far the worst key misses in the best wrong position of the halves.

    Parameters
    ----------
    outline : Polygon
    points_mm : (n, 2)

    Returns
    -------
    float
        inf where the box fits one way only.
    """
    points = np.asarray(points_mm, dtype=float)
    return _misfit(_after_turns(points, symmetries(outline, points)))
