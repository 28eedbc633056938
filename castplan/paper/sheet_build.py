"""Box, keys and boards on paper: exploded and assembled pictures, cut list, what holds."""

import numpy as np

from castplan.mould.records import Section
from castplan.palette import AIR, GREY, INK, LOOSE, LOWER, PART, UPPER
from castplan.paper import paper
from castplan.paper.paper import Flow, Sheet
from castplan.paper.sheet_marks import page_head
from castplan.paper.sheet_sketch import hatched
from castplan.paper.sheet_table import Column, draw_table
from castplan.plan_record import Plan
from castplan.texts import say
from castplan.words import build as build_view

_PICTURES_MM = 100.0  # height of the pictures together
_LABEL_MM = 32.0  # beside the exploded picture
_GAP_MM = 8.0  # between columns
_APART = 0.16  # of the box's height, between exploded pieces
_BOARD = "#efe6d2"


def build_pages(plan: Plan) -> list[Sheet]:
    """One or two sheets; none for a plan without boards."""
    boards = plan.mould.boards
    if not boards.boards:
        return []
    title = say("cut.build_title" if plan.split.is_cut else "build.box_keys_and_boards")
    first = Sheet(plan.job.paper, title=title)
    top = page_head(first, plan.part.name) - 3
    waiting = [(first, top - _PICTURES_MM - 4)]

    def new_sheet():
        if waiting:
            return waiting.pop()
        sheet = Sheet(plan.job.paper, title=title)
        return sheet, page_head(sheet, plan.part.name) - 4

    if plan.split.is_cut:
        _stood(first, plan, top)
    else:
        _pictures(first, plan, top)
    flow = Flow(new_sheet)
    for sentence in (
        *([say("cut.as_it_stands")] if plan.split.is_cut else []),
        build_view.box_decision(plan).sentence,
        *build_view.build_sentences(plan),
    ):
        flow.paragraph(sentence)
    columns = (
        Column(say("build.board"), 48, True),
        Column(say("build.cut"), 14),
        Column(say("build.size_c"), 60),
        Column("", 60),
    )
    flow.need(30)
    flow.y -= 2
    draw_table(flow, columns, [build_view.board_row(board) for board in boards.boards])
    flow.y -= 2
    flow.paragraph(
        say("build.boards_mm_thick_butt_jointed", thickness=f"{boards.thickness_mm:g}"),
    )
    return flow.sheets


def _pictures(sheet: Sheet, plan: Plan, top: float) -> None:
    sections = {section.name: section for section in plan.mould.sections}
    half = 0.5 * (sheet.room_mm - _GAP_MM)
    left, right = sheet.left, sheet.left + half + _GAP_MM
    low = top - _PICTURES_MM
    caption = 5.5
    if "front" in sections:
        _exploded(sheet, plan, sections["front"], (left, low + caption), (left + half, top))
        _caption(sheet, left, low, half, say("build.taken_apart_cut_along_x"))
    middle = low + 0.5 * _PICTURES_MM
    if "side" in sections:
        _assembled(sheet, plan, sections["side"], (right, middle + caption), (right + half, top))
        _caption(sheet, right, middle, half, say("build.together_cut_along_y"))
    _flange(sheet, plan, (right, low + caption), (right + half, middle - 3))
    _caption(sheet, right, low, half, say("build.keys_from_above_corner_lower"))


def _stood(sheet: Sheet, plan: Plan, top: float) -> None:
    """The box of a block that is cut open, as it stands for the silicone, cut upright."""
    up = plan.split.draw.frame.rotation @ plan.air.attitude.rest.up
    axis = int(np.argmax(np.abs(up)))
    name = "side" if axis == 1 else "front"
    cut = next(section for section in plan.mould.sections if section.name == name)
    down = -1.0 if up[axis] > 0 else 1.0  # the side that is up at the pour of resin is below

    def stand(points):
        flat = np.asarray(points, dtype=float).reshape(-1, 2)
        if axis == 2:
            return flat * (1.0, down)
        return np.column_stack([flat[:, 1], down * flat[:, 0]])

    boards = plan.mould.boards
    thick = boards.thickness_mm
    corners = stand([cut.low_corner_mm, cut.high_corner_mm])
    (x0, z0), (x1, z1) = corners.min(axis=0), corners.max(axis=0)
    low = top - _PICTURES_MM
    left, right = sheet.left, sheet.right - _LABEL_MM
    place = _Map(
        (x0 - thick, z0 - thick), (x1 + thick, z1 + boards.rim_mm), (left, low + 6.0), (right, top)
    )
    _board(sheet, place, x0 - thick, z0 - thick, x1 + thick, z0)
    for a, b in ((x0 - thick, x0), (x1, x1 + thick)):
        _board(sheet, place, a, z0, b, z1 + boards.rim_mm)
    _rubber(sheet, [stand(ring) for ring in cut.upper_mm], place, UPPER)
    _part(sheet, [stand(ring) for ring in cut.part_mm], place)
    for label, ring in cut.ports_mm:
        shape = place(stand(ring))
        sheet.area(paper.ring_path([shape]), fill=_BOARD, edge=AIR, kind="thin")
        sheet.text(*shape.mean(axis=0), label, ha="center", va="center", colour=AIR)
    if len(cut.parting_mm):
        sheet.line(place(stand(cut.parting_mm)), kind="parting")
    x = place((x1 + thick, z1))[0] + 4.0
    for height, text in (
        (z0 - 0.5 * thick, say("build.base_board")),
        (0.5 * (z0 + z1), say("cut.seen_silicone")),
    ):
        sheet.text(x, place((x1, height))[1], text, va="center")
    _caption(sheet, left, low, right - left, say("cut.picture"))


def _caption(sheet, x, y, room_mm, text):
    sheet.text(x, y, paper.shortened(text, room_mm=room_mm), colour=GREY)


class _Map:
    """Millimetres of the mould to the sheet, centred in a frame."""

    def __init__(self, low, high, corner, far) -> None:
        low, high = np.asarray(low, float), np.asarray(high, float)
        corner, far = np.asarray(corner, float), np.asarray(far, float)
        self.scale = float(min((far - corner) / (high - low)))
        self.shift = 0.5 * (corner + far) - self.scale * 0.5 * (low + high)

    def __call__(self, points) -> np.ndarray:
        return np.asarray(points, float) * self.scale + self.shift


def _rubber(sheet, rings, place, colour):
    if rings:
        path = paper.ring_path([place(ring) for ring in rings])
        hatched(sheet, path, colour)
        sheet.area(path, edge=INK, kind="thin")


def _part(sheet, rings, place):
    if rings:
        path = paper.ring_path([place(ring) for ring in rings])
        sheet.area(path, fill=PART, edge=INK, kind="thin")


def _board(sheet, place, x0, z0, x1, z1):
    (a, b), (c, d) = place((x0, z0)), place((x1, z1))
    sheet.box(a, b, c, d, fill=_BOARD, edge=INK)


def _span(rings):
    points = np.concatenate(rings)
    return float(points[:, 1].min()), float(points[:, 1].max())


def _exploded(sheet: Sheet, plan: Plan, cut: Section, corner, far) -> None:
    """Base board, lower half, part, upper half, turning board, one above the other."""
    thick = plan.mould.boards.thickness_mm
    (x0, z0), (x1, z1) = cut.low_corner_mm, cut.high_corner_mm
    apart = max(_APART * (z1 - z0), 4.0)
    lower = () if plan.split.is_open else cut.lower_mm
    stack = [(say("build.lower_half"), lower, LOWER), (say("build.part"), cut.part_mm, None)]
    upper = "build.open_mould" if plan.split.is_open else "build.upper_half"
    stack += [(say(upper), cut.upper_mm, UPPER)]
    level = z0
    placed = []
    for name, rings, colour in stack:
        if rings:
            low, high = _span(rings)
            lift = 0.0 if colour == LOWER else level + apart - low
            placed.append((name, rings, colour, lift, 0.5 * (low + high) + lift))
            level = high + lift
    place = _Map(
        (x0 - thick, z0 - apart - thick),
        (x1 + thick, level + apart + thick),
        corner,
        (far[0] - _LABEL_MM, far[1]),
    )
    names = []
    _board(sheet, place, x0 - thick, z0 - apart - thick, x1 + thick, z0 - apart)
    names.append((say("build.base_board"), z0 - apart - 0.5 * thick))
    for name, rings, colour, lift, middle in placed:

        def lifted(ring, lift=lift):
            return place(np.asarray(ring) + np.array([0.0, lift]))

        if colour is None:
            _part(sheet, rings, lifted)
        else:
            _rubber(sheet, rings, lifted, colour)
        names.append((name, middle))
    if any(board.name == "turning board" for board in plan.mould.boards.boards):
        _board(sheet, place, x0 - thick, level + apart, x1 + thick, level + apart + thick)
        names.append((say("build.turning_board"), level + apart + 0.5 * thick))
    x = far[0] - _LABEL_MM + 3
    before = -np.inf
    for name, z in names:
        edge, y = place((x1 + thick, z))
        # Names keep a line apart, however thin their pieces are.
        y = max(float(y), before + paper.leading_mm())
        before = y
        sheet.line([(edge + 1, place((0, z))[1]), (x - 1, y)], colour=GREY)
        sheet.text(x, y - 1.4, name)


def _assembled(sheet: Sheet, plan: Plan, cut: Section, corner, far) -> None:
    """The cut mould in its box, gate and vents open."""
    boards = plan.mould.boards
    (x0, z0), (x1, z1) = cut.low_corner_mm, cut.high_corner_mm
    thick = boards.thickness_mm
    place = _Map((x0 - thick, z0 - thick), (x1 + thick, z1 + boards.rim_mm), corner, far)
    _board(sheet, place, x0 - thick, z0 - thick, x1 + thick, z0)
    for a, b in ((x0 - thick, x0), (x1, x1 + thick)):
        _board(sheet, place, a, z0, b, z1 + boards.rim_mm)
    _rubber(sheet, cut.lower_mm, place, LOWER)
    _rubber(sheet, cut.upper_mm, place, UPPER)
    _rubber(sheet, [ring for _, ring in cut.loose_mm], place, LOOSE)
    # Under the part, where the parting runs in the solid and nobody sees it.
    sheet.line(place(cut.parting_mm), kind="parting")
    _part(sheet, cut.part_mm, place)
    for _, ring in cut.ports_mm:
        sheet.area(paper.ring_path([place(ring)]), edge=AIR, kind="thin")


def _flange(sheet: Sheet, plan: Plan, corner, far) -> None:
    """Box, part and keys from above."""
    box, keys = plan.split.box, plan.mould.keys
    place = _Map(box.low_mm[:2], box.high_mm[:2], corner, far)
    sketch = next((s for s in plan.sketches if s.name == "draw"), None)
    if sketch is not None and sketch.outline:
        _part(sheet, sketch.outline, place)
    sheet.area(paper.ring_path([place(box.outline_mm)]), edge=INK, kind="visible")
    for x, y, _ in keys.places_mm:
        sheet.circle(*place((x, y)), 0.5 * keys.diameter_mm * place.scale, edge=INK)
