"""The steps, each with a box to tick or a line to sign, and the cautions in full."""

from castplan.bench.records import Step
from castplan.materials.cautions import load_cautions
from castplan.palette import GREY, INK
from castplan.paper import paper
from castplan.paper.paper import Flow, Sheet
from castplan.paper.sheet_marks import (
    card_head,
    caution_height_mm,
    caution_lines,
    draw_caution,
    page_head,
    warning_sign,
)
from castplan.plan_record import Plan
from castplan.texts import say
from castplan.words import plan as view

_TEXT_X_MM = 20.0
_TIME_MM = 34.0
_GAP_MM = 3.2
_HOLD_MM = 9.5  # height of the signing line under a hold point


def step_pages(plan: Plan) -> list[Sheet]:
    """The steps sheet by sheet, then what can hurt."""

    def new_sheet():
        sheet = Sheet(plan.job.paper, title=say("steps.steps"))
        return sheet, page_head(sheet, plan.part.name) - 4

    flow = Flow(new_sheet)
    flow.lines(
        flow.sheet.left, paper.wrap(view.schedule_sentence(plan), room_mm=flow.sheet.room_mm)
    )
    flow.y -= 3
    cautions = load_cautions()
    for step in plan.bench.schedule.steps:
        _draw_step(flow, step, cautions)
    keys = sorted({key for step in plan.bench.schedule.steps for key in step.cautions})
    _draw_cautions(flow, [cautions[key] for key in keys])
    return flow.sheets


def _draw_step(flow: Flow, step: Step, cautions) -> None:
    room = flow.sheet.room_mm - _TEXT_X_MM - _TIME_MM
    text = paper.wrap(step.text, room_mm=room)
    times = view.step_times(step)
    warnings = [caution_lines(cautions[key], room_mm=room + _TIME_MM) for key in step.cautions]
    # Texts of one line stand beside two times in larger type.
    told_mm = max(len(text) * paper.leading_mm(), len(times) * paper.leading_mm(paper.WEIGHT_PT))
    height = told_mm + sum(caution_height_mm(lines) for lines in warnings)
    height += _HOLD_MM if step.is_hold else 0.0
    flow.need(height + _GAP_MM)
    sheet, top = flow.sheet, flow.y
    left = sheet.left
    baseline = top - paper.leading_mm() + 0.28 * paper.TEXT_PT * paper.MM_PER_PT
    if step.is_hold:
        # A hold point stands in a frame of its own and is signed, not ticked.
        sheet.box(left, top - height - 0.8, sheet.right, top + 0.8, edge=INK, kind="visible")
        sheet.box(left, top - height - 0.8, left + 2.2, top + 0.8, fill=INK)
    else:
        sheet.box(left + 1, top - 6, left + 6, top - 1, edge=INK, kind="visible")
    sheet.text(left + 15.5, baseline, str(step.number), is_bold=True, ha="right")
    for k, time in enumerate(times):
        y = baseline - 0.6 - k * paper.leading_mm(paper.WEIGHT_PT)
        sheet.text(sheet.right - 2, y, time, size_pt=paper.WEIGHT_PT, ha="right")
    flow.lines(left + _TEXT_X_MM, text)
    flow.y = top - told_mm
    for lines in warnings:
        draw_caution(flow, left + _TEXT_X_MM, lines)
    if step.is_hold:
        flow.y -= _HOLD_MM
        _signing_line(sheet, left + _TEXT_X_MM, flow.y + 2.2)
    flow.y -= _GAP_MM


def _signing_line(sheet: Sheet, x: float, y: float) -> None:
    sheet.text(x, y, say("steps.hold_sign_before_you_go"), is_bold=True)
    x += paper.text_width_mm(say("steps.hold_sign_before_you_go"), is_bold=True) + 5
    for label, length in ((say("steps.initials"), 22.0), (say("steps.date"), 22.0)):
        sheet.text(x, y, label)
        x += paper.text_width_mm(label) + 1.5
        sheet.line([(x, y - 0.8), (x + length, y - 0.8)], colour=INK)
        x += length + 4


def _draw_cautions(flow: Flow, cautions) -> None:
    if not cautions:
        return
    room = flow.sheet.room_mm
    is_first = True
    for caution in cautions:
        text = paper.wrap(caution.text, room_mm=room - 6)
        codes = paper.wrap(view.caution_codes(caution), room_mm=room - 6, size_pt=paper.FOOT_PT)
        height = (len(text) + 1) * paper.leading_mm() + 3
        height += len(codes) * paper.leading_mm(paper.FOOT_PT)
        is_new = flow.need(height + (8.5 if is_first else 0.0))
        if is_first or is_new:
            title = say("steps.what_can_hurt") if is_first else say("steps.what_can_hurt_continued")
            flow.y = card_head(flow.sheet, flow.y, title, remark=view.sheet_first())
        is_first = False
        warning_sign(flow.sheet, flow.sheet.left + 2.3, flow.y - 2.9)
        flow.lines(flow.sheet.left + 6, [caution.title], is_bold=True)
        flow.lines(flow.sheet.left + 6, text)
        flow.lines(flow.sheet.left + 6, codes, size_pt=paper.FOOT_PT, colour=GREY)
        flow.y -= 3
