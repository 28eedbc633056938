"""Cup labels to cut out: one for each part of each cup."""

from castplan.palette import GREY
from castplan.paper import paper
from castplan.paper.paper import WEIGHT_PT, Sheet
from castplan.paper.sheet_marks import page_head
from castplan.plan_record import Plan
from castplan.texts import say
from castplan.words import card as card_view
from castplan.words.card import CupLabel

_COLUMNS = 3
_HEIGHT_MM = 43.0
_WEIGHT_PT = 22.0
_IN_MM = 3.0


def label_pages(plan: Plan) -> list[Sheet]:
    """Labels row by row; none for a plan without cups."""
    labels = card_view.cup_labels(plan)
    pages: list[Sheet] = []
    while labels:
        sheet = Sheet(plan.job.paper, title=say("label.title"))
        y = page_head(sheet, plan.part.name) - 5
        sheet.text(sheet.left, y - 1, say("label.note"), colour=GREY)
        top = y - 4
        rows = int((top - sheet.bottom) / _HEIGHT_MM)
        shown, labels = labels[: rows * _COLUMNS], labels[rows * _COLUMNS :]
        width = sheet.room_mm / _COLUMNS
        for k, label in enumerate(shown):
            row, column = divmod(k, _COLUMNS)
            _cut_lines(
                sheet, sheet.left + column * width, top - row * _HEIGHT_MM, width, row, column
            )
            _draw(sheet, label, sheet.left + column * width, top - row * _HEIGHT_MM, width)
        pages.append(sheet)
    return pages


def _cut_lines(sheet: Sheet, x: float, top: float, width, row: int, column: int) -> None:
    """Each line once: dashes over dashes of a neighbour would close."""
    low, right = top - _HEIGHT_MM, x + width
    lines = [[(x, low), (right, low)], [(right, low), (right, top)]]
    lines += [[(x, top), (right, top)]] if row == 0 else []
    lines += [[(x, low), (x, top)]] if column == 0 else []
    for line in lines:
        sheet.line(line, kind="hidden")


def _draw(sheet: Sheet, label: CupLabel, x: float, top: float, width) -> None:
    left, right, room = x + _IN_MM, x + width - _IN_MM, width - 2 * _IN_MM
    pour = paper.shortened(label.pour, room_mm=room, is_bold=True)
    sheet.text(left, top - 5.8, pour, is_bold=True)
    sheet.text(left, top - 13.2, label.part, size_pt=WEIGHT_PT, is_bold=True)
    sheet.text(right, top - 13.2, label.cup, ha="right")
    sheet.text(left, top - 22.6, label.weight, size_pt=_WEIGHT_PT, is_bold=True)
    sheet.text(left, top - 28.4, label.shows, colour=GREY)
    sheet.text(left, top - 34.0, label.within, size_pt=WEIGHT_PT)
    text = say("label.pour_by")
    sheet.text(left, top - 40.2, text)
    start = left + paper.text_width_mm(text) + 1.5
    sheet.line([(start, top - 40.8), (right, top - 40.8)])
