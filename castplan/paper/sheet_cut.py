"""A block that is cut open, at 1:1: its base board with the sticks, and the knife's line.

The line is drawn twice: on the block from above, and unrolled as a strip of paper that
is wrapped round the block. Line kinds follow ISO 128.
"""

from dataclasses import replace

import numpy as np
import shapely

from castplan.palette import AIR, GREY, INK, TRAPPED
from castplan.paper import paper
from castplan.paper.paper import Sheet
from castplan.paper.sheet_stack import Piece, stack_pages
from castplan.paper.sheet_template import (
    FaceOn,
    bed_face,
    face_drawing,
    openings_table,
    pour_face,
    pour_with_openings,
    with_table,
)
from castplan.paper.sheet_true import Drawing, Window, outlined, true_sheets
from castplan.plan_record import Plan
from castplan.texts import say
from castplan.words import cut as cut_view
from castplan.words import formats
from castplan.words import plan as view

_ARROW_MM = 12.0  # of the place where the knife starts
_SHARES = (0.5, -0.5, 0.2, -0.2)  # of half the side, where it may start as drawn
_OUT_MM = 22.0  # round the block, for arrow and words
_OVER_MM = 10.0  # words over the letters of the sections
_NAMES_MM = 10.0  # over the strip
_BELOW_MM = 8.0  # and under it


def cut_drawings(plan: Plan) -> list[Drawing]:
    """Base board with the sticks, and the pour of resin."""
    return [face_drawing(_board_face(plan)), face_drawing(pour_face(plan))]


def knife_pages(plan: Plan) -> list[Sheet]:
    """Where the knife goes: from above, and unrolled round the block."""
    return [*_plan_pages(plan), *_strip_pages(plan)]


def cut_tables(plan: Plan) -> list[Sheet]:
    """The same faces as `cut_drawings`, with the places of gate and vents."""
    title, note = say("cut_sheet.table_title"), say("cut_sheet.table_note")
    board = with_table(plan, _board_face(plan), *openings_table(plan), note=note, title=title)
    return [*board, *pour_with_openings(plan)]


def _board_face(plan: Plan):
    return replace(
        pour_face(plan),
        title=say("cut_sheet.board_title"),
        side=say("cut_sheet.board_side"),
        note=say("cut_sheet.board_note"),
        is_mirrored=True,
    )


def _plan_pages(plan: Plan) -> list[Sheet]:
    """The block from above as it lies to be cut."""
    up = view.axis_words(plan.split.draw.direction)
    face = replace(
        bed_face(plan),
        title=say("cut_sheet.plan_title"),
        side=say("cut_sheet.plan_side"),
        note=say("cut_sheet.plan_note", up=up),
        is_covered=True,
    )
    whole = face_drawing(face)

    def draw(window: Window) -> None:
        _knifed(window, plan, face)
        FaceOn(window, face).draw()
        _start_and_stop(window, plan, face)

    low, high = np.array(whole.low_mm), np.array(whole.high_mm)
    box = plan.split.box.outline_mm
    low = np.minimum(low, box.min(axis=0) - _OUT_MM)
    high = np.maximum(high, box.max(axis=0) + _OUT_MM)
    return true_sheets(plan, replace(whole, low_mm=low, high_mm=high, draw=draw))[0]


def _region(plan: Plan):
    """What of the block lies in front of where the knife stops, as seen along the draw."""
    slit = plan.mould.slit
    axis = int(np.argmax(np.abs(slit.way)))
    block = shapely.Polygon(plan.split.box.outline_mm)
    low, high = np.array(block.bounds[:2]) - 1.0, np.array(block.bounds[2:]) + 1.0
    if slit.way[axis] > 0:
        low[axis] = slit.stop_mm
    else:
        high[axis] = -slit.stop_mm
    return block & shapely.box(*low, *high)


def _knifed(window: Window, plan: Plan, face) -> None:
    part = shapely.union_all([shapely.Polygon(ring).buffer(0) for ring in face.outline])
    for piece in shapely.get_parts(_region(plan) - part):
        if piece.geom_type != "Polygon":
            continue
        rings = [piece.exterior, *piece.interiors]
        shape = paper.ring_path([window.to_sheet(shapely.get_coordinates(r)) for r in rings])
        patch = window.sheet.area(shape, clip=window.clip)
        window.sheet.hatch(patch, angle_deg=30.0, pitch_mm=3.0, colour=GREY, clip=window.clip)


def _start_and_stop(window: Window, plan: Plan, face) -> None:
    """An arrow at the marked side, and the line at which the knife stops."""
    slit, box = plan.mould.slit, plan.split.box.outline_mm
    way = np.array(slit.way[:2])
    across = np.array([-way[1], way[0]])
    middle = 0.5 * (box.min(axis=0) + box.max(axis=0))
    side = middle + way * float((box @ way).max() - middle @ way)
    half = 0.5 * float(np.ptp(box @ across))
    # Letters of the sections stand at the same side.
    axis = int(np.argmax(np.abs(way)))
    taken = [at_mm for _, along, at_mm in face.cuts if along == axis]
    spots = [side + share * half * across + 1.0 * way for share in _SHARES]
    tip = max(
        spots,
        key=lambda spot: round(min((abs(spot[1 - axis] - at) for at in taken), default=0.0), 3),
    )
    _arrow(window, tip + _ARROW_MM * way, tip)
    name = window.to_sheet(tip + (_ARROW_MM + 7.0) * way)
    style = {"is_bold": True, "ha": "center", "va": "center", "colour": TRAPPED}
    if window.is_inside(name):
        window.sheet.text(*name, say("cut_sheet.start"), **style)
    stop = middle + way * (slit.stop_mm - middle @ way)
    line = window.to_sheet([stop - (half + 6.0) * across, stop + (half + 6.0) * across])
    window.sheet.line(line, kind="parting", colour=TRAPPED, clip=window.clip)
    text = say("cut_sheet.stop", depth=formats.length_text(slit.chosen.depth_mm, error_mm=1.0))
    # Words run along the sheet, so they stand over the upper or right end of the line.
    place = max((tuple(end) for end in line), key=lambda end: (end[1], end[0]))
    x, y = place[0], place[1] + _OVER_MM
    room = paper.text_width_mm(text, is_bold=True)
    x = float(np.clip(x, window.corner[0] + 0.5 * room, window.far[0] - 0.5 * room))
    if window.is_inside(np.array([x, y])):
        window.sheet.text(x, y, text, **style)


def _arrow(window: Window, start, tip) -> None:
    a, b = window.to_sheet([start, tip])
    along = (b - a) / np.hypot(*(b - a))
    across = np.array([-along[1], along[0]])
    window.sheet.line([a, b - 3.0 * along], kind="visible", colour=TRAPPED, clip=window.clip)
    head = np.array([b, b - 4.0 * along + 1.6 * across, b - 4.0 * along - 1.6 * across])
    window.sheet.area(paper.ring_path([head]), fill=TRAPPED, clip=window.clip)


# -- the strip ----------------------------------------------------------------


def _strip_pages(plan: Plan) -> list[Sheet]:
    """The outside of the block from stop to stop, unrolled."""
    block, path = plan.mould.block, plan.mould.slit.outside_mm
    legs = np.linalg.norm(np.diff(path[:, :2], axis=0), axis=1)
    along = np.concatenate([[0.0], np.cumsum(legs)])
    height = path[:, 2] - block.low_mm[2]
    size = np.array([along[-1], block.high_mm[2] - block.low_mm[2]])
    up = view.axis_words(plan.split.draw.direction)
    piece = Piece(
        name=say("cut_sheet.strip_title"),
        about=cut_view.teeth_words(plan),
        low_mm=np.array([0.0, -_BELOW_MM]),
        high_mm=np.add(size, (0.0, _NAMES_MM)),
        draw=lambda window, shift: _Strip(window, plan, shift).draw(along, height, size),
    )
    return stack_pages(
        plan,
        [piece],
        title=say("cut_sheet.strip_title"),
        side=say("cut_sheet.strip_side"),
        note=say("cut_sheet.strip_note", up=up),
    )


class _Strip:
    """The unrolled outside on one window."""

    def __init__(self, window: Window, plan: Plan, shift) -> None:
        self.window, self.plan, self.shift = window, plan, np.asarray(shift)

    def at(self, points):
        """Strip millimetres to the sheet."""
        return self.window.to_sheet(np.asarray(points, dtype=float) + self.shift)

    def text(self, place, text, **style):
        """Words where they lie on this window."""
        place = self.at(place)
        if self.window.is_inside(place):
            self.window.sheet.text(*place, text, **style)

    def draw(self, along, height, size) -> None:
        """Edges, corners of the block, parting, zig-zag, and the words beside them."""
        sheet, clip = self.window.sheet, self.window.clip
        (length, high), slit = size, self.plan.mould.slit
        edge = np.array([(0, 0), (length, 0), (length, high), (0, high)])
        outlined(self.window, [edge + self.shift], kind="visible")
        corners = self._corners()
        for x in corners:
            sheet.line(self.at([(x, 0), (x, high)]), kind="hidden", clip=clip)
        floor = (0.0, self.plan.mould.block.low_mm[2])
        middle = np.column_stack([along, slit.middle_mm[:, 2]]) - floor
        sheet.line(self.at(middle), kind="air", colour=AIR, clip=clip)
        sheet.line(
            self.at(np.column_stack([along, height])), kind="visible", colour=TRAPPED, clip=clip
        )
        for x, ha in ((0.0, "left"), (length, "right")):
            self.text((x, high + 2.0), say("cut_sheet.strip_stop"), ha=ha, is_bold=True)
        marked = 0.5 * length if len(corners) < 2 else 0.5 * (corners[0] + corners[-1])
        name = say("cut_sheet.strip_marked")
        self.text((marked, high + 2.0), name, ha="center", is_bold=True, colour=TRAPPED)
        deep = formats.length_text(slit.chosen.depth_mm, error_mm=1.0)
        ends = [0.0, *corners, length]
        if len(corners) == 2:
            for a, b in ((ends[0], ends[1]), (ends[2], ends[3])):
                self.text((0.5 * (a + b), -5.0), deep, ha="center", colour=GREY)
        start = formats.both_lengths(float(middle[0, 1]), error_mm=0.5)
        raised = say("cut_sheet.strip_height", height=start)
        self.text((2.0, middle[0, 1] - slit.amplitude_mm - 5.0), raised, colour=INK)

    def _corners(self) -> list[float]:
        """Where the block's outside turns sharply, along the strip."""
        path = self.plan.mould.slit.outside_mm[:, :2]
        legs = np.diff(path, axis=0)
        length = np.linalg.norm(legs, axis=1)
        ways = legs / length[:, None]
        turns = np.einsum("ij,ij->i", ways[:-1], ways[1:])
        along = np.cumsum(length)[:-1]
        return [float(x) for x in along[turns < 0.5]]
