"""Cup labels to cut out: one for each part of each cup."""

from castplan.palette import GREY
from castplan.paper import paper
from castplan.paper.paper import WEIGHT_PT, Flow, Sheet
from castplan.plan_record import Plan
from castplan.texts import say
from castplan.words import card as card_view
from castplan.words.card import CupLabel

_COLUMNS = 3
_HEIGHT_MM = 38.0
_WEIGHT_PT = 20.0
_IN_MM = 3.0


def put_labels(flow: Flow, plan: Plan) -> None:
    """Labels row by row, with lines to cut along; none for a plan without cups."""
    labels = card_view.cup_labels(plan)
    width = flow.sheet.room_mm / _COLUMNS
    is_first_row = True
    for start in range(0, len(labels), _COLUMNS):
        is_first_row = flow.need(_HEIGHT_MM) or is_first_row
        for column, label in enumerate(labels[start : start + _COLUMNS]):
            x = flow.sheet.left + column * width
            _cut_lines(flow.sheet, x, flow.y, width, is_first_row=is_first_row, column=column)
            _draw(flow.sheet, label, x, flow.y, width)
        flow.y -= _HEIGHT_MM
        is_first_row = False


def _cut_lines(sheet: Sheet, x: float, top: float, width, *, is_first_row, column: int) -> None:
    """Each line once: dashes over dashes of a neighbour would close."""
    low, right = top - _HEIGHT_MM, x + width
    lines = [[(x, low), (right, low)], [(right, low), (right, top)]]
    lines += [[(x, top), (right, top)]] if is_first_row else []
    lines += [[(x, low), (x, top)]] if column == 0 else []
    for line in lines:
        sheet.line(line, kind="hidden")


def _draw(sheet: Sheet, label: CupLabel, x: float, top: float, width) -> None:
    left, right, room = x + _IN_MM, x + width - _IN_MM, width - 2 * _IN_MM
    pour = paper.shortened(label.pour, room_mm=room, is_bold=True)
    sheet.text(left, top - 5.2, pour, is_bold=True)
    sheet.text(left, top - 11.8, label.part, size_pt=WEIGHT_PT, is_bold=True)
    sheet.text(right, top - 11.8, label.cup, ha="right")
    sheet.text(left, top - 20.2, label.weight, size_pt=_WEIGHT_PT, is_bold=True)
    sheet.text(left, top - 25.4, label.shows, colour=GREY)
    sheet.text(left, top - 30.6, label.within, size_pt=WEIGHT_PT)
    text = say("label.pour_by")
    sheet.text(left, top - 35.8, text)
    start = left + paper.text_width_mm(text) + 1.5
    sheet.line([(start, top - 36.4), (right, top - 36.4)])
