"""The clay strip at 1:1: distance round the part against height above the base board.

Cut out along its thick line and stood on the base board round the part it
carries the clay's height to every place. The scale's designation follows
ISO 5455.
"""

from dataclasses import dataclass, replace

import numpy as np

from castplan.palette import CLAY, GREY, HAIR, INK, PART, TRAPPED
from castplan.paper import paper
from castplan.paper.paper import Flow, Sheet
from castplan.paper.sheet_marks import Marks, card_head, open_card, page_head
from castplan.paper.sheet_sketch import tint
from castplan.paper.sheet_table import Column, draw_table
from castplan.paper.sheet_tiles import (
    OVERLAP_MM,
    RULER_MM,
    Tiling,
    draw_joint,
    draw_ruler,
    fit_tiles,
    say_too_large,
)
from castplan.plan_record import Plan
from castplan.split.records import ClayStation, RimLoop
from castplan.texts import say
from castplan.words import split as view_split

_SCALE_MM = 12.0  # left of a piece, for the heights
_BELOW_MM = 6.5  # below it, for the distances
_ABOVE_MM = 7.0  # above it, for its name
_END_MM = 4.0  # paper past either end of the strip
_MARGIN_MM = 10.0  # of the free heights shown over and under the line
_HEAD_MM = 20.5  # head of the page and the scale
_CARD_MM = 9.0  # head of a strip
_NOTES_MM = 40.0  # at most for it and its notes
_MAP_MM = 62.0  # height that the view from above may take
_MAP_TEXT_MM = 62.0


@dataclass(frozen=True, eq=False)
class Strip:
    """One ring unrolled: along it from 0, heights above the base board, all in mm."""

    name: str
    along_mm: np.ndarray  # (k + 1,), the last is the first again
    low_mm: np.ndarray
    high_mm: np.ndarray
    line_mm: np.ndarray
    stations: tuple[ClayStation, ...]
    is_hole: bool

    @property
    def length_mm(self) -> float:
        """Round the ring."""
        return float(self.along_mm[-1])


def _unrolled(plan: Plan, name: str, rim: RimLoop, stations, *, is_hole: bool) -> Strip:
    def closed(z_mm):
        return view_split.above_board_mm(plan, z_mm=np.append(z_mm, z_mm[0]))

    return Strip(
        name=name,
        along_mm=np.linspace(0.0, rim.length_mm, len(rim.line_mm) + 1),
        low_mm=closed(rim.low_mm),
        high_mm=closed(rim.high_mm),
        line_mm=closed(rim.line_mm),
        stations=tuple(stations),
        is_hole=is_hole,
    )


def strips(plan: Plan) -> list[Strip]:
    """The strips that clay needs: round the part, and in holes whose rim climbs."""
    found = []
    if plan.mould.block.bedding.kind in ("printed-bed", "sticks"):
        return found
    if plan.split.line.kind != "level":
        for strip in plan.split.line.strips:
            rim = plan.split.line.outlines[strip.outline - 1]
            name = f"S{strip.outline}"
            found.append(_unrolled(plan, name, rim, strip.stations, is_hole=False))
    for plug in plan.split.line.plugs:
        if plug.is_following:
            name = view_split.plug_name(plug.number)
            found.append(_unrolled(plan, name, plug.rim, (), is_hole=True))
    return found


def strip_pages(plan: Plan) -> list[Sheet]:
    """The strips at 1:1, then the table of their stations."""
    todo = strips(plan)
    if not todo:
        return []

    def new_sheet():
        sheet = Sheet(plan.job.paper, title=say("strip.clay_strip"))
        y = page_head(sheet, plan.part.name)
        sheet.text(sheet.left, y - 7, say("strip.scale"), size_pt=paper.WEIGHT_PT, is_bold=True)
        draw_ruler(sheet)
        sheet.floor = sheet.bottom + RULER_MM
        return sheet, y - 11.0

    flow = Flow(new_sheet)
    for strip in todo:
        _strip(flow, plan, strip)
    tables = [sheet for strip in todo if strip.stations for sheet in _stations(plan, strip)]
    return [*flow.sheets, *tables]


# -- one strip ----------------------------------------------------------------


def _floor_mm(strip: Strip, *, most_mm: float) -> tuple[float, float]:
    """Lowest and highest height to draw: from the board if that leaves room."""
    low, high = float(strip.line_mm.min()), float(strip.line_mm.max()) + _MARGIN_MM
    high = min(high, max(float(strip.high_mm.max()), float(strip.line_mm.max())) + 2.0)
    if high <= most_mm:
        return 0.0, high
    return max(0.0, 10.0 * np.floor((low - _MARGIN_MM) / 10)), high


def _strip(flow: Flow, plan: Plan, strip: Strip) -> None:
    sheet = flow.sheet
    most_mm = sheet.top - _HEAD_MM - sheet.floor - _BELOW_MM - _ABOVE_MM - _NOTES_MM
    floor_mm, high_mm = _floor_mm(strip, most_mm=most_mm)
    notes = paper.wrap(_note(strip, floor_mm), room_mm=sheet.room_mm)
    notes_mm = len(notes) * paper.leading_mm() + _CARD_MM
    width_mm = sheet.room_mm - _SCALE_MM
    tiling = fit_tiles(
        (-_END_MM, floor_mm),
        (strip.length_mm + _END_MM, high_mm),
        window_mm=(width_mm, min(high_mm - floor_mm, most_mm)),
    )
    # The strip starts at the left; centred it would leave paper at both ends.
    rows = tiling.n_rows
    row_mm = (high_mm - floor_mm + (rows - 1) * OVERLAP_MM) / rows
    tiling = replace(tiling, low_mm=(-_END_MM, floor_mm), window_mm=(width_mm, row_mm))
    block_mm = tiling.window_mm[1] + _BELOW_MM + _ABOVE_MM
    open_card(flow, _title(strip), need_mm=notes_mm + block_mm)
    flow.lines(flow.sheet.left, notes)
    flow.y -= 0.5
    if tiling.is_too_large:
        flow.y = say_too_large(flow.sheet, tiling, top=flow.y) - 3.0
        return
    for row in reversed(range(tiling.n_rows)):
        for column in range(tiling.n_columns):
            flow.need(block_mm)
            _Piece(flow, strip, tiling, column, row).draw()
            flow.y -= block_mm
    flow.y -= 3.0


def _title(strip: Strip) -> str:
    where = say("strip.in_the_hole") if strip.is_hole else say("strip.round_the_part")
    return say("strip.strip_mm", name=strip.name, where=where, length=f"{strip.length_mm:.0f}")


def _note(strip: Strip, floor_mm: float) -> str:
    ranges = say("strip.the_lower_edge_is_mm", floor=f"{floor_mm:.0f}")
    ranges = ranges if floor_mm > 0 else ""
    ranges += say("strip.hatched_heights_that_trap_nothing")
    if (strip.low_mm > strip.high_mm).any():
        ranges += say("strip.crossed_no_height_is_free")
    if strip.is_hole:
        return say("strip.cut_along_the_thick_line", ranges=ranges)
    x, y = (f"{v:.0f}" for v in strip.stations[0].from_corner_mm)
    return say("strip.join_the_pieces_at_the", x=x, y=y, ranges=ranges)


class _Piece:
    """One piece of a strip on a sheet; `draw` puts it below the flow's y."""

    def __init__(self, flow: Flow, strip: Strip, tiling: Tiling, column: int, row: int) -> None:
        self.sheet, self.strip, self.tiling = flow.sheet, strip, tiling
        self.name = tiling.name(column, row)
        self.low = tiling.window_low_mm(column, row)
        self.high = self.low + tiling.window_mm
        # The last piece ends with the strip.
        self.high[0] = min(self.high[0], strip.length_mm + _END_MM)
        left = flow.sheet.left + _SCALE_MM
        self.corner = np.array([left, flow.y - _ABOVE_MM - tiling.window_mm[1]])
        self.ends = (max(0.0, self.low[0]), min(strip.length_mm, self.high[0]))

    def to_sheet(self, points_mm) -> np.ndarray:
        """Distance and height to the sheet."""
        return np.asarray(points_mm, dtype=float) - self.low + self.corner

    def _cut(self, heights_mm) -> np.ndarray:
        """A line of the strip within this piece, as (k, 2) distance and height."""
        start, end = self.ends
        along = self.strip.along_mm
        inside = along[(along > start) & (along < end)]
        at = np.concatenate([[start], inside, [end]])
        heights = np.interp(at, along, heights_mm)
        return np.column_stack([at, heights])

    def _band(self, low_mm, high_mm):
        """Path between two lines, or None where they do not part."""
        under, over = (self._cut(np.clip(heights, *self._span())) for heights in (low_mm, high_mm))
        if not (over[:, 1] - under[:, 1] > 1e-6).any():
            return None
        return paper.ring_path([self.to_sheet(np.vstack([under, over[::-1]]))])

    def draw(self) -> None:
        """Clay, free heights, line, stations, scales and joints."""
        sheet, strip = self.sheet, self.strip
        is_tiled = self.tiling.n_tiles > 1
        frame = sheet.box(*self.corner, *self.to_sheet(self.high), edge=GREY)
        floor = np.full_like(strip.line_mm, self.low[1])
        clay = self._band(floor, strip.line_mm)
        if clay is not None:
            sheet.area(clay, fill=tint(CLAY, share=0.25))
        free = self._band(np.minimum(strip.low_mm, strip.high_mm), strip.high_mm)
        held = self._band(strip.high_mm, np.maximum(strip.low_mm, strip.high_mm))
        if free is not None:
            patch = sheet.area(free, edge=GREY, kind="thin")
            sheet.hatch(patch, angle_deg=45, pitch_mm=2.5, colour=GREY, width_mm=0.15)
        if held is not None:
            patch = sheet.area(held)
            for angle_deg in (20, 110):
                sheet.hatch(patch, angle_deg=angle_deg, pitch_mm=1.4, colour=TRAPPED, width_mm=0.15)
        self._stations()
        sheet.line(self.to_sheet(self._cut(strip.line_mm)), kind="visible", clip=frame)
        self._board()
        self._heights()
        if is_tiled:
            of = f"{self.tiling.n_columns} x {self.tiling.n_rows}"
            name = say("strip.piece_of", name=strip.name, name_2=self.name, of=of)
            sheet.text(self.corner[0], self.to_sheet(self.high)[1] + 2.0, name, is_bold=True)
            for point in self.tiling.joints_mm():
                x, y = self.to_sheet(point)
                if np.all(np.array(point) > self.low) and np.all(np.array(point) < self.high):
                    draw_joint(sheet, x, y, clip=frame)

    def _board(self) -> None:
        """The lower edge of the strip, where it stands on the board."""
        start, end = self.ends
        if self.low[1] <= 0.0:
            self.sheet.line(self.to_sheet([(start, 0.0), (end, 0.0)]), kind="visible")
        for at in (start, end):
            if at in (0.0, self.strip.length_mm):
                foot, top = self.to_sheet([(at, self.low[1]), (at, self.high[1])])
                self.sheet.line([foot, top], kind="hidden")

    def _stations(self) -> None:
        """An upright every 10 mm from the lower edge to the line, a number every 20."""
        start, end = self.ends
        for at, height in _uprights(self.strip):
            if not start <= at <= end:
                continue
            foot, top = self.to_sheet([(at, self.low[1]), (at, np.clip(height, *self._span()))])
            if top[1] > foot[1]:
                self.sheet.line([foot, top])
            x = foot[0]
            if at % 20 == 0 and self.corner[0] + 2 < x < self.to_sheet(self.high)[0] - 3:
                self.sheet.text(x, foot[1] - 4.4, f"{at:.0f}", ha="center")

    def _span(self) -> tuple[float, float]:
        return self.low[1], self.high[1]

    def _heights(self) -> None:
        """Heights above the board at the left edge, every 10 mm."""
        low, high = self._span()
        for height in np.arange(10 * np.ceil(low / 10), high + 1e-9, 10.0):
            y = height - low + self.corner[1]
            self.sheet.line([(self.corner[0] - 2.0, y), (self.corner[0], y)])
            if height < high - 1.0:
                self.sheet.text(self.corner[0] - 3.0, y, f"{height:.0f}", ha="right", va="center")


def _uprights(strip: Strip) -> list[tuple[float, float]]:
    """Distance and height of the stations; read off the line where none are given."""
    if strip.stations:
        return [(s.along_mm, s.height_mm) for s in strip.stations]
    at_mm = np.arange(0.0, strip.length_mm, 10.0)
    return list(zip(at_mm, np.interp(at_mm, strip.along_mm, strip.line_mm), strict=True))


# -- the stations as a table, and the view from above ---------------------------


def _stations(plan: Plan, strip: Strip) -> list[Sheet]:
    def new_sheet():
        sheet = Sheet(plan.job.paper, title=say("strip.clay_heights"))
        return sheet, page_head(sheet, plan.part.name) - 4

    flow = Flow(new_sheet)
    flow.y = card_head(
        flow.sheet,
        flow.y,
        say("strip.strip_every_mm", name=strip.name),
        remark=say("strip.set_above_the_base_board"),
    )
    heads = (
        (say("strip.along"), 22.5),
        ("x", 22.5),
        ("y", 22.5),
        (say("strip.set_to_c"), 25.5),
    )
    columns = [Column(head, width, head == heads[-1][0]) for head, width in heads] * 2
    cells = [view_split.station_cells(plan, station) for station in strip.stations]
    # Two stations a row, read across: so a sheet holds one stretch of the strip.
    cells += [("",) * len(heads)] * (len(cells) % 2)
    rows = [(*left, *right) for left, right in zip(cells[::2], cells[1::2], strict=True)]
    draw_table(flow, columns, rows)
    return flow.sheets


def draw_overview(flow: Flow, plan: Plan) -> None:
    """A card with the box from above: where strips start, their stations, the holes' numbers."""
    line = plan.split.line
    size = np.subtract(plan.mould.block.high_mm, plan.mould.block.low_mm)[:2]
    room = flow.sheet.room_mm - _MAP_TEXT_MM - 12.0
    scale = min(room / size[0], _MAP_MM / size[1])
    open_card(
        flow,
        say("strip.where_the_clay_goes"),
        remark=say("strip.heights_above_the_base_board"),
        need_mm=size[1] * scale + (45.0 if line.plugs else 25.0),
    )
    flow.y -= 2.0
    sheet = flow.sheet
    corner = np.array([sheet.left + 4.0, flow.y - size[1] * scale])
    far = corner + size * scale

    def to_sheet(points_mm):
        return corner + (np.asarray(points_mm) - plan.mould.block.low_mm[:2]) * scale

    sketch = next((s for s in plan.sketches if s.name == "draw"), None)
    if sketch is not None and sketch.outline:
        path = paper.ring_path([to_sheet(ring) for ring in sketch.outline])
        sheet.area(path, fill=PART, edge=INK, kind="thin")
    sheet.box(*corner, *far, edge=INK, kind="visible")
    marks = Marks(sheet, corner - (4.0, 12.0), far + 5.0)
    wedge = corner + np.array([(0.0, 0.0), (3.0, 0.0), (0.0, 3.0)])
    sheet.area(paper.ring_path([wedge]), fill=INK)
    sheet.text(corner[0], corner[1] - 5.0, say("strip.corner_x_right_y_up"))
    marks.block(corner[0], corner[1] - 7.0, corner[0] + 55.0, corner[1])
    for plug in line.plugs:
        name = view_split.plug_name(plug.number)
        marks.label(*to_sheet(plug.centre_mm), name, colour=CLAY, is_round=False)
    if line.kind != "level":
        for strip in line.strips:
            _mark_strip(sheet, marks, to_sheet, strip, line.outlines[strip.outline - 1], plan)
    text = [
        *([say("strip.h_holes_through_the_part")] if line.plugs else []),
        *([say("strip.s_where_a_clay_strip")] if line.kind != "level" else []),
    ]
    x, y = far[0] + 12.0, far[1]
    for sentence in text:
        for words in paper.wrap(sentence, room_mm=sheet.right - x):
            y -= paper.leading_mm()
            sheet.text(x, y, words)
        y -= 2.0
    flow.y = corner[1] - 12.0


def _mark_strip(sheet, marks, to_sheet, strip, rim, plan) -> None:
    ring = to_sheet(np.vstack([rim.points_mm, rim.points_mm[:1]]))
    sheet.line(ring, kind="visible", colour=CLAY)
    middle = ring.mean(axis=0)
    low = np.asarray(plan.mould.block.low_mm[:2])
    step_mm = 50.0 if strip.length_mm <= 800.0 else 100.0
    for station in strip.stations[:-1]:
        place = to_sheet(low + station.from_corner_mm)
        out = (place - middle) / max(float(np.hypot(*(place - middle))), 1e-9)
        is_numbered = station.along_mm % step_mm == 0
        sheet.line([place, place + (3.0 if is_numbered else 1.5) * out])
        if station.along_mm == 0:
            name = f"S{strip.outline}"
            marks.label(*place, name, colour=INK, is_round=False, clear_mm=5.0)
        elif is_numbered and station.along_mm < strip.length_mm - 10.0:
            name = f"{station.along_mm:.0f}"
            marks.label(*place, name, colour=HAIR, is_round=False, clear_mm=5.0)
