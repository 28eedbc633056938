"""The steps, each with its picture, its time, its caution, and a box to tick or a line to sign."""

from collections.abc import Mapping, Sequence

import numpy as np

from castplan.bench.records import Step
from castplan.materials.cautions import load_cautions
from castplan.palette import HAIR, INK
from castplan.paper import paper
from castplan.paper.paper import Flow, Sheet
from castplan.paper.sheet_marks import page_head, warning_sign
from castplan.plan_record import Plan
from castplan.texts import say
from castplan.words import plan as view
from castplan.words import schedule as schedule_view

_NUMBER_MM = 15.0  # tick and number
_PICTURE_MM = (44.0, 29.0)  # room for a picture, with what keeps it off the text
_OFF_MM = 3.0  # of it, that
_BETWEEN_MM = 1.0
_TIME_MM = 28.0
_GAP_MM = 1.8
_HOLD_MM = 8.0  # height of the signing line under a hold point
_SIGN_MM = 6.0
_NUMBER_PT = 14.0


def steps_pages(plan: Plan, pictures: Mapping[int, Sequence[np.ndarray]]) -> list[Sheet]:
    """The steps sheet by sheet.

    Parameters
    ----------
    plan : Plan
    pictures : mapping of step number to a sequence of (n_y, n_x, 3) uint8 arrays
        A step without any takes the width of the page.
    """

    def new_sheet():
        sheet = Sheet(plan.job.paper, title=say("book.steps"))
        return sheet, page_head(sheet, plan.part.name) - 3

    flow, told = Flow(new_sheet), {}
    for step in plan.bench.schedule.steps:
        _draw(flow, step, pictures.get(step.number, ()), *_cautions(step, told))
    return flow.sheets


def _cautions(step: Step, told: dict[str, int]) -> tuple[list[str], list[int]]:
    """Each caution in short where it comes up first; of the others the steps where they stand."""
    known = load_cautions()
    new = [key for key in step.cautions if key not in told]
    again = sorted({told[key] for key in step.cautions if key in told})
    told |= dict.fromkeys(new, step.number)
    return [view.caution_short(known[key]) for key in new], again


def _draw(flow: Flow, step: Step, pictures, cautions: list[str], again: list[int]) -> None:
    """Picture, text and times side by side; what can hurt below them, as wide as the page."""
    indent = _NUMBER_MM + (_PICTURE_MM[0] if pictures else 0.0)
    text = paper.wrap(step.text, room_mm=flow.sheet.room_mm - indent - _TIME_MM - 2.0)
    wide_mm = flow.sheet.room_mm - _NUMBER_MM - _SIGN_MM
    warned = [paper.wrap(caution, room_mm=wide_mm) for caution in cautions]
    times, tall = schedule_view.step_times(step), [_tall_mm(pixels) for pixels in pictures]
    told_mm = max(
        len(text) * paper.leading_mm(),
        len(times) * paper.leading_mm(paper.WEIGHT_PT) + 0.6 + bool(again) * paper.leading_mm(),
        sum(tall) + _BETWEEN_MM * len(tall),
        7.0,
    )
    height = told_mm + sum(len(lines) * paper.leading_mm() + 0.6 for lines in warned)
    height += _HOLD_MM * step.is_hold
    flow.need(height + _GAP_MM)
    sheet, top, left = flow.sheet, flow.y, flow.sheet.left
    if step.is_hold:  # a hold point stands in a frame of its own and is signed, not ticked
        sheet.box(left, top - height - 0.6, sheet.right, top + 0.6, edge=INK, kind="visible")
        sheet.box(left, top - height - 0.6, left + 2.2, top + 0.6, fill=INK)
    else:
        sheet.box(left + 0.5, top - 5.5, left + 5.0, top - 1.0, edge=INK, kind="visible")
    style = {"size_pt": _NUMBER_PT, "is_bold": True}
    sheet.text(left + 13.0, top - 5.3, str(step.number), ha="right", **style)
    for k, time in enumerate(times):
        y = top - 5.3 - k * paper.leading_mm(paper.WEIGHT_PT)
        sheet.text(sheet.right - 1.5, y, time, size_pt=paper.WEIGHT_PT, ha="right")
    if again:
        y = top - 4.4 - len(times) * paper.leading_mm(paper.WEIGHT_PT)
        note = say("book.caution_again", n=len(again), steps=", ".join(map(str, again)))
        sheet.text(sheet.right - 1.5, y, note, ha="right")
        left_mm = paper.text_width_mm(note) + 1.5 + _SIGN_MM
        warning_sign(sheet, sheet.right - left_mm + 2.3, y + 1.2)
    y = top
    for pixels, tall_mm in zip(pictures, tall, strict=True):
        y -= tall_mm
        sheet.picture(left + _NUMBER_MM, y, pixels, room_mm=(_PICTURE_MM[0] - _OFF_MM, tall_mm))
        y -= _BETWEEN_MM
    flow.lines(left + indent, text)
    flow.y = top - told_mm
    for lines in warned:
        flow.y -= 0.6
        warning_sign(sheet, left + _NUMBER_MM + 2.3, flow.y - 2.7)
        flow.lines(left + _NUMBER_MM + _SIGN_MM, lines)
    flow.y = top - height
    if step.is_hold:
        # The patch cures while other work goes on.
        text = say("book.hold_patch" if step.kind == "patch" else "book.hold")
        _signing_line(sheet, left + _NUMBER_MM, flow.y + 2.0, text)
    flow.y -= _GAP_MM / 2
    sheet.line([(left, flow.y), (sheet.right, flow.y)], colour=HAIR)
    flow.y -= _GAP_MM / 2


def _tall_mm(pixels) -> float:
    """Height of a picture in its column."""
    n_y, n_x = pixels.shape[:2]
    return min(_PICTURE_MM[1], (_PICTURE_MM[0] - _OFF_MM) * n_y / n_x)


def _signing_line(sheet: Sheet, x: float, y: float, text: str) -> None:
    sheet.text(x, y, text, is_bold=True)
    x += paper.text_width_mm(text, is_bold=True) + 4
    for label, length in ((say("steps.initials"), 18.0), (say("steps.date"), 18.0)):
        sheet.text(x, y, label)
        x += paper.text_width_mm(label) + 1.5
        sheet.line([(x, y - 0.8), (x + length, y - 0.8)], colour=INK)
        x += length + 3
