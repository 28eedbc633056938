"""The split sheet: why this way, what the rubber must leave, how the parting runs."""

import numpy as np

from castplan import palette, units
from castplan.palette import GREY, INK, TRAPPED
from castplan.paper import paper
from castplan.paper.paper import Flow, Sheet
from castplan.paper.sheet_line import draw_overview, strip_pages
from castplan.paper.sheet_marks import Marks, baseline_mm, card_head, open_card, page_head
from castplan.paper.sheet_table import Column, columns_of, draw_table
from castplan.plan_record import Plan
from castplan.texts import say
from castplan.words import cut as cut_view
from castplan.words import formats
from castplan.words import plan as view
from castplan.words import split as view_split

_MAP_MM = 33.0  # radius of the map
_NUMBER_MM = 2.7  # radius of a number's disc
_DOT_MM = 0.28  # of the smallest mark


def split_pages(plan: Plan) -> list[Sheet]:
    """Directions, undercuts and parting, then the clay strips of a split that is not level."""

    def new_sheet():
        sheet = Sheet(plan.job.paper, title=say("split.split"))
        return sheet, page_head(sheet, plan.part.name) - 4

    flow = Flow(new_sheet)
    if not plan.split.is_open:
        _directions(flow, plan)
    _undercuts(flow, plan)
    _remedies(flow, plan)
    _thin(flow, plan)
    if plan.split.is_open:
        return flow.sheets
    if plan.split.is_cut:
        _knife(flow, plan)
        return flow.sheets
    _parting(flow, plan)
    _clay(flow, plan)
    return [*flow.sheets, *strip_pages(plan)]


def _number(sheet: Sheet, x: float, y: float, number: int) -> None:
    sheet.circle(x, y, _NUMBER_MM, fill=INK, edge="white", kind="visible")
    sheet.text(x, baseline_mm(y), str(number), is_bold=True, ha="center", colour="white")


# -- directions ---------------------------------------------------------------


def _directions(flow: Flow, plan: Plan) -> None:
    is_asked = plan.split.draw.is_asked_for
    tried = (
        say("split.as_asked_no_other_tried")
        if is_asked
        else say("split.tried", n_directions=f"{plan.split.draw.n_directions:,}")
    )
    flow.y = card_head(flow.sheet, flow.y, say("split.why_this_way"), remark=tried)
    left, bottom = flow.sheet.left, flow.y
    if not is_asked:
        x, y = left + _MAP_MM + 1.0, flow.y - _MAP_MM - 4.0
        _draw_map(flow.sheet, plan, x, y)
        bottom = _draw_map_key(flow.sheet, plan, left, y - _MAP_MM - 4.0)
        left += 2 * _MAP_MM + 9.0
    flow.y -= 1.0
    for number, reason in enumerate(view_split.candidate_reasons(plan), start=1):
        lines = paper.wrap(reason, room_mm=flow.sheet.right - left - 8.0)
        _number(flow.sheet, left + 3.0, flow.y - paper.leading_mm() / 2, number)
        flow.lines(left + 8.0, lines)
        flow.y -= 2.5
    flow.y = min(flow.y, bottom) - 3.0
    count = len(plan.split.draw.candidates)
    heads = [say("split.this_plan"), *(str(number) for number in range(2, count + 1))]
    columns = [Column("", 68.0), *(Column(head, 38.0) for head in heads)]
    draw_table(flow, columns, view_split.candidate_rows(plan))
    flow.paragraph(view_split.weights_sentence(plan), above_mm=1.0)
    flow.y -= 2.0


def _map_places(plan: Plan, directions) -> np.ndarray:
    """Equal-area places of directions on a map of radius 1 round the draw, (k, 2).

    Lambert's azimuthal projection of a hemisphere; a direction and its
    opposite are one draw.
    """
    turned = plan.split.draw.frame.to_frame(np.atleast_2d(np.asarray(directions, dtype=float)))
    turned = turned / np.linalg.norm(turned, axis=1)[:, None]
    turned = np.where(turned[:, 2:] < 0, -turned, turned)
    return turned[:, :2] / np.sqrt(1 + turned[:, 2:])


def _mark_mm(volume_mm3: float, largest_mm3: float, n_marks: int) -> float:
    """Radius of a mark whose area goes with the volume."""
    most_mm = 0.47 * _MAP_MM * np.sqrt(np.pi / n_marks)
    return max(_DOT_MM, float(most_mm * np.sqrt(volume_mm3 / largest_mm3)))


def _draw_mark(sheet: Sheet, x: float, y: float, volume_mm3: float, radius_mm: float) -> None:
    if units.is_nothing(volume_mm3):
        sheet.circle(x, y, 0.7, fill="white", edge=INK)
    else:
        sheet.circle(x, y, radius_mm, fill=TRAPPED, edge=TRAPPED)


def _draw_map(sheet: Sheet, plan: Plan, x: float, y: float) -> None:
    """What every direction traps, seen down the draw; (x, y) is the middle."""
    draw = plan.split.draw
    sheet.circle(x, y, _MAP_MM, fill="white", edge=INK)
    # Half way to the side: 45 degrees off the draw.
    sheet.circle(x, y, _MAP_MM * np.sqrt(1 - np.sqrt(0.5)), edge=palette.HAIR)
    largest = max(float(draw.map_trapped_mm3.max(initial=0.0)), 1e-9)
    places = _map_places(plan, draw.map_directions) * (_MAP_MM - 1.5)
    for (dx, dy), volume in zip(places, draw.map_trapped_mm3, strict=True):
        radius = _mark_mm(volume, largest, len(places))
        _draw_mark(sheet, x + dx, y + dy, volume, radius)
    reach = _MAP_MM + 4.0
    marks = Marks(sheet, (x - reach, y - reach), (x + reach, y + reach))
    best = _map_places(plan, [c.direction for c in draw.candidates]) * (_MAP_MM - 1.5)
    for dx, dy in best:
        clear = _NUMBER_MM + 0.4
        marks.block(x + dx - clear, y + dy - clear, x + dx + clear, y + dy + clear)
    axes = np.eye(3) * np.where(np.eye(3) @ draw.frame.up < 0, -1.0, 1.0)[:, None]
    for axis, (dx, dy) in zip(axes, _map_places(plan, axes) * (_MAP_MM - 1.5), strict=True):
        name = f"{'+' if axis.sum() > 0 else '-'}{'xyz'[int(np.argmax(np.abs(axis)))]}"
        marks.label(x + dx, y + dy, name, colour=GREY, is_round=False, clear_mm=4.0)
    for number, (dx, dy) in reversed(list(enumerate(best, start=1))):
        _number(sheet, x + dx, y + dy, number)


def _draw_map_key(sheet: Sheet, plan: Plan, x: float, y: float) -> float:
    """What the marks mean, from y downward; returns the y below."""
    trapped = plan.split.draw.map_trapped_mm3
    largest = max(float(trapped.max(initial=0.0)), 1e-9)
    volumes = [0.0, 0.1 * largest, largest] if not units.is_nothing(largest) else [0.0]
    middle = y - 2.0
    for volume in volumes:
        _draw_mark(sheet, x + 2.0, middle, volume, _mark_mm(volume, largest, len(trapped)))
        text = formats.trapped_plain(volume)
        sheet.text(x + 5.0, baseline_mm(middle), text)
        x += 8.0 + paper.text_width_mm(text)
    lines = [
        say("split.held_by_a_level_split"),
        say("split.this_draw_edge_sideways_to"),
        say("split.squares_the_file_s_axes"),
    ]
    left = sheet.left
    for k, line in enumerate(lines):
        sheet.text(left, baseline_mm(middle) - (k + 1) * paper.leading_mm(), line)
    return middle - (len(lines) + 0.5) * paper.leading_mm()


# -- undercuts ----------------------------------------------------------------


def _undercuts(flow: Flow, plan: Plan) -> None:
    open_card(
        flow,
        say("split.undercuts"),
        remark=say("split.numbers_as_on_the_job"),
        need_mm=45.0 if plan.split.undercuts.pockets else 18.0,
    )
    if not plan.split.undercuts.pockets:
        flow.paragraph(say("split.no_pocket_is_closed_off"), above_mm=1.0)
        flow.y -= 2.0
        return
    draw_table(flow, columns_of(flow, view_split.POCKET_HEADS), view_split.pocket_rows(plan))
    flow.paragraph(view_split.flex_sentence(plan), above_mm=1.0)
    flow.y -= 2.0


def _remedies(flow: Flow, plan: Plan) -> None:
    if not plan.split.remedies:
        return
    open_card(
        flow, say("split.what_does_not_leave"), remark=say("split.least_work_first"), need_mm=40.0
    )
    columns = [
        Column("", 17.0, True),
        Column(say("split.do_one_of_these"), 105.0),
        Column(say("split.stays_held_c"), 36.0),
        Column(say("split.work_a"), 28.0),
    ]
    draw_table(flow, columns, view_split.remedy_rows(plan))
    flow.y -= 3.0


def _thin(flow: Flow, plan: Plan) -> None:
    if not plan.split.flex.thin:
        return
    open_card(
        flow, say("split.thin_places"), remark=say("split.they_tear_or_break_first"), need_mm=30.0
    )
    columns = [
        Column(say("split.what"), 42.0),
        Column(say("split.thick_c"), 26.0),
        Column(say("split.spread_c"), 26.0),
        Column(say("split.where_c"), 92.0),
    ]
    draw_table(flow, columns, view_split.thin_rows(plan))
    if view_split.thin_rest(plan):
        flow.paragraph(view_split.thin_rest(plan), above_mm=1.0)
    flow.y -= 3.0


# -- parting ------------------------------------------------------------------


def _parting(flow: Flow, plan: Plan) -> None:
    open_card(
        flow, say("split.parting"), remark=say("split.heights_above_the_base_board"), need_mm=95.0
    )
    flow.paragraph(view.decisions(plan)[1].sentence, above_mm=1.0)
    columns = [
        Column(say("split.split_2"), 38.0, True),
        Column(say("split.holds_c"), 23.0),
        Column(say("split.heights_c"), 36.0),
        Column(say("split.length_c"), 25.0),
        Column(say("split.free"), 14.0),
        Column(say("split.at_the_bench"), 50.0),
    ]
    draw_table(flow, columns, view_split.option_rows(plan))
    flow.paragraph(view_split.seam_sentence(plan), above_mm=1.0)
    flow.y -= 2.0


def _knife(flow: Flow, plan: Plan) -> None:
    """Where a block that is poured in one is cut open, and from which sides it could be."""
    open_card(flow, say("cut.title"), remark=say("cut.remark"), need_mm=60.0)
    flow.paragraph(cut_view.cut_decision(plan).sentence, above_mm=1.0)
    for sentence in cut_view.cut_sentences(plan):
        flow.paragraph(sentence)
    open_card(flow, say("cut.sides_title"), need_mm=35.0)
    draw_table(flow, columns_of(flow, cut_view.SIDE_HEADS), cut_view.side_rows(plan))
    flow.y -= 2.0


def _clay(flow: Flow, plan: Plan) -> None:
    """The box from above with strips and holes, and the clay in the holes."""
    plugs = plan.split.line.plugs
    no_clay = view_split.holes_sentence(plan)
    if no_clay:
        flow.paragraph(no_clay, above_mm=1.0)
    if no_clay or plan.mould.block.bedding.kind == "printed-bed":
        return
    if plan.split.line.kind == "level" and not plugs:
        return
    draw_overview(flow, plan)
    if not plugs:
        return
    columns = [
        Column(say("split.hole"), 14.0, True),
        Column(say("split.from_the_corner_c"), 42.0),
        Column(say("split.width_c"), 22.0),
        Column(say("split.free_c"), 34.0),
        Column(say("split.set_to_c"), 38.0),
        Column(say("split.top"), 36.0),
    ]
    draw_table(flow, columns, view_split.plug_rows(plan))
    flow.y -= 3.0
