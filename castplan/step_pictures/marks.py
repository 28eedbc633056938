"""Arrows, letters and flags over a picture: of a size on paper, in places of the bench."""

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import matplotlib
import numpy as np
from matplotlib.ft2font import FT2Font

from castplan import palette
from castplan.columns.raster import compiled
from castplan.step_pictures import lines, tones
from castplan.step_pictures.camera import Camera

_ARROW_PX, _HEAD_PX, _HALO_PX, _SHORTEST_PX = 7.0, 26.0, 3.5, 56.0
_PLATE_PX, _RING_PX, _TYPE_PX = 36.0, 3.5, 52.0  # 7 points in a picture of 43 mm in a step
_AWAY_PX, _TURNS_DEG = (88.0, 126.0, 168.0), (0, 30, -30, 60, -60, 90, -90, 130, -130, 180)
_WHITE = np.ones(3)
_LEVELS = 6  # of ink at a soft edge: few colours pack small


def lay(picture, ink, colour) -> None:
    """A colour over a picture (n_y, n_x, 3) where the ink (n_y, n_x) is."""
    _lay(picture, ink, np.asarray(colour, dtype=np.float32))


@compiled
def _lay(picture, ink, colour):
    for j in range(ink.shape[0]):
        for i in range(ink.shape[1]):
            if ink[j, i] == 0:
                continue
            share = np.floor(ink[j, i] * _LEVELS + 0.5) / _LEVELS
            if share > 0:
                for c in range(3):
                    picture[j, i, c] += share * (colour[c] - picture[j, i, c])


def _fill(ink, ring, grown):
    """Lay a shape (k, 2) into the ink, soft at its edge, grown by so many pixels."""
    reach = grown + 1.0
    first = np.maximum((ring.min(axis=0) - reach).astype(np.int64), 0)
    last = np.minimum((ring.max(axis=0) + reach).astype(np.int64) + 2, ink.shape[::-1])
    _fill_between(ink, ring, float(grown), *first.tolist(), *last.tolist())


@compiled
def _fill_between(ink, ring, grown, i0, j0, i1, j1):
    n = ring.shape[0]
    for j in range(j0, j1):
        for i in range(i0, i1):
            inside = False
            near = 1e9
            for k in range(n):
                ax, ay = ring[k, 0], ring[k, 1]
                bx, by = ring[(k + 1) % n, 0], ring[(k + 1) % n, 1]
                if (ay > j) != (by > j) and i < ax + (j - ay) / (by - ay) * (bx - ax):
                    inside = not inside
                dx, dy = bx - ax, by - ay
                size2 = dx * dx + dy * dy
                t = ((i - ax) * dx + (j - ay) * dy) / size2 if size2 > 0 else 0.0
                t = min(max(t, 0.0), 1.0)
                near = min(near, np.hypot(i - ax - t * dx, j - ay - t * dy))
            away = -near if inside else near
            laid = min(max(0.5 + grown - away, 0.0), 1.0)
            if laid > ink[j, i]:
                ink[j, i] = laid


def _stroke(ink, points, width):
    first = np.array([0, len(points)], dtype=np.int64)
    lines.stroke(ink, np.ascontiguousarray(points), first, np.array([float(width)]))


def _blank(picture):
    return np.zeros(picture.shape[:2], np.float32)


def _not_shorter(path):
    """A straight path (2, 2) that an arrow's head leaves some shaft of; others as they are."""
    way = path[-1] - path[0]
    long = max(float(np.hypot(*way)), 1e-9)
    if len(path) > 2 or long >= _SHORTEST_PX:
        return path
    return np.array([path[-1] - way / long * _SHORTEST_PX, path[-1]])


@dataclass(frozen=True, eq=False)
class Arrow:
    """A movement of the hand along a path (k, 3) on the bench."""

    path_mm: np.ndarray

    def reach_mm(self) -> np.ndarray:
        """Places that the paper must hold, (k, 3)."""
        return np.asarray(self.path_mm, dtype=float)

    def draw(self, picture, camera: Camera) -> None:
        """Lay the arrow over a picture."""
        path = _not_shorter(camera.to_paper(self.path_mm)[:, :2])
        way = np.concatenate([[0], np.cumsum(np.linalg.norm(np.diff(path, axis=0), axis=1))])
        neck_at = max(way[-1] - _HEAD_PX, 0.0)
        neck = np.array([np.interp(neck_at, way, path[:, k]) for k in (0, 1)])
        tip = path[-1]
        ahead = (tip - neck) / max(np.linalg.norm(tip - neck), 1e-9)
        aside = np.array([-ahead[1], ahead[0]])
        head = np.array([tip, neck + 0.55 * _HEAD_PX * aside, neck - 0.55 * _HEAD_PX * aside])
        shaft = np.concatenate([path[way < neck_at], [neck + 2 * ahead]])
        for grown, colour in ((_HALO_PX, _WHITE), (0.0, tones.rgb(palette.INK))):
            ink = _blank(picture)
            _stroke(ink, shaft, _ARROW_PX + 2 * grown)
            _fill(ink, head, grown)
            lay(picture, ink, colour)


@dataclass(frozen=True, eq=False)
class Line:
    """A thin dashed line along a path (k, 3): where something goes."""

    path_mm: np.ndarray
    dash_px: float = 12.0

    def reach_mm(self) -> np.ndarray:
        """Places that the paper must hold, (k, 3)."""
        return np.asarray(self.path_mm, dtype=float)

    def draw(self, picture, camera: Camera) -> None:
        """Lay the line over a picture."""
        path = camera.to_paper(self.path_mm)[:, :2]
        way = np.concatenate([[0], np.cumsum(np.linalg.norm(np.diff(path, axis=0), axis=1))])
        ink = _blank(picture)
        for start in np.arange(0.0, way[-1], 2 * self.dash_px):
            at = np.linspace(start, min(start + self.dash_px, way[-1]), 5)
            _stroke(ink, np.column_stack([np.interp(at, way, path[:, k]) for k in (0, 1)]), 1.8)
        lay(picture, ink, tones.rgb(palette.INK))


@dataclass(frozen=True, eq=False)
class Letters:
    """Letters on plates beside their places, each with a leader, none over another."""

    places_mm: dict  # text: (3,)
    is_square: bool = False
    lean: tuple[float, float] | None = None  # which way a plate stands off; else outward

    def reach_mm(self) -> np.ndarray:
        """Places that the paper must hold, (k, 3)."""
        return np.array(list(self.places_mm.values()), dtype=float).reshape(-1, 3)

    def draw(self, picture, camera: Camera) -> None:
        """Lay leaders, plates and letters over a picture."""
        spots = camera.to_paper(self.reach_mm())[:, :2]
        n_y, n_x = picture.shape[:2]
        plates, middles = [], self.lay_out(spots, np.array([n_x, n_y], dtype=float))
        for text, middle in zip(self.places_mm, middles, strict=True):
            half_px = max(0.92 * _PLATE_PX, 0.5 * _glyphs(text).shape[1] + 4)
            plates.append(_square(middle, half_px) if self.is_square else _circle(middle))
        ink_colour = tones.rgb(palette.INK)
        for width, colour in ((5.5, _WHITE), (2.2, ink_colour)):
            ink = _blank(picture)
            for spot, middle in zip(spots, middles, strict=True):
                _stroke(ink, np.array([spot, middle]), width)
            lay(picture, ink, colour)
        for grown, colour in ((_RING_PX, ink_colour), (0.0, _WHITE)):
            ink = _blank(picture)
            for plate in plates:
                _fill(ink, plate, grown)
            lay(picture, ink, colour)
        ink = _blank(picture)
        for text, middle in zip(self.places_mm, middles, strict=True):
            _write(ink, text, middle)
        lay(picture, ink, ink_colour)

    def lay_out(self, spots, size):
        """Middles of the plates: outward from the picture, where there is room."""
        edge = _PLATE_PX + _RING_PX + 1
        middles = []
        for spot in spots:
            out = np.array(self.lean) if self.lean else spot - size / 2
            first = np.arctan2(out[1], out[0])
            best, widest = None, -np.inf
            for away in _AWAY_PX:
                for turn in np.radians(_TURNS_DEG):
                    way = np.array([np.cos(first + turn), np.sin(first + turn)])
                    middle = np.clip(spot + away * way, edge, size - 1 - edge)
                    taken = [*middles, *(other for other in spots if other is not spot)]
                    gap = min((np.hypot(*(middle - other)) for other in taken), default=np.inf)
                    gap = min(gap, np.hypot(*(middle - spot)) + _PLATE_PX)
                    if gap > widest:
                        best, widest = middle, gap
                    if gap >= 2 * edge + 2:
                        break
                if widest >= 2 * edge + 2:
                    break
            middles.append(best)
        return middles


def _write(ink, text, middle):
    """Lay a text round a place into the ink."""
    glyphs = _glyphs(text)
    (n_y, n_x), (high, wide) = ink.shape, glyphs.shape
    j, i = max(round(middle[1] - high / 2), 0), max(round(middle[0] - wide / 2), 0)
    ink[j : j + high, i : i + wide] = glyphs[: n_y - j, : n_x - i]


def _circle(middle):
    angle = np.arange(40) * 2 * np.pi / 40
    return middle + _PLATE_PX * np.column_stack([np.cos(angle), np.sin(angle)])


def _square(middle, half_px):
    corners = np.array([(1, 1), (-1, 1), (-1, -1), (1, -1.0)])
    return middle + corners * (half_px, 0.92 * _PLATE_PX)


@lru_cache(maxsize=64)
def _glyphs(text):
    """Ink of a text, rows from the bottom, (n_y, n_x) 0 to 1."""
    path = Path(matplotlib.get_data_path()) / "fonts" / "ttf" / "DejaVuSans-Bold.ttf"
    font = FT2Font(str(path))
    font.set_size(_TYPE_PX, 72)
    font.set_text(text)
    font.draw_glyphs_to_bitmap()
    image = np.asarray(font.get_image(), dtype=np.float32)[::-1] / 255
    image.setflags(write=False)
    return image
