"""The way of each opening from the cavity out of the box, and when to make it."""

import numpy as np

from castplan.columns import surface
from castplan.columns.field import ColumnField
from castplan.mesh import frames
from castplan.model import (
    AirResult,
    AttitudeResult,
    Frame,
    MouldResult,
    PartingLine,
    PartingSurface,
    Route,
    VentsResult,
)

# A high point this near to the parting can be vented by a groove in it.
GROOVE_MM = 2.0
# Silicone that must stand between a bore and the part beside it (assumed).
CLEAR_MM = 1.5
SLANTS_DEG = (15.0, 30.0, 45.0)
N_AZIMUTHS = 12
# An opening within this of level lets no air out by itself.
LEAST_CLIMB_DEG = 20.0


def route_vents(
    field: ColumnField,
    attitude: AttitudeResult,
    air: AirResult,
    mould: MouldResult,
    line: PartingLine,
    draw_frame: Frame,
    *,
    keys_mm=(),
    cup_high_mm: float,
) -> VentsResult:
    """Find the way out of every port: groove, straight, slanted, sideways, none.

    A groove in the parting needs no drilling, so it is taken where the high
    point touches the parting and the parting runs upward. Otherwise the way
    is straight up as the box rests; where part or a key is in it, the least
    slant that is free; where none is, sideways along the parting and up
    outside.

    Parameters
    ----------
    field : ColumnField
        The part along up as the box rests.
    attitude, air, mould, line : records
    draw_frame : Frame
    keys_mm : sequence of (x, y, z, radius)
        Keys in the silicone, draw frame, as balls.
    cup_high_mm : float
        Rim of the cup over the top of the box.

    Returns
    -------
    VentsResult
        In the order of `mould.ports`.
    """
    finder = _Finder(field, attitude, air, mould, line, draw_frame, keys_mm)
    return VentsResult(
        routes=tuple(finder.route(port, cup_high_mm=cup_high_mm) for port in mould.ports)
    )


def touches_parting(sheet: PartingSurface, places_mm) -> np.ndarray:
    """Which places (k, 3) of the draw frame lie near enough to the parting for a groove, (k,)."""
    places = np.asarray(places_mm, dtype=float)
    height_mm = surface.read(sheet.x_mm, sheet.y_mm, sheet.heights_mm, places[..., :2])
    return np.abs(places[..., 2] - height_mm) <= GROOVE_MM


class _Finder:
    def __init__(self, field, attitude, air, mould, line, draw_frame, keys_mm):
        self.field, self.mould, self.line, self.draw = field, mould, line, draw_frame
        self.rest = air.frame
        self.true_up = self.rest.rotation @ np.asarray(air.up)
        self.rest_name = attitude.chosen.rest
        low, high = np.array(mould.low_mm), np.array(mould.high_mm)
        corners = np.array([[x, y, z] for x in (0, 1) for y in (0, 1) for z in (0, 1)])
        box = self.to_rest(low + corners * (high - low))
        self.low, self.high = box.min(axis=0), box.max(axis=0)
        self.keys = [(self.to_rest(np.array(key[:3])), float(key[3])) for key in keys_mm]

    def to_rest(self, points_mm):
        return self.rest.to_frame(self.draw.to_part(points_mm))

    def to_draw(self, points_mm):
        return self.draw.to_frame(self.rest.to_part(points_mm))

    def route(self, port, *, cup_high_mm):
        place = np.asarray(port.place_mm)
        up = np.array([0.0, 0.0, 1.0])
        touches = self._touches_parting(place)
        name, way = "none", up
        if self._is_free(place, up, port.diameter_mm):
            climbs = abs(float((self.draw.rotation @ self.rest.up)[2])) < 0.5
            name = "groove" if touches and climbs else "straight"
        else:
            slant = self._slant(place, port.diameter_mm)
            if slant is not None:
                name, way = "slanted", slant
            elif touches:
                name, way = "sideways", self._outward(place)
        length, face, exit_mm = self._leave(place, way)
        straw_mm = cup_high_mm + max(0.0, float(self.high[2] - exit_mm[2]))
        half = self._half(place, exit_mm, name)
        return Route(
            label=port.label,
            route=name,
            slant_deg=float(np.degrees(np.arccos(np.clip(way[2], -1, 1)))),
            length_mm=length,
            bore_mm=port.diameter_mm,
            half=half,
            exit_mm=tuple(float(v) for v in self.to_draw(exit_mm)),
            exit_face=face,
            exit_from_corner_mm=self._on_face(face, exit_mm),
            straw_mm=0.0 if port.kind == "gate" else straw_mm,
            when=_when(name, half, port.kind),
        )

    def _parting_mm(self, points_draw_mm):
        sheet = self.line.surface
        return surface.read(sheet.x_mm, sheet.y_mm, sheet.heights_mm, points_draw_mm[..., :2])

    def _touches_parting(self, place):
        return bool(touches_parting(self.line.surface, self.to_draw(place)))

    def _leave(self, place, way):
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

    def _on_face(self, face, exit_mm):
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

    def _is_free(self, place, way, bore_mm):
        """Whether the part and the keys leave a straight way clear."""
        length, _, _ = self._leave(place, way)
        step_mm = max(self.field.pitch_mm, 0.25)
        start = max(1.0, 2 * step_mm)
        along = np.arange(start, max(length, start), step_mm)
        # Beside the opening itself the bore touches the part: it widens to its
        # clearance over the first millimetres.
        reach = np.minimum(0.5 * bore_mm + CLEAR_MM, 0.5 * along)
        side, other = frames.turn_to(way)[:2]
        angle = np.radians(np.arange(8) * 45.0)
        spokes = np.cos(angle)[:, None] * side + np.sin(angle)[:, None] * other
        middle = place + along[:, None] * way
        rim = middle[:, None, :] + reach[:, None, None] * spokes
        points = np.concatenate([middle, rim.reshape(-1, 3)])
        if self._in_part(points).any():
            return False
        for centre, radius in self.keys:
            t = np.clip((centre - place) @ way, 0, length)
            if np.linalg.norm(place + t * way - centre) < radius + 0.5 * bore_mm:
                return False
        return True

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

    def _slant(self, place, bore_mm):
        """The least slant that is free and still climbs at the pour; None if none is."""
        for slant_deg in SLANTS_DEG:
            slant = np.radians(slant_deg)
            for k in range(N_AZIMUTHS):
                angle = k * 2 * np.pi / N_AZIMUTHS
                way = np.array(
                    [np.sin(slant) * np.cos(angle), np.sin(slant) * np.sin(angle), np.cos(slant)]
                )
                climbs = way @ self.true_up >= np.sin(np.radians(LEAST_CLIMB_DEG))
                if climbs and self._is_free(place, way, bore_mm):
                    return way
        return None

    def _outward(self, place):
        """Along the parting to the nearest side of the box, level as it rests."""
        ways = []
        for way in ([1.0, 0, 0], [-1.0, 0, 0], [0, 1.0, 0], [0, -1.0, 0]):
            draw_z = (self.draw.rotation @ self.rest.to_part(np.array(way)))[2]
            if abs(draw_z) < 0.5:
                ways.append(np.array(way))
        return min(ways, key=lambda way: self._leave(place, way)[0])

    def _half(self, place, exit_mm, name):
        if name in ("groove", "sideways"):
            return "both"
        ends = self.to_draw(np.stack([place, exit_mm]))
        over = ends[:, 2] - self._parting_mm(ends) > 0
        return "upper" if over[1] else "lower"


def _when(name, half, kind):
    pour = {"upper": "first", "lower": "second"}.get(half)
    if name == "groove":
        return "with the clay bed: a greased rod, half pressed in"
    if name == "sideways":
        return "with the clay bed: a greased rod to the wall; a bent straw outside"
    if name == "none":
        return "not at all: nothing leads straight out"
    thing = "cone" if kind == "gate" else "stick"
    text = f"{thing} before the {pour} pour, or drill"
    return f"{text}, slanted" if name == "slanted" else text
