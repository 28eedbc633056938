"""Frames of a part: rotations chosen from its shape, for the stages to share."""

import contextlib
import math
from functools import lru_cache

import numpy as np
import shapely
from scipy.spatial import ConvexHull, QhullError

from castplan.columns import views
from castplan.job import Job
from castplan.part.records import Part
from castplan.record import Frame

# A rotated box must save this much of its area to be worth standing askew.
ASKEW_GAIN_FRACTION = 0.02
# A part that falls over when it is tipped by less does not lie safely (assumed).
TIP_DEG = 5.0
N_SUPPORT = 128  # directions whose farthest points stand for a hull in a search
# A part made to a length at which the wall changes stays within it (assumed).
# Keys that fit the wall: the usual ones, the least of them, and half of what the
# sampled outline of a part may be off on either side.
USUAL_KEY_MM, LEAST_KEY_MM = 8.0, 5.0
USUAL_BY_KEY_MM, LEAST_BY_KEY_MM = 6.0, 2.5
KEY_SLACK_MM = 1.0
BORDER_MM = 0.5
ABOUT = 0.01  # cosines of axes nearer than this are alike
MANY_POINTS, HULL_ACROSS = 50_000, 128  # beyond so many a hull is taken of the outermost
TURNS_DEG = (5.0, 0.5)  # steps in which a footprint is turned to its smallest rectangle


def unit(direction) -> np.ndarray:
    """A direction (3,) at length 1."""
    d = np.asarray(direction, dtype=float)
    return d / np.linalg.norm(d)


def turn_to(direction) -> np.ndarray:
    """A rotation (3, 3) whose third row is `direction` (3,), x otherwise free."""
    x, y, z = (float(v) for v in unit(direction))
    # Square to the file axis least along it, so that the product never vanishes.
    # Of axes about as little along it the first: noise of the mesh must not choose.
    # Written out: a search turns to thousands of directions.
    a, b, c = abs(x), abs(y), abs(z)
    least = 0 if a <= min(b, c) + ABOUT else 1 if b <= c + ABOUT else 2
    a, b, c = ((0.0, -z, y), (z, 0.0, -x), (-y, x, 0.0))[least]
    size = math.sqrt(a * a + b * b + c * c)
    a, b, c = a / size, b / size, c / size
    across = (y * c - z * b, z * a - x * c, x * b - y * a)
    return np.array([(a, b, c), across, (x, y, z)])


def support_points(hull_mm: np.ndarray) -> np.ndarray:
    """A hull's farthest points along `N_SUPPORT` even directions, all of a light one, (k, 3)."""
    if len(hull_mm) <= N_SUPPORT:
        return hull_mm
    k = np.arange(N_SUPPORT)
    z = 1 - (2 * k + 1) / N_SUPPORT
    angle, radius = k * np.pi * (3 - np.sqrt(5)), np.sqrt(1 - z**2)
    ways = np.stack([radius * np.cos(angle), radius * np.sin(angle), z])
    return hull_mm[np.unique(np.argmax(hull_mm @ ways, axis=0))]


def search_turns(directions, hull_mm: np.ndarray, *, wall_mm: float) -> np.ndarray:
    """Rotations (k, 3, 3) with z along directions (k, 3) and the footprint about square to x and y.

    A lighter `frame_along` for many directions: of turns in small steps the one
    whose rectangle, with a wall round it, is smallest.
    """
    base = np.array([turn_to(d) for d in directions])
    flat = base[:, :2] @ hull_mm.T  # (k, 2, points)
    at = np.zeros(len(base))
    reach_deg = 45.0
    for step_deg in TURNS_DEG:
        n = round(reach_deg / step_deg)
        tried = at[:, None] + np.radians(step_deg) * np.arange(-n, n + 1)
        cos, sin = np.cos(tried)[:, :, None], np.sin(tried)[:, :, None]
        x = cos * flat[:, None, 0] + sin * flat[:, None, 1]
        y = cos * flat[:, None, 1] - sin * flat[:, None, 0]
        area = (np.ptp(x, axis=2) + 2 * wall_mm) * (np.ptp(y, axis=2) + 2 * wall_mm)
        at = tried[np.arange(len(base)), np.argmin(np.round(area, 6), axis=1)]
        reach_deg = step_deg
    cos, sin = np.cos(at)[:, None], np.sin(at)[:, None]
    x = cos * base[:, 0] + sin * base[:, 1]
    return np.stack([x, cos * base[:, 1] - sin * base[:, 0], base[:, 2]], axis=1)


@lru_cache(maxsize=2)
def hull_points(part: Part) -> np.ndarray:
    """Corners of the part's convex hull, (k, 3); of a heavy part nearly."""
    points = _outermost(used_points(part))
    with contextlib.suppress(QhullError):
        points = points[np.sort(ConvexHull(points).vertices)]
    points.flags.writeable = False
    return points


@lru_cache(maxsize=2)
def used_points(part: Part) -> np.ndarray:
    """Corners of the part's facets, (k, 3), each once."""
    is_used = np.zeros(len(part.vertices_mm), dtype=bool)
    is_used[part.faces.ravel()] = True
    points = part.vertices_mm[is_used]
    points.flags.writeable = False
    return points


def _outermost(points):
    """Of many points those farthest from the middle in each of small cubes.

    On a ball of a million facets all corners are the hull's. Within a cube its hull
    sinks by the square of the cube's size over the ball's: a few micrometres.
    """
    if len(points) <= MANY_POINTS:
        return points.copy()
    low, size = points.min(axis=0), np.ptp(points, axis=0)
    cell = ((points - low) / (size.max() / HULL_ACROSS)).astype(np.int64)
    key = (cell[:, 0] * (HULL_ACROSS + 1) + cell[:, 1]) * (HULL_ACROSS + 1) + cell[:, 2]
    away = np.linalg.norm(points - (low + 0.5 * size), axis=1)
    order = np.lexsort((away, key))
    is_last = np.append(np.diff(key[order]) > 0, True)
    return points[np.sort(order[is_last])]


def extent_mm(part: Part, turn) -> tuple[float, float, float]:
    """Extent of a part along axes `turn` (3, 3)."""
    x, y, z = np.ptp(used_points(part) @ turn.T, axis=0)
    return float(x), float(y), float(z)


def longest_mm(part: Part, turn) -> float:
    """Longest extent of a part along its own axes `turn` (3, 3), however it lies in the file."""
    return max(extent_mm(part, turn))


def frame_along(direction, hull_mm: np.ndarray) -> Frame:
    """Frame with z along `direction` and the part's footprint square to x and y.

    The footprint's smallest rectangle (its long side along x), unless the
    file's own axes give one within `ASKEW_GAIN_FRACTION`.

    Parameters
    ----------
    direction : (3,) array_like
    hull_mm : (k, 3) corners of the convex hull
    """
    base = turn_to(direction)
    flat = hull_mm @ base[:2].T
    rectangle = shapely.minimum_rotated_rectangle(shapely.MultiPoint(flat))
    options = []
    if rectangle.geom_type == "Polygon":
        corners = shapely.get_coordinates(rectangle)
        options.append((corners[1] - corners[0]) @ base[:2])
    for axis in np.eye(3):
        inside = axis - base[2] * (axis @ base[2])
        if np.linalg.norm(inside) > 0.5:
            options.append(inside)
    best = None
    for k, option in enumerate(options):
        x = unit(option)
        y = np.cross(base[2], x)
        size = np.ptp(hull_mm @ np.stack([x, y]).T, axis=0)
        if size[1] > size[0]:
            x, y = y, -x
        cost = float(size[0] * size[1]) * (1.0 if k else 1.0 + ASKEW_GAIN_FRACTION)
        if best is None or cost < best[0] * (1 - 1e-6):
            best = (cost, _facing_ahead(x), base[2])
    _, x, z = best
    return Frame(rotation=np.stack([x, np.cross(z, x), z]))


def _facing_ahead(x):
    """The one of x and -x that points along the file's axis it lies nearest to."""
    lead = int(np.argmax(np.abs(np.round(x, 6))))
    return x if x[lead] > 0 else -x


def stands_better_upside_down(field, turn) -> bool:
    """Whether the part's flat, if it has one, is on top along the field's z.

    Without one its own axes `turn` (3, 3) tell, which are the file's way round
    where the part is even.
    """
    skin_mm = max(0.1, 0.002 * float(field.high_mm[2] - field.low_mm[2]))
    below = np.count_nonzero(field.lowest_mm <= field.low_mm[2] + skin_mm)
    above = np.count_nonzero(field.highest_mm >= field.high_mm[2] - skin_mm)
    n_shadow = np.count_nonzero(np.isfinite(field.lowest_mm))
    if abs(above - below) > 0.02 * n_shadow:
        return above > below
    up = turn @ field.rotation[2]
    return bool(up[int(np.argmax(np.abs(np.round(up, 3))))] < 0)


def lies_stable(field, *, is_turned: bool = False) -> bool:
    """Whether the part would lie on its lowest face without tipping.

    The middle of its mass must stand over the convex hull of what touches the
    board, a skin of 0.1 mm or 0.2 % of the height deep, and stay over it when
    the part is tipped by `TIP_DEG`: a tile on its edge does not.

    Parameters
    ----------
    field : ColumnField
    is_turned : bool
        Asked of the part upside down, on its highest face.
    """
    skin_mm = max(0.1, 0.002 * float(field.high_mm[2] - field.low_mm[2]))
    if is_turned:
        touches = field.highest_mm >= field.high_mm[2] - skin_mm
    else:
        touches = field.lowest_mm <= field.low_mm[2] + skin_mm
    # The ends of each row of columns have the same hull as all of them.
    column = np.flatnonzero(touches)
    row = column // field.n_x
    is_new = np.diff(row, prepend=-1, append=-1) != 0
    is_end = is_new[:-1] | is_new[1:]
    feet = shapely.MultiPoint(field.centre_mm(column[is_end])).convex_hull
    # From a point or a line of feet nothing keeps away.
    if feet.area == 0:
        return False
    length = field.top_mm - field.bottom_mm
    weight = length / length.sum()
    middle = shapely.Point(weight @ field.centre_mm(field.column_of))
    height_mm = float((weight * 0.5 * (field.top_mm + field.bottom_mm)).sum())
    height_mm = field.high_mm[2] - height_mm if is_turned else height_mm - field.low_mm[2]
    reach_mm = np.tan(np.radians(TIP_DEG)) * float(height_mm)
    return bool(feet.contains(middle) and middle.distance(feet.boundary) >= reach_mm)


def view_pitch(part: Part, job: Job, frame: Frame, *, pitch_mm: float) -> float:
    """Pitch for the view of a frame, finer where the part is thin in it; the job's own is kept."""
    if job.pitch_mm is not None:
        return pitch_mm
    closed = np.concatenate([part.faces, part.cap_faces])
    return views.view_pitch(part.vertices_mm, closed, frame.rotation, pitch_mm=pitch_mm)


def wall_for(job: Job, *, longest_mm: float) -> float:
    """Silicone at the sides, mm: what the job asks, else by the part's size.

    12 mm up to 150 mm, then 15 mm, from 250 mm on 20 mm. 10 to 15 mm is
    usual, 19 to 25 mm for large or heavy parts (common practice, no source);
    the steps between are from memory.
    """
    if job.wall_mm is not None:
        return job.wall_mm
    if longest_mm <= 150 + BORDER_MM:
        return 12.0
    return 15.0 if longest_mm <= 250 + BORDER_MM else 20.0


def keys_for(job: Job, *, wall_mm: float) -> tuple[float, float]:
    """Diameter of a key, and what stays between it and part or box [mm].

    What the job asks, else what fits the silicone at the sides: half of it, 8 mm
    at most (8 to 12 mm are usual, from memory), and with what is left over on
    both sides, 6 mm at most (from memory). Keys smaller than 5 mm trap air
    (common practice, no source), so under a wall of 10 mm they do not get any smaller.
    """
    key_mm, clearance_mm = job.key_mm, job.key_clearance_mm
    room_mm = wall_mm - KEY_SLACK_MM
    if key_mm is None:
        wanted_mm = wall_mm / 2 if clearance_mm is None else room_mm - 2 * clearance_mm
        key_mm = float(np.clip(math.floor(wanted_mm), LEAST_KEY_MM, USUAL_KEY_MM))
    if clearance_mm is None:
        clearance_mm = float(np.clip((room_mm - key_mm) / 2, LEAST_BY_KEY_MM, USUAL_BY_KEY_MM))
    return key_mm, clearance_mm
