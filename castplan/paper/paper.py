"""Paper: pages measured in millimetres, text that fits, lines by kind.

A `Sheet` is one page whose coordinates are millimetres from its lower left
corner, y upward, so that a plan's millimetre is the paper's. A `Flow` fills
sheets from top to bottom and starts the next one when the room is used up.

Line kinds and their 2:1 ratio of wide to narrow follow ISO 128; dash lengths
are in units of the line's own width, as there. Colours are the Okabe-Ito
palette; no class is told by colour alone.
"""

import re
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from castplan.palette import INK
from castplan.paper import typeface
from castplan.texts.told import Told
from castplan.units import MM_PER_INCH
from castplan.words.formats import raised

PAPER_MM = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}  # ISO 216; 8.5 x 11 in
MARGIN_MM = 12.0  # home printers leave up to 10 mm blank
FOOT_MM = 12.0  # kept free above the lower margin for the foot
MM_PER_PT = MM_PER_INCH / 72

TEXT_PT = 11.0
WEIGHT_PT = 14.0
FOOT_PT = 9.0
LEADING = 1.32  # line distance over type size


WIDE_MM, NARROW_MM = 0.5, 0.25
# kind -> width [mm], dashes in line widths (ISO 128-2: dash 12, long dash 24, gap 3, dot 0.5)
LINE_KINDS = {
    "visible": (WIDE_MM, None),
    "thin": (NARROW_MM, None),
    "hidden": (NARROW_MM, (12, 3)),
    "parting": (0.35, (24, 3, 0.5, 3)),
    "air": (WIDE_MM, (0.5, 2.5)),
}


@lru_cache(maxsize=8192)
def text_width_mm(text: str, *, size_pt: float = TEXT_PT, is_bold: bool = False) -> float:
    """Width of one line of text from the font's own metrics [mm]."""
    return typeface.width_em(raised(text), is_bold=is_bold) * size_pt * MM_PER_PT


def leading_mm(size_pt: float = TEXT_PT) -> float:
    """Distance of two base lines [mm]."""
    return size_pt * LEADING * MM_PER_PT


def _broken(word: str, room_mm: float, **style) -> list[str]:
    """Cut a word that is wider than the line."""
    pieces, piece = [], ""
    for letter in word:
        if piece and text_width_mm(piece + letter, **style) > room_mm:
            pieces.append(piece)
            piece = ""
        piece += letter
    return [*pieces, piece]


def wrap(text: Told | str, *, room_mm: float, size_pt: float = TEXT_PT, is_bold: bool = False):
    """Break `text` into lines no wider than `room_mm`.

    Parameters
    ----------
    text : Told or str
    room_mm : float
    size_pt : float
    is_bold : bool

    Returns
    -------
    list of str
        At least one line. A number stays with its unit and basis letter.
    """
    style = {"size_pt": size_pt, "is_bold": is_bold}
    # A no-break space keeps "641 g" on one line.
    glued = re.sub(
        r"(?<=\d) (?=(?:mm|cm2|g|ml|oz|in|h|min|s)\b|%(?!\w))|(?<=[\w%]) (?=\[\w\])",
        "\u00a0",
        str(text),
    )
    words = []
    for word in glued.split(" "):
        is_wide = text_width_mm(word, **style) > room_mm
        words.extend(_broken(word, room_mm, **style) if is_wide else [word])
    lines = [words[0]]
    for word in words[1:]:
        longer = f"{lines[-1]} {word}"
        if text_width_mm(longer, **style) <= room_mm:
            lines[-1] = longer
        else:
            lines.append(word)
    return [line.replace("\u00a0", " ") for line in lines]


def shortened(text: Told | str, *, room_mm: float, size_pt: float = TEXT_PT, is_bold: bool = False):
    """`text`, cut with an ellipsis where it is wider than `room_mm`."""
    style = {"size_pt": size_pt, "is_bold": is_bold}
    text = str(text)
    if text_width_mm(text, **style) <= room_mm:
        return text
    while text and text_width_mm(text + "…", **style) > room_mm:
        text = text[:-1]
    return text.rstrip() + "…"


@dataclass(frozen=True, eq=False)
class Shape:
    """Closed rings; what lies inside an odd number of them is filled."""

    rings: tuple[np.ndarray, ...]

    def bounds(self) -> tuple[np.ndarray, np.ndarray]:
        """Lower left and upper right corner."""
        points = np.concatenate(self.rings)
        return points.min(axis=0), points.max(axis=0)


def ring_path(rings) -> Shape:
    """One shape of closed rings, each (n, 2), its first point not repeated."""
    return Shape(rings=tuple(np.asarray(ring, dtype=float) for ring in rings))


@dataclass(frozen=True, eq=False)
class Text:
    """One line of text; `x` is its left end, middle or right end, `y` the base line [mm]."""

    x: float
    y: float
    text: str
    size_pt: float
    is_bold: bool
    anchor: str  # left, center or right
    colour: str


@dataclass(frozen=True, eq=False)
class Line:
    """An open line of one kind; `clip` is the shape it stays in."""

    points: np.ndarray
    kind: str
    colour: str
    clip: Shape | None


@dataclass(frozen=True, eq=False)
class Area:
    """A filled or outlined shape."""

    shape: Shape
    fill: str | None
    edge: str | None
    kind: str
    clip: Shape | None


@dataclass(frozen=True, eq=False)
class Disc:
    """A circle."""

    x: float
    y: float
    radius: float
    fill: str | None
    edge: str | None
    kind: str
    clip: Shape | None


@dataclass(frozen=True, eq=False)
class Hatch:
    """Single lines within a shape, and within `clip` too."""

    segments: np.ndarray  # (n, 2, 2)
    colour: str
    width_mm: float
    shape: Shape
    clip: Shape | None


@dataclass(frozen=True, eq=False)
class Picture:
    """A picture of pixels (n_y, n_x, 3) uint8, its lower left corner at (x, y) [mm]."""

    x: float
    y: float
    width_mm: float
    pixels: np.ndarray

    @property
    def height_mm(self) -> float:
        """As its pixels are square."""
        return self.width_mm * self.pixels.shape[0] / self.pixels.shape[1]


def _paint(colour: str) -> str | None:
    return None if colour == "none" else colour


class Sheet:
    """One page; everything on it is placed in millimetres from its lower left corner.

    What is drawn later lies on top. `items` holds it all for the writer.

    Parameters
    ----------
    paper : str
        A key of `PAPER_MM`.
    title : str
        What the page is, for its head.
    is_landscape : bool
    """

    def __init__(self, paper: str, *, title: str, is_landscape: bool = False) -> None:
        short_mm, long_mm = PAPER_MM[paper]
        self.width_mm, self.height_mm = (long_mm, short_mm) if is_landscape else (short_mm, long_mm)
        self.title = title
        self.left, self.right = MARGIN_MM, self.width_mm - MARGIN_MM
        self.top, self.bottom = self.height_mm - MARGIN_MM, MARGIN_MM + FOOT_MM
        self.floor = self.bottom  # how far down a flow may fill it
        self.items: list[Text | Line | Area | Disc | Hatch | Picture] = []

    @property
    def room_mm(self) -> float:
        """Width between the margins."""
        return self.right - self.left

    @property
    def texts(self) -> list[Text]:
        """Every line of text on it, in the order it was put there."""
        return [item for item in self.items if isinstance(item, Text)]

    def text(
        self, x, y, text, *, size_pt=TEXT_PT, is_bold=False, ha="left", va="baseline", colour=INK
    ):
        """One line of text; basis letters are raised. `va` "center" puts capitals' middle at y."""
        if not text:
            return
        # Capitals of the typeface are 0.73 of the size high.
        down = 0.365 * size_pt * MM_PER_PT if va == "center" else 0.0
        self.items.append(
            Text(float(x), float(y) - down, raised(str(text)), size_pt, is_bold, ha, colour)
        )

    def line(self, points, *, kind="thin", colour=INK, clip=None):
        """A polyline of one of the `LINE_KINDS`."""
        self.items.append(Line(np.asarray(points, dtype=float), kind, colour, clip))

    def area(self, path: Shape, *, fill="none", edge="none", kind="visible", clip=None) -> Shape:
        """A closed shape; returns it, to clip other marks to it."""
        self.items.append(Area(path, _paint(fill), _paint(edge), kind, clip))
        return path

    def box(self, x0, y0, x1, y1, *, fill="none", edge="none", kind="thin") -> Shape:
        """A rectangle from (x0, y0) to (x1, y1)."""
        corners = np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])
        return self.area(ring_path([corners]), fill=fill, edge=edge, kind=kind)

    def circle(self, x, y, radius_mm, *, fill="none", edge=INK, kind="thin", clip=None):
        """A circle round (x, y)."""
        place = float(x), float(y), float(radius_mm)
        self.items.append(Disc(*place, _paint(fill), _paint(edge), kind, clip))

    def picture(self, x, y, pixels, *, room_mm: tuple[float, float], at_most_mm: float = 0.0):
        """A picture as large as a room of (width, height) allows, centred in it.

        `at_most_mm` is a width that it keeps to, 0 for none.
        """
        n_y, n_x = pixels.shape[:2]
        width = min(room_mm[0], room_mm[1] * n_x / n_y, at_most_mm or np.inf)
        height = width * n_y / n_x
        corner = x + 0.5 * (room_mm[0] - width), y + 0.5 * (room_mm[1] - height)
        self.items.append(Picture(float(corner[0]), float(corner[1]), float(width), pixels))

    def hatch(self, shape: Shape, *, angle_deg, pitch_mm, colour, width_mm=NARROW_MM, clip=None):
        """Parallel lines over a shape, `pitch_mm` apart."""
        low, high = shape.bounds()
        centre, reach = (low + high) / 2, float(np.hypot(*(high - low))) / 2
        angle = np.deg2rad(angle_deg)
        along, across = (
            np.array([np.cos(angle), np.sin(angle)]),
            np.array([-np.sin(angle), np.cos(angle)]),
        )
        # Offsets count from the page's origin, so that neighbouring shapes line up.
        start = float(centre @ across)
        first, last = np.ceil((start - reach) / pitch_mm), np.floor((start + reach) / pitch_mm)
        offsets = np.arange(first, last + 1) * pitch_mm
        middles = centre - start * across + offsets[:, None] * across
        segments = np.stack([middles - reach * along, middles + reach * along], axis=1)
        self.items.append(Hatch(segments, colour, width_mm, shape, clip))


class Flow:
    """Fills sheets downward; `y` is the upper edge of the free room.

    Parameters
    ----------
    new_sheet : callable
        Returns the next `Sheet` and the y below its head.
    """

    def __init__(self, new_sheet) -> None:
        self._new_sheet = new_sheet
        self.sheets: list[Sheet] = []
        self.next_sheet()

    def next_sheet(self) -> None:
        """Go to the top of a fresh sheet."""
        self.sheet, self.y = self._new_sheet()
        self.sheets.append(self.sheet)

    def need(self, height_mm: float) -> bool:
        """Make sure of `height_mm` of room; True when that took a new sheet."""
        if self.y - height_mm >= self.sheet.floor:
            return False
        self.next_sheet()
        return True

    def lines(self, x, lines, *, size_pt=TEXT_PT, is_bold=False, colour=INK) -> None:
        """Text lines at x, moving down; the caller has made sure of the room."""
        for text in lines:
            self.y -= leading_mm(size_pt)
            baseline = self.y + 0.28 * size_pt * MM_PER_PT
            self.sheet.text(x, baseline, text, size_pt=size_pt, is_bold=is_bold, colour=colour)

    def paragraph(self, text: str, *, above_mm: float = 0.0, below_mm: float = 1.5) -> None:
        """A text wrapped to the sheet, on the next one where it does not fit."""
        lines = wrap(text, room_mm=self.sheet.room_mm)
        self.need(len(lines) * leading_mm() + above_mm + below_mm)
        self.y -= above_mm
        self.lines(self.sheet.left, lines)
        self.y -= below_mm
