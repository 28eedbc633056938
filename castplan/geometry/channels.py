"""Channels through the silicone: straight ways out of the box, risers, what stands in them.

Everything is in the frame of the box as it rests, up is +z, unless said
otherwise.
"""

from itertools import pairwise

import numpy as np
import shapely

from castplan.columns import surface
from castplan.columns.field import ColumnField
from castplan.geometry import frames
from castplan.record import Frame
from castplan.split.records import PartingSurface

# A high point this near to the parting can be vented by a groove in it.
GROOVE_MM = 2.0
# Silicone that must stand between a bore and the part beside it (assumed).
CLEAR_MM = 1.5
SLANTS_DEG = (15.0, 30.0, 45.0)
N_AZIMUTHS = 12
# Silicone thinner than this between a channel and the parting that it runs along
# tears off and stays in the copy (common practice, no source). A channel whose
# middle is within half its radius of the parting lies in it: half of it in each half.
WEB_MM, IN_PARTING = 2.0, 0.5
# A wedge at a channel's mouth is thin too; what is longer than this is a flap. A
# channel steeper than this to the parting leaves none.
FLAP_MM, ALONG_SIN = 5.0, 0.5
# A bent channel climbs so much for each mm that it goes aside to the parting.
BEND_RISE = 1.5
# An opening within this of level lets no air out by itself.
LEAST_CLIMB_DEG = 20.0
# A parting whose plane is steeper than this at the pour runs upward.
UPRIGHT_COS = 0.5
# Channels in a curved parting follow it this closely, in steps of this.
FOLLOW_MM, STEP_MM = 0.2, 2.0
ROUNDING_MM = 1e-6


def touches_parting(sheet: PartingSurface, places_mm) -> np.ndarray:
    """Which places (k, 3) of the draw frame lie near enough to the parting for a groove, (k,)."""
    places = np.asarray(places_mm, dtype=float)
    return np.abs(places[..., 2] - parting_mm(sheet, places)) <= GROOVE_MM


def touches_in_draw(sheet: PartingSurface, draw: Frame, places_mm) -> np.ndarray:
    """The same for places (k, 3) of the part frame, (k,)."""
    return touches_parting(sheet, draw.to_frame(places_mm))


def touches_level(draw: Frame, places_mm, *, height_mm: float) -> np.ndarray:
    """Which places (k, 3) of the part frame lie near enough to a level split, (k,)."""
    return np.abs(draw.to_frame(places_mm)[:, 2] - height_mm) <= GROOVE_MM


def parting_mm(sheet: PartingSurface, points_mm) -> np.ndarray:
    """Height of the parting under points (..., 2 or 3) of the draw frame, mm."""
    points = np.asarray(points_mm, dtype=float)
    return surface.read(sheet.x_mm, sheet.y_mm, sheet.heights_mm, points[..., :2])


def lay_on(sheet: PartingSurface, flat_mm) -> np.ndarray:
    """A way (k, 2) of the draw frame laid on the parting, with the bends that it needs, (n, 3)."""
    flat = np.asarray(flat_mm, dtype=float)
    if np.ptp(sheet.heights_mm) < 1e-9:
        return np.column_stack([flat, np.full(len(flat), sheet.heights_mm[0, 0])])
    out = []
    for start, end in pairwise(flat):
        length_mm = float(np.linalg.norm(end - start))
        t = np.linspace(0, 1, 2 + int(length_mm // STEP_MM))
        z = parting_mm(sheet, start + t[:, None] * (end - start))
        kept = shapely.LineString(np.column_stack([t * length_mm, z])).simplify(FOLLOW_MM)
        s, heights = shapely.get_coordinates(kept).T
        xy = start + (s / max(length_mm, 1e-9))[:, None] * (end - start)
        out.append(np.column_stack([xy, heights])[1 if out else 0 :])
    return np.concatenate(out)


def thin_web_mm(sheet: PartingSurface, path_mm, *, bore_mm: float) -> float | None:
    """Silicone left between a channel and the parting where it runs along it, mm.

    Parameters
    ----------
    sheet : PartingSurface
    path_mm : (k, 3) array_like
        The channel's middle, draw frame.
    bore_mm : float

    Returns
    -------
    float or None
        The least, 0 where the parting cuts the side of the bore open; None where a
        channel lies in the parting, keeps `WEB_MM` off it, or leaves it at once.
    """
    points, ways, steps_mm = _along(np.asarray(path_mm, dtype=float), step_mm=0.25)
    if not len(points):
        return None
    h = 0.5 * STEP_MM
    slopes = [
        (parting_mm(sheet, points + side) - parting_mm(sheet, points - side)) / (2 * h)
        for side in ((h, 0.0, 0.0), (0.0, h, 0.0))
    ]
    normals = np.column_stack([-slopes[0], -slopes[1], np.ones(len(points))])
    normals /= np.linalg.norm(normals, axis=1)[:, None]
    away_mm = np.abs(points[:, 2] - parting_mm(sheet, points)) * normals[:, 2]
    radius = 0.5 * bore_mm
    is_thin = (away_mm > IN_PARTING * radius + ROUNDING_MM) & (
        away_mm < radius + WEB_MM - ROUNDING_MM
    )
    is_thin &= np.abs(np.einsum("ij,ij->i", ways, normals)) < ALONG_SIN
    if steps_mm[is_thin].sum() < FLAP_MM:
        return None
    return max(float(away_mm[is_thin].min()) - radius, 0.0)


def _along(path, *, step_mm):
    """Middles of short steps along a way: (n, 3), the way there (n, 3), their length (n,)."""
    points, ways, steps = [np.zeros((0, 3))], [np.zeros((0, 3))], [np.zeros(0)]
    for start, end in pairwise(path):
        length = float(np.linalg.norm(end - start))
        if length < 1e-9:
            continue
        n = max(int(length / step_mm), 1)
        points.append(start + ((np.arange(n) + 0.5) / n)[:, None] * (end - start))
        ways.append(np.tile((end - start) / length, (n, 1)))
        steps.append(np.full(n, length / n))
    return np.concatenate(points), np.concatenate(ways), np.concatenate(steps)


def length_of(path_mm) -> float:
    """Length of a way (k, 3), mm."""
    return float(np.linalg.norm(np.diff(path_mm, axis=0), axis=1).sum())


class Block:
    """The silicone as a channel sees it: the part, the box, the parting, keys.

    Parameters
    ----------
    field : ColumnField
        The part along up as the box rests.
    rest, draw : Frame
    up : (3,)
        True up at the pour, part frame.
    sheet : PartingSurface
    low_mm, high_mm : (3,)
        The inside of the box, draw frame.
    keys_mm : sequence of (x, y, z, radius)
        Keys in the silicone, draw frame, as balls.
    cavities : sequence of ColumnField
        The field cavity by cavity, where resin does not run through all of it.
    is_parted : bool
        Without a parting, as the silicone of a block that is cut open is poured,
        every channel is a straight stick.
    """

    def __init__(
        self,
        field: ColumnField,
        rest: Frame,
        draw: Frame,
        up,
        sheet: PartingSurface,
        low_mm,
        high_mm,
        keys_mm=(),
        cavities=(),
        *,
        is_parted=True,
    ):
        self.cavities = cavities
        self.field, self.rest, self.draw, self.sheet = field, rest, draw, sheet
        self.is_parted = is_parted
        self.true_up = rest.rotation @ np.asarray(up)
        # The draw seen along the rest's up: how far the parting is from upright.
        self.is_upright = is_parted and abs(float((draw.rotation @ rest.up)[2])) < UPRIGHT_COS
        low, high = np.array(low_mm), np.array(high_mm)
        corners = np.array([[x, y, z] for x in (0, 1) for y in (0, 1) for z in (0, 1)])
        box = self.to_rest(low + corners * (high - low))
        self.low, self.high = box.min(axis=0), box.max(axis=0)
        self.keys = [(self.to_rest(np.array(key[:3])), float(key[3])) for key in keys_mm]

    def to_rest(self, points_mm):
        """Points of the draw frame."""
        return self.rest.to_frame(self.draw.to_part(points_mm))

    def to_draw(self, points_mm):
        """Points in the draw frame."""
        return self.draw.to_frame(self.rest.to_part(points_mm))

    def touches(self, place) -> bool:
        """Whether a place lies near enough to the parting for a groove."""
        return self.is_parted and bool(touches_parting(self.sheet, self.to_draw(place)))

    def way_out(self, place, *, bore_mm: float) -> tuple[str, np.ndarray]:
        """Kind of the way from a place on the cavity out of the box, and its legs, (k, 3).

        Straight up as the box rests, a groove if that runs in the parting. Where
        straight up would leave a thin web of silicone to the parting, the groove
        bends over into it, or the way slants off. Where part or a key is in the
        way, the least slant that is free; where none is, sideways along the
        parting; else none.
        """
        straight = self.straight(place, np.array([0.0, 0.0, 1.0]))
        is_free, is_thin = (
            self.is_clear(straight, bore_mm=bore_mm),
            self.is_thin(straight, bore_mm=bore_mm),
        )
        if self.is_upright and (is_thin or self.touches(place)):
            if is_free and not is_thin:
                return "groove", straight
            bent = self._bent(place, bore_mm)
            if bent is not None:
                return "groove", bent
        if is_free and not is_thin:
            return "straight", straight
        slanted = self._slant(place, bore_mm, is_thick=True)
        if is_free and slanted is None:
            return ("groove" if self.is_upright and self.touches(place) else "straight"), straight
        slanted = self._slant(place, bore_mm) if slanted is None else slanted
        if slanted is not None:
            return "slanted", slanted
        if self.touches(place):
            return "sideways", self._sideways(np.asarray(place), bore_mm)
        return "none", straight

    def straight(self, place, way) -> np.ndarray:
        """A straight way out of the box, (2, 3)."""
        return np.array([place, self.leave(place, way)[2]])

    def is_thin(self, path, *, bore_mm: float) -> bool:
        """Whether a way of straight legs leaves a thin web of silicone to the parting."""
        web_mm = thin_web_mm(self.sheet, self.to_draw(path), bore_mm=bore_mm)
        return self.is_parted and web_mm is not None

    def _bent(self, place, bore_mm):
        """Over to the parting and up in it, (k, 3); None where that is not free."""
        up = self.draw.rotation @ self.rest.up
        return self._laid(place, up[:2], bore_mm, ahead_fraction=BEND_RISE)

    def _laid(self, place, ahead, bore_mm, *, ahead_fraction):
        """Over to the parting and on in it along a way (2,), out of the box; or None."""
        start, ahead = self.to_draw(place), ahead / np.linalg.norm(ahead)
        aside_mm = abs(float(parting_mm(self.sheet, start) - start[2]))
        if aside_mm > max(GROOVE_MM, 0.5 * bore_mm + WEB_MM):
            return None
        flat = start[:2] + ahead_fraction * aside_mm * ahead
        first = np.array([*flat, float(parting_mm(self.sheet, flat))])
        further = flat + FOLLOW_MM * ahead
        second = np.array([*further, float(parting_mm(self.sheet, further))])
        begin, way = self.to_rest(first), self.to_rest(second) - self.to_rest(first)
        end = self.to_draw(self.leave(begin, way)[2])
        path = np.vstack([place, self.to_rest(lay_on(self.sheet, [flat, end[:2]]))])
        path[-1] = self.leave(path[-2], path[-1] - path[-2])[2]
        is_good = self.is_clear(path, bore_mm=bore_mm) and not self.is_thin(path, bore_mm=bore_mm)
        return path if is_good else None

    def leave(self, place, way) -> tuple[float, str, np.ndarray]:
        """Length, face and exit of a straight way out of the box."""
        with np.errstate(divide="ignore", invalid="ignore"):
            t = np.where(way > 0, (self.high - place) / way, (self.low - place) / way)
        t[np.abs(way) < 1e-9] = np.inf
        axis = int(np.argmin(t))
        face = {
            (2, True): "top",
            (2, False): "bottom",
            (0, True): "right",
            (0, False): "left",
            (1, True): "back",
            (1, False): "front",
        }[axis, bool(way[axis] > 0)]
        return float(t[axis]), face, place + t[axis] * way

    def on_face(self, face: str, exit_mm) -> tuple[float, float]:
        """An exit from the lower left corner of its face, seen from outside."""
        x, y, z = exit_mm - self.low
        width, depth, _ = self.high - self.low
        spot = {
            "top": (x, y),
            "bottom": (width - x, y),
            "front": (x, z),
            "back": (width - x, z),
            "right": (y, z),
            "left": (depth - y, z),
        }[face]
        return (float(spot[0]), float(spot[1]))

    def is_clear(self, path, *, bore_mm: float) -> bool:
        """Whether the part and the keys leave a way of straight legs clear.

        Beside the opening itself the bore touches the part: it widens to its
        clearance over the first millimetres.
        """
        run_mm = 0.0
        for start, end in pairwise(path):
            start, leg = np.asarray(start), np.asarray(end) - np.asarray(start)
            length = float(np.linalg.norm(leg))
            if length < 1e-9:
                continue
            way = leg / length
            if self._in_part(self._skin(start, way, length, bore_mm, run_mm)).any():
                return False
            for centre, radius in self.keys:
                t = np.clip((centre - start) @ way, 0, length)
                if np.linalg.norm(start + t * way - centre) < radius + 0.5 * bore_mm:
                    return False
            run_mm += length
        return True

    def _skin(self, start, way, length, bore_mm, run_mm):
        """Points along a leg and round it, (k, 3)."""
        step_mm = max(self.field.pitch_mm, 0.25)
        first = max(max(1.0, 2 * step_mm) - run_mm, 0.0)
        along = np.arange(first, max(length, first), step_mm)
        reach = np.minimum(0.5 * bore_mm + CLEAR_MM, 0.5 * (along + run_mm))
        side, other = frames.turn_to(way)[:2]
        angle = np.radians(np.arange(8) * 45.0)
        spokes = np.cos(angle)[:, None] * side + np.sin(angle)[:, None] * other
        middle = start + along[:, None] * way
        rim = middle[:, None, :] + reach[:, None, None] * spokes
        return np.concatenate([middle, rim.reshape(-1, 3)])

    def _in_part(self, points):
        field = self.field
        column = field.columns_at(points[:, :2])
        count = np.diff(field.first)[column]
        inside = np.zeros(len(points), dtype=bool)
        for k in range(int(count.max(initial=0))):
            has = np.flatnonzero(count > k)
            interval = field.first[column[has]] + k
            z = points[has, 2]
            inside[has] |= (z > field.bottom_mm[interval]) & (z < field.top_mm[interval])
        return inside

    def _slant(self, place, bore_mm, *, is_thick=False):
        """The least slant that is free and still climbs at the pour, (2, 3); None if none is.

        With `is_thick` it also leaves no thin web.
        """
        for slant_deg in SLANTS_DEG:
            for path in self._slanted(place, slant_deg):
                if is_thick and self.is_thin(path, bore_mm=bore_mm):
                    continue
                if self.is_clear(path, bore_mm=bore_mm):
                    return path
        return None

    def _slanted(self, place, slant_deg):
        """Straight ways of a slant that climb at the pour, all round, (2, 3) each."""
        slant = np.radians(slant_deg)
        for k in range(N_AZIMUTHS):
            angle = k * 2 * np.pi / N_AZIMUTHS
            way = np.array(
                [np.sin(slant) * np.cos(angle), np.sin(slant) * np.sin(angle), np.cos(slant)]
            )
            if way @ self.true_up >= np.sin(np.radians(LEAST_CLIMB_DEG)):
                yield self.straight(place, way)

    def ways_aside(self, place, *, bore_mm: float):
        """Ways out by the top that lean aside, the least slant first: kind and legs, (k, 3).

        From a place on the parting they lie in it where they can. All are free and
        leave no thin web.
        """
        up = (self.draw.rotation @ self.rest.up)[:2]
        for slant_deg in SLANTS_DEG:
            found = []
            if self.is_upright and self.touches(place):
                lean = np.tan(np.radians(slant_deg)) * np.array([-up[1], up[0]])
                laid = (
                    self._laid(place, ahead, bore_mm, ahead_fraction=BEND_RISE)
                    for ahead in (up + lean, up - lean)
                )
                found += [("groove", path) for path in laid if path is not None]
            found += [
                ("slanted", path)
                for path in self._slanted(place, slant_deg)
                if self.is_clear(path, bore_mm=bore_mm) and not self.is_thin(path, bore_mm=bore_mm)
            ]
            for name, path in found:
                if self.leave(path[-2], path[-1] - path[-2])[1] == "top":
                    yield name, path

    def _sideways(self, place, bore_mm):
        """Along the parting to the nearest side of the box, level as it rests, (k, 3)."""
        ways = []
        for way in ([1.0, 0, 0], [-1.0, 0, 0], [0, 1.0, 0], [0, -1.0, 0]):
            draw_z = (self.draw.rotation @ self.rest.to_part(np.array(way)))[2]
            if abs(draw_z) < 0.5:
                ways.append(np.array(way))
        way = min(ways, key=lambda way: self.leave(place, way)[0])
        ahead = (self.draw.rotation @ self.rest.to_part(way))[:2]
        laid = self._laid(place, ahead, bore_mm, ahead_fraction=1.0)
        return self.straight(place, way) if laid is None else laid
