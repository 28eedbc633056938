"""Pieces at 1:1 that share a sheet where they fit, one above the other."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from castplan.paper import paper
from castplan.paper.paper import Sheet
from castplan.paper.sheet_true import Drawing, Window, true_sheets, window_mm
from castplan.plan_record import Plan

_PAD_MM = 0.5  # a wide line is half a millimetre
_FRAME_MM = 1.5  # from a tile's frame to words that begin at it
_NAME_MM = 13.5  # over a piece, for its two lines of text
_GAP_MM = 6.0


@dataclass(frozen=True, eq=False, kw_only=True)
class Piece:
    """One piece: its name, a line about it, its rectangle, and what draws it.

    `draw` is called with the window and the shift of the piece's own
    millimetres.
    """

    name: str
    about: str
    low_mm: np.ndarray
    high_mm: np.ndarray
    draw: Callable[[Window, np.ndarray], None]

    @property
    def width_mm(self) -> float:
        """Of the piece and its words."""
        name = paper.text_width_mm(self.name, is_bold=True)
        return max(self.high_mm[0] - self.low_mm[0], name, paper.text_width_mm(self.about))

    @property
    def height_mm(self) -> float:
        """Of the piece and its words."""
        return self.high_mm[1] - self.low_mm[1] + _NAME_MM


def stack_pages(plan: Plan, pieces, *, title: str, note: str, side: str = "") -> list[Sheet]:
    """Pieces in their order, as many on a sheet as fit; larger ones over tiles.

    Parameters
    ----------
    plan : Plan
    pieces : iterable of Piece
    title, note, side : str
        As in `Drawing`.
    """
    room = window_mm(plan.job.paper, is_landscape=False)
    pages: list[Sheet] = []
    waiting: list[Piece] = []

    def put():
        if waiting:
            drawing = _drawing(list(waiting), title=title, note=note, side=side)
            pages.extend(true_sheets(plan, drawing)[0])

    for piece in pieces:
        width, height = _size([*waiting, piece])
        if waiting and (width > room[0] or height > room[1]):
            put()
            waiting.clear()
        waiting.append(piece)
    put()
    return pages


def _size(pieces) -> tuple[float, float]:
    width = max(piece.width_mm for piece in pieces)
    height = sum(piece.height_mm for piece in pieces) + _GAP_MM * (len(pieces) - 1)
    return width + 2 * _PAD_MM, height + 2 * _PAD_MM


def _drawing(pieces, *, title, note, side) -> Drawing:
    width, height = _size(pieces)
    return Drawing(
        title=title,
        note=note,
        side=side,
        low_mm=np.array([-_PAD_MM, -_PAD_MM]),
        high_mm=np.array([width - _PAD_MM, height - _PAD_MM]),
        draw=lambda window: _draw(window, pieces),
    )


def _draw(window: Window, pieces) -> None:
    y = 0.0
    for piece in reversed(pieces):
        shift = np.array([0.0, y]) - piece.low_mm
        piece.draw(window, shift)
        _words(window, piece, y)
        y += piece.height_mm + _GAP_MM


def _words(window: Window, piece: Piece, y: float) -> None:
    """Name and size over a piece, on every tile that shows enough of its upper edge."""
    left, top = window.to_sheet([0.0, y + piece.high_mm[1] - piece.low_mm[1]])
    is_begun_before = left < window.corner[0]
    start = window.corner[0] + _FRAME_MM if is_begun_before else left
    end = min(left + piece.width_mm, window.far[0])
    room = end - start + 1e-6
    needed = max(paper.text_width_mm(piece.name, is_bold=True), paper.text_width_mm(piece.about))
    if (
        needed <= room
        and window.is_inside((start, top))
        and window.is_inside((end, top + _NAME_MM))
    ):
        window.sheet.text(start, top + 7.4, piece.name, is_bold=True)
        window.sheet.text(start, top + 2.2, piece.about)


def alone(piece: Piece) -> Drawing:
    """A piece as a drawing of its own."""
    return Drawing(
        title=piece.name,
        note=piece.about,
        low_mm=piece.low_mm,
        high_mm=piece.high_mm,
        draw=lambda window: piece.draw(window, np.zeros(2)),
    )
