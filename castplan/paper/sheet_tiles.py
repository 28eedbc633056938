"""A drawing larger than the paper: windows onto it that overlap and join."""

import math
from dataclasses import dataclass

import numpy as np

from castplan.palette import GREY, INK
from castplan.paper import paper
from castplan.paper.paper import Sheet
from castplan.part.size import MOST_TILES
from castplan.texts import say
from castplan.units import MM_PER_INCH

OVERLAP_MM = 10.0
RULER_MM = 25.0  # height that the check rulers take above the foot
_MARK_MM = 2.0  # radius of a joining mark
_KEY_MM = (26.0, 11.0)  # room for the key map


@dataclass(frozen=True)
class Tiling:
    """A grid of windows, all of one size, over a drawing.

    `low_mm` is the lower left corner of the whole grid in the drawing,
    `window_mm` the size of one window; neighbours share `OVERLAP_MM`.
    Rows count upward in the drawing; their letters run down the page stack.
    """

    low_mm: tuple[float, float]
    window_mm: tuple[float, float]
    n_columns: int
    n_rows: int

    @property
    def n_tiles(self) -> int:
        """How many sheets it takes."""
        return self.n_columns * self.n_rows

    @property
    def is_too_large(self) -> bool:
        """Whether it takes more sheets than anybody glues together: then it is not printed."""
        return self.n_tiles > MOST_TILES

    def window_low_mm(self, column: int, row: int) -> np.ndarray:
        """Lower left corner of a window in the drawing, (2,)."""
        step = np.array(self.window_mm) - OVERLAP_MM
        return np.array(self.low_mm) + step * (column, row)

    def name(self, column: int, row: int) -> str:
        """``A1`` is at the upper left."""
        return f"{row_letters(self.n_rows - 1 - row)}{column + 1}"

    def joints_mm(self) -> list[tuple[float, float]]:
        """Joining marks in the drawing: two on every shared strip, (x, y) each."""
        (width, height), marks = self.window_mm, []
        for row in range(self.n_rows):
            for column in range(self.n_columns):
                x, y = self.window_low_mm(column, row)
                if column + 1 < self.n_columns:
                    across = x + width - OVERLAP_MM / 2
                    marks += [(across, y + share * height) for share in (0.25, 0.75)]
                if row + 1 < self.n_rows:
                    across = y + height - OVERLAP_MM / 2
                    marks += [(x + share * width, across) for share in (0.25, 0.75)]
        return marks


def row_letters(index: int) -> str:
    """``A`` to ``Z``, then ``AA``."""
    letters = ""
    while index >= 0:
        letters = chr(ord("A") + index % 26) + letters
        index = index // 26 - 1
    return letters


def fit_tiles(low_mm, high_mm, *, window_mm: tuple[float, float]) -> Tiling:
    """Cover a rectangle with as few windows as possible, the whole centred.

    Parameters
    ----------
    low_mm, high_mm : (2,)
        The rectangle to cover.
    window_mm : tuple of float
        Size of a window; larger than the overlap where one is not enough.

    Returns
    -------
    Tiling
    """
    low, high, window = (np.asarray(v, float) for v in (low_mm, high_mm, window_mm))
    counts = [
        # A window may be as low as what it shows, and then no higher than the overlap.
        1 if size <= room else math.ceil((size - OVERLAP_MM) / (room - OVERLAP_MM) - 1e-9)
        for size, room in zip(high - low, window, strict=True)
    ]
    span = np.array(counts) * (window - OVERLAP_MM) + OVERLAP_MM
    corner = (low + high - span) / 2
    return Tiling(
        low_mm=(float(corner[0]), float(corner[1])),
        window_mm=(float(window[0]), float(window[1])),
        n_columns=counts[0],
        n_rows=counts[1],
    )


def say_too_large(sheet: Sheet, tiling: Tiling, *, top: float) -> float:
    """Say in place of a drawing that it is not printed; returns the lower end of the words."""
    text = say("tiles.too_large", number=f"{tiling.n_tiles:,}", most=MOST_TILES)
    for line in paper.wrap(text, room_mm=sheet.room_mm):
        top -= paper.leading_mm()
        sheet.text(sheet.left, top, line)
    return top


def draw_joint(sheet: Sheet, x: float, y: float, *, clip) -> None:
    """One joining mark: a cross in a circle, laid over its twin on the next sheet."""
    sheet.circle(x, y, _MARK_MM, edge=INK, clip=clip)
    reach = _MARK_MM + 1.0
    sheet.line([(x - reach, y), (x + reach, y)], clip=clip)
    sheet.line([(x, y - reach), (x, y + reach)], clip=clip)


def draw_key_map(sheet: Sheet, tiling: Tiling, column: int, row: int, *, top: float) -> None:
    """The grid of tiles, small, with this one dark; at the right margin under `top`."""
    cell = min(
        _KEY_MM[0] / tiling.n_columns,
        _KEY_MM[1] / tiling.n_rows * tiling.window_mm[0] / tiling.window_mm[1],
    )
    height = cell * tiling.window_mm[1] / tiling.window_mm[0]
    left = sheet.right - cell * tiling.n_columns
    for r in range(tiling.n_rows):
        for c in range(tiling.n_columns):
            x, y = left + c * cell, top - (tiling.n_rows - r) * height
            is_here = (c, r) == (column, row)
            sheet.box(x, y, x + cell, y + height, fill=INK if is_here else "white", edge=GREY)
    text = say(
        "tiles.tile_of_x",
        column=tiling.name(column, row),
        n_columns=tiling.n_columns,
        n_rows=tiling.n_rows,
    )
    sheet.text(left - 3, top - 5, text, is_bold=True, ha="right")


def tile_name_room_mm() -> float:
    """Width that the key map and its text take at the right."""
    return _KEY_MM[0] + 6 + paper.text_width_mm(say("tiles.tile_aa_of_x"), is_bold=True)


def draw_ruler(sheet: Sheet) -> None:
    """100 mm over 4 inches at the foot of a sheet, to be measured on the print."""
    x, y = sheet.left + 2, sheet.bottom + 11.0
    sheet.line([(x, y), (x + 100.0, y)], kind="visible")
    for k in range(21):
        tall = 3.2 if k % 2 == 0 else 1.8
        sheet.line([(x + 5.0 * k, y), (x + 5.0 * k, y + tall)])
    for k in (0, 50, 100):
        label = f"{k} mm" if k == 100 else str(k)
        sheet.text(x + k, y + 4.4, label, ha="left" if k == 0 else "center")
    y -= 1.6
    sheet.line([(x, y), (x + 4 * MM_PER_INCH, y)], kind="visible")
    for k in range(17):
        tall = 3.2 if k % 4 == 0 else 1.8
        sheet.line([(x + k * MM_PER_INCH / 4, y), (x + k * MM_PER_INCH / 4, y - tall)])
    for k in range(5):
        label = f"{k} in" if k == 4 else str(k)
        sheet.text(x + k * MM_PER_INCH, y - 7.2, label, ha="left" if k == 0 else "center")
    note_x = x + 4 * MM_PER_INCH + 10
    note = say("print.rule")
    for k, line in enumerate(paper.wrap(note, room_mm=sheet.right - note_x)):
        sheet.text(note_x, y + 5.6 - k * paper.leading_mm(), line)


def draw_foot_ruler(sheet: Sheet, y: float) -> float:
    """The same two lengths on the rule of a page's foot; returns the end of its words."""
    x = sheet.left
    sheet.line([(x, y), (x + 100.0, y)], colour=INK)
    for k in range(11):
        tall = 2.2 if k % 5 == 0 else 1.4
        sheet.line([(x + 10.0 * k, y), (x + 10.0 * k, y + tall)])
    sheet.line([(x + 100.0, y), (x + 4 * MM_PER_INCH, y)], colour=INK)
    for k in range(5):
        sheet.line([(x + k * MM_PER_INCH, y), (x + k * MM_PER_INCH, y - 1.2)])
    text = say("foot.ruler")
    x += 4 * MM_PER_INCH + 2.0
    sheet.text(x, y, text, size_pt=paper.FOOT_PT, va="center", colour=GREY)
    return x + paper.text_width_mm(text, size_pt=paper.FOOT_PT) + 2.0
