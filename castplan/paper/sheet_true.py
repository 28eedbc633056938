"""Drawings at 1:1: on one sheet where they fit, over tiles where they do not.

Each sheet says its scale (designation of ISO 5455), which side is up, and
carries the check rulers.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from castplan.palette import GREY, INK
from castplan.paper import paper
from castplan.paper.paper import Sheet
from castplan.paper.sheet_marks import Marks, badge, page_head
from castplan.paper.sheet_tiles import (
    RULER_MM,
    Tiling,
    draw_joint,
    draw_key_map,
    draw_ruler,
    fit_tiles,
    say_too_large,
    tile_name_room_mm,
)
from castplan.plan_record import Plan
from castplan.texts import say

HEAD_MM = 30.0  # page head, scale and notes above the drawing
NAME_MM = 9.5  # of it, the page head alone
_SCALE_MM = 10.0  # scale and side over a drawing that shares its sheet, its notes left out
_AFTER_MM = 3.0  # under such a drawing


@dataclass(frozen=True, eq=False, kw_only=True)
class Drawing:
    """Something to draw at true size, in its own millimetres.

    `low_mm` and `high_mm` hold all of it, words round it too; `draw` puts it
    on one window of the paper. `side` says which side is up, in few words.
    """

    title: str
    note: str
    low_mm: np.ndarray
    high_mm: np.ndarray
    draw: Callable[["Window"], None]
    side: str = ""


class Window:
    """One tile of a drawing on its sheet.

    Parameters
    ----------
    sheet : Sheet
    tiling : Tiling
    column, row : int
    top_mm : float, optional
        Where it ends on the sheet, under its words.
    """

    def __init__(
        self, sheet: Sheet, tiling: Tiling, column: int, row: int, top_mm: float | None = None
    ) -> None:
        self.sheet = sheet
        self.low = tiling.window_low_mm(column, row)
        top = sheet.top - HEAD_MM if top_mm is None else top_mm
        self.corner = np.array([sheet.left, top - tiling.window_mm[1]])
        self.far = self.corner + tiling.window_mm
        self.clip = sheet.box(*self.corner, *self.far, edge=GREY if tiling.n_tiles > 1 else "none")
        self.marks = Marks(sheet, self.corner + 0.5, self.far - 0.5)
        for point in tiling.joints_mm():
            joint = self.to_sheet(point)
            if self.is_inside(joint):
                draw_joint(sheet, *joint, clip=self.clip)
                self.marks.block(*(joint - 3.5), *(joint + 3.5))

    def to_sheet(self, points_mm) -> np.ndarray:
        """The drawing's millimetres to the sheet's."""
        return np.asarray(points_mm, dtype=float) - self.low + self.corner

    def is_inside(self, point) -> bool:
        """Whether a point of the sheet lies on this tile."""
        return bool(np.all(point >= self.corner) and np.all(point <= self.far))

    def keep_off(self, ring) -> None:
        """Keep labels off a closed line of the drawing, which is cut or laid along."""
        ring = self.to_sheet(ring)
        for start, end in zip(ring, np.roll(ring, -1, axis=0), strict=True):
            n_points = 2 + int(np.hypot(*(end - start)) / 2.0)
            for x, y in np.linspace(start, end, n_points):
                self.marks.block(x - 0.6, y - 0.6, x + 0.6, y + 0.6)


def window_mm(paper_name: str, *, is_landscape: bool) -> tuple[float, float]:
    """Room for one tile on a sheet."""
    short, long = paper.PAPER_MM[paper_name]
    width, height = (long, short) if is_landscape else (short, long)
    used = 2 * paper.MARGIN_MM + paper.FOOT_MM + HEAD_MM + RULER_MM
    return width - 2 * paper.MARGIN_MM, height - used


def tiles_of(drawing: Drawing, *, paper_name: str) -> tuple[Tiling, bool]:
    """The paper's way round that takes fewer sheets, upright if both do."""
    size = np.subtract(drawing.high_mm, drawing.low_mm)
    tilings = []
    for is_landscape in (False, True):
        window = window_mm(paper_name, is_landscape=is_landscape)
        # One drawing alone takes its own height, and leaves the rest to a table.
        fits = size[0] <= window[0] and size[1] <= window[1]
        window = (window[0], float(size[1])) if fits else window
        tilings.append(fit_tiles(drawing.low_mm, drawing.high_mm, window_mm=window))
    is_landscape = tilings[1].n_tiles < tilings[0].n_tiles
    return tilings[is_landscape], is_landscape


def true_sheets(plan: Plan, drawing: Drawing) -> tuple[list[Sheet], float | None]:
    """A drawing on its sheets.

    Parameters
    ----------
    plan : Plan
        For paper and name.
    drawing : Drawing

    Returns
    -------
    sheets : list of Sheet
        From the upper left tile, row by row.
    y : float or None
        Where the free room starts below a drawing that takes one sheet.
    """
    tiling, is_landscape = tiles_of(drawing, paper_name=plan.job.paper)
    if tiling.is_too_large:
        sheet = Sheet(plan.job.paper, title=drawing.title)
        say_too_large(sheet, tiling, top=page_head(sheet, plan.part.name) - 4)
        return [sheet], None
    sheets = []
    for row in reversed(range(tiling.n_rows)):
        for column in range(tiling.n_columns):
            sheet = Sheet(plan.job.paper, title=drawing.title, is_landscape=is_landscape)
            y = page_head(sheet, plan.part.name)
            _notes(sheet, drawing, y, tiling, column, row)
            draw_ruler(sheet)
            drawing.draw(Window(sheet, tiling, column, row))
            sheet.floor = sheet.bottom + RULER_MM
            sheets.append(sheet)
    alone = sheets[0].top - HEAD_MM - tiling.window_mm[1] if tiling.n_tiles == 1 else None
    return sheets, alone


def stacked_sheets(plan: Plan, drawings, *, fill=()) -> list[Sheet]:
    """Several drawings, under one another on one sheet where they fit.

    Parameters
    ----------
    plan : Plan
    drawings : sequence of Drawing
    fill : sequence of Drawing
        To go only where these leave room under them.

    Returns
    -------
    list of Sheet
        In their order.
    """
    sheets, ends, y = [], {}, 0.0
    for drawing in (*drawings, *fill):
        tiling, is_landscape = tiles_of(drawing, paper_name=plan.job.paper)
        is_extra = any(drawing is each for each in fill)
        is_alone = is_landscape or tiling.n_tiles > 1
        if is_extra and is_alone:
            continue
        if is_alone:
            sheets += true_sheets(plan, drawing)[0]
            continue
        sheet = sheets[-1] if sheets and sheets[-1] in ends else None
        room_mm = paper.PAPER_MM[plan.job.paper][0] - 2 * paper.MARGIN_MM
        note = paper.wrap(drawing.note, room_mm=room_mm) if drawing.note else []
        own_mm = _SCALE_MM + len(note) * paper.leading_mm() + tiling.window_mm[1]
        if sheet is None or y - own_mm < sheet.bottom:
            if is_extra:
                continue
            sheet = Sheet(plan.job.paper, title=drawing.title)
            y = page_head(sheet, plan.part.name)
            sheets.append(sheet)
            _scale(sheet, drawing, y)
        else:
            _scale(sheet, drawing, y, title=drawing.title)
        for k, line in enumerate(note):
            sheet.text(sheet.left, y - 13.0 - k * paper.leading_mm(), line)
        top = y - own_mm + tiling.window_mm[1]
        drawing.draw(Window(sheet, tiling, 0, 0, top_mm=top))
        y = top - tiling.window_mm[1] - _AFTER_MM
        ends[sheet] = y
    for sheet, end in ends.items():
        # The foot has a ruler of its own; the large one stands where there is room.
        if end - RULER_MM >= sheet.bottom:
            draw_ruler(sheet)
            sheet.floor = sheet.bottom + RULER_MM
    return sheets


def _notes(sheet: Sheet, drawing: Drawing, y, tiling: Tiling, column, row) -> None:
    is_tiled = tiling.n_tiles > 1
    _scale(sheet, drawing, y)
    lines = paper.wrap(drawing.note, room_mm=sheet.room_mm - is_tiled * tile_name_room_mm())
    # The key map stands beside the first line only.
    rest = " ".join(lines[1:])
    lines[1:] = paper.wrap(rest, room_mm=sheet.room_mm) if rest else []
    for k, line in enumerate(lines):
        sheet.text(sheet.left, y - 13.2 - k * paper.leading_mm(), line)
    if is_tiled:
        draw_key_map(sheet, tiling, column, row, top=y - 2.5)


def _scale(sheet: Sheet, drawing: Drawing, y: float, *, title: str = "") -> None:
    """Scale and which side is up, behind the drawing's title where the page bears another."""
    style, x = {"size_pt": paper.WEIGHT_PT, "is_bold": True}, sheet.left
    for text in filter(None, (title, say("true.scale"))):
        sheet.text(x, y - 7, text, **style)
        x += paper.text_width_mm(text, **style) + 5
    if drawing.side:
        badge(sheet, x, y - 7, drawing.side)


def outlined(window: Window, rings, **style) -> None:
    """Closed rings of the drawing as one shape on the window; none draw nothing."""
    if rings:
        path = paper.ring_path([window.to_sheet(ring) for ring in rings])
        window.sheet.area(path, clip=window.clip, **({"edge": INK} | style))
