"""Numbered labels that keep off each other, heads of pages and cards, warning signs."""

import numpy as np

from castplan import palette
from castplan.materials.cautions import Caution
from castplan.palette import AIR, INK, TRAPPED
from castplan.paper import paper
from castplan.paper.paper import MM_PER_PT, Flow, Sheet
from castplan.words import plan as view

_LABEL_PT = 11.0
_HEIGHT_MM = 5.4
_SIGN_MM = 6.0  # a warning sign with its gap
# Where to try a label, seen from its point: near first, right and up first.
_ANGLES_DEG = (45, 135, 315, 225, 0, 90, 180, 270, 20, 70, 110, 160, 200, 250, 290, 340)


class Marks:
    """Places labels on a sheet where nothing else has been placed yet.

    Parameters
    ----------
    sheet : Sheet
    low_mm, high_mm : tuple of float
        Corners of the room that labels may use.
    """

    def __init__(self, sheet: Sheet, low_mm, high_mm) -> None:
        self._sheet = sheet
        self._low, self._high = np.asarray(low_mm, float), np.asarray(high_mm, float)
        self._taken: list[tuple[float, float, float, float]] = []

    def block(self, x0: float, y0: float, x1: float, y1: float) -> None:
        """Keep labels out of a rectangle."""
        self._taken.append((x0, y0, x1, y1))

    def _is_free(self, x: float, y: float, half_width: float, half_height: float) -> bool:
        if not (
            self._low[0] <= x - half_width
            and x + half_width <= self._high[0]
            and self._low[1] <= y - half_height
            and y + half_height <= self._high[1]
        ):
            return False
        return not any(
            x - half_width < x1
            and x + half_width > x0
            and y - half_height < y1
            and y + half_height > y0
            for x0, y0, x1, y1 in self._taken
        )

    def label(
        self, x, y, text, *, colour, is_round, clear_mm=0.0, reach_mm=24.0, fill="white"
    ) -> bool:
        """Put `text` in a small frame at or near (x, y), with a leader if away.

        Parameters
        ----------
        x, y : float
            The point it belongs to.
        text : str
        colour : str
            Of the frame.
        is_round : bool
            Round frames for openings, square ones for pockets.
        clear_mm : float
            Least distance of the label's centre; 0 lets it sit on the point.
        reach_mm : float
            Largest distance to try.
        fill : str
            Of the frame; on another than white the text is white.

        Returns
        -------
        bool
            False when no free place was found; nothing is drawn then.
        """
        width = max(_HEIGHT_MM, paper.text_width_mm(text, size_pt=_LABEL_PT, is_bold=True) + 1.8)
        half_width, half_height = width / 2, _HEIGHT_MM / 2
        places = [] if clear_mm else [(x, y)]
        for reach in np.arange(max(clear_mm, 1.5), reach_mm + 0.1, 1.5):
            for angle in np.deg2rad(_ANGLES_DEG):
                stretch = half_width / half_height
                places.append((x + reach * stretch * np.cos(angle), y + reach * np.sin(angle)))
        for px, py in places:
            if self._is_free(px, py, half_width + 0.3, half_height + 0.3):
                break
        else:
            return False
        away = float(np.hypot(px - x, py - y))
        if away > half_width:
            self._sheet.line([(x, y), (px, py)], kind="thin", colour=colour)
        self.block(px - half_width, py - half_height, px + half_width, py + half_height)
        frame = np.array([px, py]) + _frame(half_width, half_height, is_round=is_round)
        self._sheet.area(paper.ring_path([frame]), fill=fill, edge=colour, kind="thin")
        ink = INK if fill == "white" else "white"
        style = {"size_pt": _LABEL_PT, "is_bold": True, "ha": "center", "colour": ink}
        self._sheet.text(px, baseline_mm(py), text, **style)
        return True


def _frame(half_width: float, half_height: float, *, is_round: bool) -> np.ndarray:
    """Corners of a frame round the origin: a rectangle, or one with half-round ends."""
    if not is_round:
        return np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)]) * (half_width, half_height)
    angles = np.radians(np.arange(-90, 91, 10))
    end = half_height * np.column_stack([np.cos(angles), np.sin(angles)])
    straight = np.array([half_width - half_height, 0.0])
    return np.vstack([straight + end, -straight - end])


def baseline_mm(middle_mm: float, *, size_pt: float = _LABEL_PT) -> float:
    """Base line that puts capitals' middle at `middle_mm` (they are 0.73 of the size high)."""
    return middle_mm - 0.365 * size_pt * MM_PER_PT


def page_head(sheet: Sheet, name: str) -> float:
    """Title and part name over a wide rule; returns the y below."""
    y = sheet.top - 6.5
    sheet.text(sheet.left, y, sheet.title, size_pt=16, is_bold=True)
    title_mm = paper.text_width_mm(sheet.title, size_pt=16, is_bold=True)
    room = sheet.room_mm - title_mm - 8
    sheet.text(sheet.right, y, paper.shortened(name, room_mm=room), ha="right")
    sheet.line([(sheet.left, y - 3), (sheet.right, y - 3)], kind="visible")
    return y - 3


def card_head(sheet: Sheet, y: float, text: str, *, remark: str = "", span_mm=None) -> float:
    """Head of a card: a bar, bold text, a remark at the right; returns the y below.

    `span_mm` is its left and right end where it does not take the whole width.
    """
    left, right = span_mm or (sheet.left, sheet.right)
    sheet.line([(left, y), (right, y)], colour=palette.HAIR)
    sheet.box(left, y - 1.0, left + 14, y, fill=INK)
    sheet.text(left, y - 6.2, text, size_pt=12, is_bold=True)
    if remark:
        sheet.text(right, y - 6.2, remark, ha="right", colour=palette.GREY)
    return y - 8.5


def open_card(flow: Flow, text: str, *, remark: str = "", need_mm: float) -> None:
    """Head of a card in the flow, on the next sheet where so much does not fit under it."""
    flow.need(need_mm)
    flow.y = card_head(flow.sheet, flow.y, text, remark=remark)


def badge(sheet: Sheet, x: float, y: float, text: str) -> float:
    """White bold words on a black bar, base line at y; returns the bar's right end."""
    width = paper.text_width_mm(text, size_pt=paper.WEIGHT_PT, is_bold=True)
    sheet.box(x, y - 1.6, x + width + 4.0, y + 5.2, fill=INK)
    style = {"size_pt": paper.WEIGHT_PT, "is_bold": True, "colour": "white"}
    sheet.text(x + 2.0, y, text, **style)
    return x + width + 4.0


def warning_sign(sheet: Sheet, x: float, y: float) -> None:
    """Triangle with an exclamation mark, its middle at (x, y)."""
    corners = [(x - 2.3, y - 1.7), (x + 2.3, y - 1.7), (x, y + 2.3)]
    sheet.area(paper.ring_path([corners]), edge=TRAPPED, kind="visible")
    sheet.line([(x, y - 0.3), (x, y + 1.0)], kind="visible")
    sheet.circle(x, y - 1.0, 0.15, fill=INK)


def risk_sign(sheet: Sheet, y: float, *, is_stop: bool) -> None:
    """At the left of a line under y: the octagon of a stop, or the warning triangle."""
    if is_stop:
        severity_sign(sheet, sheet.left + 3.2, y - 3.4, "stop")
    else:
        warning_sign(sheet, sheet.left + 3.2, y - 3.0)


def severity_sign(sheet: Sheet, x: float, y: float, severity: str) -> None:
    """Octagon for a stop, triangle for a warning, circle for a note; each with its letter."""
    letter = severity[0].upper()
    if severity == "note":
        sheet.circle(x, y, 3.1, fill="white", edge=AIR, kind="visible")
        sheet.text(x, baseline_mm(y), letter, is_bold=True, ha="center")
        return
    corners, radius, turn = (8, 3.5, 22.5) if severity == "stop" else (3, 4.3, 90.0)
    angles = np.radians(turn + 360 / corners * np.arange(corners))
    middle = y if corners == 8 else y - 0.7
    shape = np.column_stack([x + radius * np.cos(angles), middle + radius * np.sin(angles)])
    is_stop = severity == "stop"
    sheet.area(
        paper.ring_path([shape]),
        fill=INK if is_stop else "white",
        edge=INK if is_stop else TRAPPED,
        kind="visible",
    )
    sheet.text(
        x,
        baseline_mm(y - (0 if is_stop else 0.7), size_pt=11 if is_stop else 9),
        letter,
        size_pt=11 if is_stop else 9,
        is_bold=True,
        ha="center",
        colour="white" if is_stop else INK,
    )


def caution_lines(caution: Caution, *, room_mm: float) -> list[str]:
    """A caution's short form, wrapped beside its sign."""
    return paper.wrap(view.caution_short(caution), room_mm=room_mm - _SIGN_MM)


def caution_height_mm(lines: list[str]) -> float:
    """Height that `draw_caution` takes."""
    return len(lines) * paper.leading_mm() + 0.8


def draw_caution(flow: Flow, x: float, lines: list[str]) -> None:
    """A warning sign and a caution's short form; the caller has made sure of the room."""
    flow.y -= 0.8
    warning_sign(flow.sheet, x + 2.3, flow.y - 2.7)
    flow.lines(x + _SIGN_MM, lines)
