"""The job sheet: what was decided, the sketches, the findings, and what all that rests on."""

import numpy as np

from castplan.palette import GREY, INK
from castplan.paper import paper
from castplan.paper.paper import Flow, Sheet
from castplan.paper.sheet_marks import (
    baseline_mm,
    card_head,
    open_card,
    page_head,
    severity_sign,
)
from castplan.paper.sheet_nest import nest_card
from castplan.paper.sheet_sketch import View, draw_key, draw_split_plot
from castplan.paper.sheet_table import Column, columns_of, draw_table
from castplan.plan_record import Plan
from castplan.texts import say
from castplan.words import air as air_view
from castplan.words import bed as bed_view
from castplan.words import formats
from castplan.words import kinds as kind_view
from castplan.words import plan as view

_TITLE_PT = 20.0
_SKETCH_MM = 44.0  # height that the front and the upper view may take
_PLOT_MM = 34.0
_GAP_MM = 15.0  # between two views, for the labels that stand out of them
_SPLIT_GAP_MM = 27.0  # between side view and plot, for the height's text
_KEY_MM = 88.0
_CAPTION_MM = 12.0


def job_pages(plan: Plan) -> list[Sheet]:
    """The job sheet and, if the findings need it, the sheets that go on with them."""
    sheets: list[Sheet] = []

    def new_sheet():
        sheet = Sheet(plan.job.paper, title=say("job.job_sheet"))
        y = page_head(sheet, plan.part.name) - 4 if sheets else title_strip(sheet, plan)
        sheets.append(sheet)
        return sheet, y

    flow = Flow(new_sheet)
    _decision(flow, plan)
    _sketches(flow, plan)
    nest_card(flow, plan)
    _findings(flow, plan)
    _kinds(flow, plan)
    _draws(flow, plan)
    _assumptions(flow, plan)
    return flow.sheets


def title_strip(sheet: Sheet, plan: Plan) -> float:
    """Name, size and kind of sheet over a wide bar; returns the y below."""
    extent_mm = plan.part.check.extent_mm
    kind = (
        say("job.kind")
        if plan.revision is None
        else say("job.job_sheet_version", number=plan.revision.number)
    )
    kind_mm = paper.text_width_mm(kind, size_pt=12, is_bold=True)
    y = sheet.top - 8
    room = sheet.room_mm - kind_mm - 8
    name = paper.shortened(plan.part.name, room_mm=room, size_pt=_TITLE_PT, is_bold=True)
    sheet.text(sheet.left, y, name, size_pt=_TITLE_PT, is_bold=True)
    sheet.text(sheet.right, y, kind, size_pt=12, is_bold=True, ha="right")
    size = f"{formats.size_text(extent_mm)}   ({formats.size_inches(extent_mm)})"
    sheet.text(sheet.left, y - 7, size)
    sheet.box(sheet.left, y - 10.8, sheet.right, y - 9.8, fill=INK)
    return y - 13.5


def _decision(flow: Flow, plan: Plan) -> None:
    sheet = flow.sheet
    kind = kind_view.kind_sentence(plan)
    if kind:
        flow.lines(
            sheet.left + 9, paper.wrap(kind, room_mm=sheet.room_mm - 9, is_bold=True), is_bold=True
        )
        flow.y -= 1.8
    for number, decision in enumerate(view.decisions(plan), start=1):
        lines = paper.wrap(decision.sentence, room_mm=sheet.room_mm - 9)
        middle = flow.y - paper.leading_mm() / 2
        sheet.circle(sheet.left + 3, middle, 2.7, fill=INK, edge=INK)
        sheet.text(
            sheet.left + 3,
            baseline_mm(middle),
            str(number),
            is_bold=True,
            ha="center",
            colour="white",
        )
        flow.lines(sheet.left + 9, lines)
        flow.y -= 1.8
    is_bold = plan.show.basis == "guessed"
    shown = paper.wrap(air_view.show_sentence(plan), room_mm=sheet.room_mm - 9, is_bold=is_bold)
    flow.lines(sheet.left + 9, shown, is_bold=is_bold)
    flow.y -= 1.8


def _sketches(flow: Flow, plan: Plan) -> None:
    sheet = flow.sheet
    sketches = {sketch.name: sketch for sketch in plan.sketches}
    box_mm = np.array(plan.mould.block.high_mm) - np.array(plan.mould.block.low_mm)
    row_room = sheet.room_mm - _GAP_MM - _SPLIT_GAP_MM - _PLOT_MM - 3
    scale = min(
        row_room / (box_mm[0] + box_mm[1]),
        _SKETCH_MM / box_mm[2],
        _SKETCH_MM / box_mm[1],
        (sheet.room_mm - _KEY_MM - _GAP_MM) / box_mm[0],
    )
    width, depth, height = box_mm * scale
    flow.y = card_head(sheet, flow.y, say("job.sketches"), remark=say("job.not_to_scale")) - 6
    x = sheet.left + 3
    y = flow.y - height
    side_x = x + width + _GAP_MM
    plot_x = side_x + depth + _SPLIT_GAP_MM
    for name, left in (("front", x), ("side", side_x)):
        if name in sketches:
            View(plan, sketches[name], left, y, scale).draw(sheet)
    draw_split_plot(sheet, plan, plot_x, y, width_mm=_PLOT_MM, scale=scale)
    split = y + bed_view.split_height_mm(plan) * scale
    if plan.split.line.kind == "level":
        sheet.line([(side_x + depth + 3, split), (plot_x, split)], kind="parting")
    if plan.split.line.kind != "tilted":
        text = formats.length_text(bed_view.split_height_mm(plan), error_mm=plan.sampling.pitch_mm)
        sheet.text(plot_x - 2, split + 1.6, text, ha="right")
    caption_y = y - _CAPTION_MM + 1.5
    for text, middle in (
        (say("job.front"), x + width / 2),
        (say("job.side"), side_x + depth / 2),
        (say("job.level_trapped"), plot_x + _PLOT_MM / 2),
    ):
        sheet.text(middle, caption_y, text, ha="center", colour=GREY)
    flow.y = y - _CAPTION_MM - 5
    key_y = draw_key(sheet, plan, sheet.right - _KEY_MM, flow.y + 2)
    if "draw" in sketches:
        View(plan, sketches["draw"], x, flow.y - depth, scale).draw(sheet)
    sheet.text(
        x + width / 2,
        flow.y - depth - _CAPTION_MM + 1.5,
        say("job.from_above"),
        ha="center",
        colour=GREY,
    )
    flow.y = min(flow.y - depth - _CAPTION_MM - 1, key_y - 2)


def _kinds(flow: Flow, plan: Plan) -> None:
    if not plan.offers:
        return
    open_card(flow, say("kinds.head"), need_mm=45)
    draw_table(flow, columns_of(flow, kind_view.KIND_HEADS), kind_view.kind_rows(plan))
    flow.paragraph(kind_view.weights_sentence(), above_mm=1.0)


def _draws(flow: Flow, plan: Plan) -> None:
    open_card(flow, say("job.ways_to_pull_it_best"), need_mm=45)
    rows = [
        (str(number), view.direction_words(candidate.direction, plan), candidate.why)
        for number, candidate in enumerate(plan.split.draw.candidates[:3], start=1)
    ]
    room = flow.sheet.room_mm
    columns = [Column("", 7, True), Column(say("job.pull"), 56), Column(say("job.why"), room - 63)]
    draw_table(flow, columns, rows)
    lines = paper.wrap(view.sampling_sentence(plan), room_mm=room)
    flow.need(len(lines) * paper.leading_mm() + 4)
    flow.y -= 1.5
    flow.lines(flow.sheet.left, lines)
    flow.y -= 3


def _findings(flow: Flow, plan: Plan) -> None:
    findings = view.sorted_findings(plan)
    text_x = flow.sheet.left + 10
    room = flow.sheet.room_mm - 10
    if not findings:
        open_card(flow, say("job.findings"), need_mm=16)
        flow.lines(flow.sheet.left, [say("job.nothing_stands_out")])
        flow.y -= 3
        return
    is_first = True
    for finding in findings:
        message = paper.wrap(finding.message, room_mm=room, is_bold=True)
        todo = paper.wrap(finding.do, room_mm=room)
        height = (len(message) + len(todo)) * paper.leading_mm() + 2.5
        is_new = flow.need(height + (8.5 if is_first else 0.0))
        if is_first or is_new:
            title = say("job.findings") if is_first else say("job.findings_continued")
            flow.y = card_head(flow.sheet, flow.y, title, remark=say("job.s_stop_w_warning_n"))
        is_first = False
        severity_sign(flow.sheet, flow.sheet.left + 3.5, flow.y - 4.4, finding.severity)
        flow.lines(text_x, message, is_bold=True)
        flow.lines(text_x, todo)
        flow.y -= 2.5


def _assumptions(flow: Flow, plan: Plan) -> None:
    if not plan.bench.amounts.assumptions:
        return
    is_first = True
    for number in plan.bench.amounts.assumptions:
        lines = paper.wrap(formats.sourced_text(number), room_mm=flow.sheet.room_mm)
        height = len(lines) * paper.leading_mm() + 0.5
        is_new = flow.need(height + (8.5 if is_first else 0.0))
        if is_first or is_new:
            title = say("job.numbers_these_weights_rest_on")
            title = title if is_first else say("job.continued", title=title)
            flow.y = card_head(flow.sheet, flow.y, title)
        is_first = False
        flow.lines(flow.sheet.left, lines)
        flow.y -= 0.5
