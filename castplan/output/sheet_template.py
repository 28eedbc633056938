"""The pour sketch at 1:1: where to open gate and vents, from above and from below.

The upper side is seen along the pour; the underside is the same drawing
mirrored left to right, to lie on the other face of the box. Line kinds follow
ISO 128, the scale's designation ISO 5455.
"""

import numpy as np

from castplan.model import Plan, Port
from castplan.output import paper, view
from castplan.output.paper import AIR, GREY, INK, TRAPPED, Flow, Sheet
from castplan.output.sheet_marks import Marks, page_head
from castplan.output.sheet_table import Column, draw_table
from castplan.output.sheet_tiles import (
    RULER_MM,
    Tiling,
    draw_joint,
    draw_key_map,
    draw_ruler,
    fit_tiles,
    tile_name_room_mm,
)

_PAD_MM = 14.0  # round the box, for the datum's arrows and words
_HEAD_MM = 24.0  # page head and notes above the drawing
_CROSS_MM = 4.0  # that a crosshair stands out of its hole
_ARROW_MM = 14.0
_UPPER = "Pour sketch, upper side"
_UNDER = "Pour sketch, UNDERSIDE - mirrored"


def template_pages(plan: Plan) -> list[Sheet]:
    """Upper side with its table, then the mirrored underside."""
    upper = _side(plan, is_mirrored=False)
    table = _table(plan, under=upper[0] if len(upper) == 1 else None)
    return [*upper, *table, *_side(plan, is_mirrored=True)]


def _mirror(points_mm, *, is_mirrored: bool) -> np.ndarray:
    points = np.asarray(points_mm, dtype=float)
    return points * (-1.0, 1.0) if is_mirrored else points


def _tiling(plan: Plan, *, is_mirrored: bool) -> tuple[Tiling, bool]:
    """The paper's way round that takes fewer sheets, upright if both do."""
    box = _mirror(plan.mould.box_view_mm, is_mirrored=is_mirrored)
    low, high = box.min(axis=0) - _PAD_MM, box.max(axis=0) + _PAD_MM
    short, long = paper.PAPER_MM[plan.job.paper]
    tilings = []
    for width, height in ((short, long), (long, short)):
        used = 2 * paper.MARGIN_MM + paper.FOOT_MM + _HEAD_MM + RULER_MM
        window = (width - 2 * paper.MARGIN_MM, height - used)
        # One drawing alone takes its own height, and leaves the rest to the table.
        fits = high[0] - low[0] <= window[0] and high[1] - low[1] <= window[1]
        window = (window[0], high[1] - low[1]) if fits else window
        tilings.append(fit_tiles(low, high, window_mm=window))
    is_landscape = tilings[1].n_tiles < tilings[0].n_tiles
    return tilings[is_landscape], is_landscape


def _side(plan: Plan, *, is_mirrored: bool) -> list[Sheet]:
    tiling, is_landscape = _tiling(plan, is_mirrored=is_mirrored)
    sheets = []
    for row in reversed(range(tiling.n_rows)):
        for column in range(tiling.n_columns):
            sheet = Sheet(
                plan.job.paper, title=_UNDER if is_mirrored else _UPPER, is_landscape=is_landscape
            )
            y = page_head(sheet, plan.part.name)
            _notes(sheet, plan, y, tiling, column, row, is_mirrored=is_mirrored)
            draw_ruler(sheet)
            _Window(sheet, plan, tiling, column, row, is_mirrored=is_mirrored).draw()
            sheet.floor = sheet.bottom + RULER_MM
            sheets.append(sheet)
    return sheets


def _notes(sheet: Sheet, plan: Plan, y, tiling: Tiling, column, row, *, is_mirrored: bool) -> None:
    is_tiled = tiling.n_tiles > 1
    room = sheet.room_mm - (tile_name_room_mm() if is_tiled else 0.0)
    sheet.text(sheet.left, y - 7, "SCALE 1:1", size_pt=paper.WEIGHT_PT, is_bold=True)
    scale_mm = paper.text_width_mm("SCALE 1:1", size_pt=paper.WEIGHT_PT, is_bold=True) + 5
    side = (
        "You look UP at the underside of the box: left and right are swapped."
        if is_mirrored
        else "You look down on the box as it stands "
        f"{'before you tilt it' if view.pour_tilt_deg(plan) else 'at the pour'}: this side up."
    )
    lines = paper.wrap(side, room_mm=room - scale_mm)
    for k, line in enumerate(lines):
        sheet.text(sheet.left + scale_mm, y - 7 - k * paper.leading_mm(), line)
    if is_tiled:
        draw_key_map(sheet, tiling, column, row, top=y - 2.5)


class _Window:
    """One tile of the drawing on its sheet."""

    def __init__(self, sheet: Sheet, plan: Plan, tiling: Tiling, column, row, *, is_mirrored):
        self.sheet, self.plan, self.tiling, self.is_mirrored = sheet, plan, tiling, is_mirrored
        self.low = tiling.window_low_mm(column, row)
        self.corner = np.array([sheet.left, sheet.top - _HEAD_MM - tiling.window_mm[1]])
        self.far = self.corner + tiling.window_mm
        is_tiled = tiling.n_tiles > 1
        self.clip = sheet.box(*self.corner, *self.far, edge=GREY if is_tiled else "none")
        self.marks = Marks(sheet, self.corner + 0.5, self.far - 0.5)

    def to_sheet(self, points_mm) -> np.ndarray:
        """Pour view to sheet; the only place where the twin is mirrored."""
        return _mirror(points_mm, is_mirrored=self.is_mirrored) - self.low + self.corner

    def _is_inside(self, point) -> bool:
        return bool(np.all(point >= self.corner) and np.all(point <= self.far))

    def draw(self) -> None:
        """Draw box, part, openings, datum and joints."""
        sheet, plan = self.sheet, self.plan
        sketch = next((s for s in plan.sketches if s.name == "pour"), None)
        if sketch is not None and sketch.outline:
            path = paper.ring_path([self.to_sheet(ring) for ring in sketch.outline])
            sheet.area(path, fill="#f2efe9", edge=INK, kind="hidden", clip=self.clip)
            for line in sketch.lines:
                sheet.line(self.to_sheet(line), kind="hidden", colour=GREY, clip=self.clip)
        box = paper.ring_path([self.to_sheet(plan.mould.box_view_mm)])
        sheet.area(box, edge=INK, kind="visible", clip=self.clip)
        for point in self.tiling.joints_mm():
            joint = np.asarray(point) - self.low + self.corner
            if self._is_inside(joint):
                draw_joint(sheet, *joint, clip=self.clip)
                self.marks.block(*(joint - 3.5), *(joint + 3.5))
        places = [(port, self.to_sheet(port.place_mm[:2])) for port in plan.mould.ports]
        for port, place in places:
            reach = port.diameter_mm / 2 + _CROSS_MM
            self.marks.block(*(place - reach), *(place + reach))
        self._keep_off_box()
        self._datum()
        for port, place in places:
            self._opening(port, place)

    def _opening(self, port: Port, place) -> None:
        sheet, radius = self.sheet, port.diameter_mm / 2
        colour = TRAPPED if port.is_blocked else INK
        sheet.circle(*place, radius, edge=colour, kind="visible", clip=self.clip)
        reach = radius + _CROSS_MM
        for step in ((reach, 0.0), (0.0, reach)):
            sheet.line([place - step, place + step], colour=AIR, clip=self.clip)
        if port.is_blocked:
            slant = radius * np.sqrt(0.5)
            sheet.line([place - slant, place + slant], colour=colour, clip=self.clip)
        if self._is_inside(place):
            text = f"{port.label} blocked" if port.is_blocked else port.label
            self.marks.label(
                *place, text, colour=AIR, is_round=True, clear_mm=radius + 4.5, reach_mm=60.0
            )

    def _keep_off_box(self) -> None:
        """Labels stay clear of the box's outline, which is cut or laid along."""
        ring = self.to_sheet(self.plan.mould.box_view_mm)
        for start, end in zip(ring, np.roll(ring, -1, axis=0), strict=True):
            n_points = 2 + int(np.hypot(*(end - start)) / 2.0)
            for x, y in np.linspace(start, end, n_points):
                self.marks.block(x - 0.6, y - 0.6, x + 0.6, y + 0.6)

    def _datum(self) -> None:
        sheet = self.sheet
        datum = self.to_sheet(self.plan.mould.datum_mm)
        if not self._is_inside(datum):
            return
        out = 1.0 if self.is_mirrored else -1.0  # the way out of the box, sideways
        along = np.array([-out, 0.0])
        up = np.array([0.0, 1.0])
        wedge = np.array([datum, datum + 3.2 * along, datum + 3.2 * up])
        sheet.area(paper.ring_path([wedge]), fill=INK, clip=self.clip)
        for way, away, name in ((along, -up, "x"), (up, -along, "y")):
            start = datum + 4.0 * away
            tip = start + _ARROW_MM * way
            sheet.line([start, tip], clip=self.clip)
            side = np.array([-way[1], way[0]])
            head = np.array([tip, tip - 2.4 * way + 0.8 * side, tip - 2.4 * way - 0.8 * side])
            sheet.area(paper.ring_path([head]), fill=INK, clip=self.clip)
            x, y = tip + 2.5 * way
            sheet.text(x, y, name, is_bold=True, ha="center", va="center")
            self.marks.block(*(np.minimum(start, tip) - 3), *(np.maximum(start, tip) + 5))
        text, text_y = "datum corner 0, 0", datum[1] - 10.5
        ha = "right" if self.is_mirrored else "left"
        sheet.text(datum[0], text_y, text, is_bold=True, ha=ha)
        ends = sorted((datum[0], datum[0] - out * paper.text_width_mm(text, is_bold=True)))
        self.marks.block(ends[0], text_y - 2, ends[1], text_y + 5)


def _table(plan: Plan, *, under: Sheet | None) -> list[Sheet]:
    """Coordinates, `under` a drawing that leaves room; returns the sheets it adds."""
    if not plan.mould.ports:
        return []
    tiling, _ = _tiling(plan, is_mirrored=False)
    first = [(under, under.top - _HEAD_MM - tiling.window_mm[1])] if under else []

    def new_sheet():
        if first:
            return first.pop()
        sheet = Sheet(plan.job.paper, title="Gate and vents")
        return sheet, page_head(sheet, plan.part.name) - 4

    flow = Flow(new_sheet)
    flow.need(40)
    note = (
        "Measured from the datum corner: x along the lower edge, y up, as on the upper side. "
        "Deep: straight up from the cavity to the top of the box."
    )
    flow.lines(flow.sheet.left, paper.wrap(note, room_mm=flow.sheet.room_mm))
    flow.y -= 2
    columns = (
        Column("no.", 12, True),
        Column("what", 34),
        Column("x [c]", 50),
        Column("y [c]", 50),
        Column("bore", 20),
        Column("deep", 20),
    )
    pitch_mm = plan.sampling.pitch_mm
    draw_table(flow, columns, [view.port_row(p, pitch_mm=pitch_mm) for p in plan.mould.ports])
    return [sheet for sheet in flow.sheets if sheet is not under]
