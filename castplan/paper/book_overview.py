"""The first page: the opened mould, what is decided, what it takes, what can go wrong."""

from dataclasses import dataclass

import numpy as np

from castplan.palette import GREY, HAIR
from castplan.paper import paper
from castplan.paper.paper import WEIGHT_PT, Sheet
from castplan.paper.sheet_answers import draw_answers
from castplan.paper.sheet_job import title_strip
from castplan.paper.sheet_marks import card_head, risk_sign
from castplan.plan_record import Plan
from castplan.texts import say
from castplan.words import booklet as book_view
from castplan.words.kinds import answer_cards

# Heights of the picture: lower where that keeps a warning on the page, or where two answers
# stand side by side as well.
_PICTURE_MM = (92.0, 82.0, 72.0, 62.0, 52.0, 44.0)
_ASKED_PICTURE_MM = 66.0
_SIDE_MM = 62.0  # of the column at the right
_GAP_MM = 6.0
_FEW = 2  # warnings in the details alone, that a lower picture is worth
_CONTENTS_MM = 50.0  # that the list of pages may take


@dataclass(frozen=True)
class Rest:
    """What can go wrong and has no room on the page, and where that is said on it."""

    lines: list[tuple[str, str, str]]
    y: float

    @property
    def n_warnings(self) -> int:
        """How many of it are more than a note."""
        return sum(severity != "note" for severity, _, _ in self.lines)


def overview_page(plan: Plan, picture: np.ndarray) -> tuple[Sheet, Rest]:
    """The page without its contents, which `add_contents` puts there once they are known.

    Parameters
    ----------
    plan : Plan
    picture : (n_y, n_x, 3) uint8 array
        The opened mould.

    Returns
    -------
    sheet : Sheet
    rest : Rest
        What can go wrong and has no room there.
    """
    most_mm = _ASKED_PICTURE_MM if answer_cards(plan) else _PICTURE_MM[0]
    heights = [most_mm, *(high_mm for high_mm in _PICTURE_MM if high_mm < most_mm)]
    laid = {}
    for high_mm in heights:
        laid[high_mm] = _laid_out(plan, picture, high_mm)
        if not laid[high_mm][1].n_warnings:
            return laid[high_mm]
    lowest = laid[heights[-1]]
    return laid[most_mm] if lowest[1].n_warnings > _FEW else lowest


def _laid_out(plan, picture, high_mm):
    """The page with a picture so high, and what has no room."""
    sheet = Sheet(plan.job.paper, title=say("book.overview"))
    y = title_strip(sheet, plan)
    sheet.picture(sheet.left, y - high_mm, picture, room_mm=(sheet.room_mm, high_mm))
    y -= high_mm + 2
    bottom = _decisions(sheet, plan, y, sheet.room_mm - _SIDE_MM - _GAP_MM)
    sheet.floor = _amounts(sheet, plan, y)  # where the contents go on
    bottom = draw_answers(sheet, plan, min(bottom, sheet.floor - _CONTENTS_MM))
    return sheet, _risks(sheet, plan, bottom - 3)


def _put(sheet: Sheet, x, y, text, room_mm, **style) -> float:
    for line in paper.wrap(text, room_mm=room_mm, **{k: style[k] for k in style if k != "colour"}):
        y -= paper.leading_mm(style.get("size_pt", paper.TEXT_PT))
        sheet.text(x, y + 1.1, line, **style)
    return y


def _decisions(sheet, plan, y, room_mm):
    y = card_head(sheet, y, say("book.what_is_decided"), span_mm=(sheet.left, sheet.left + room_mm))
    for number, sentence in enumerate(book_view.decision_lines(plan), start=1):
        sheet.text(sheet.left, y - 4.1, str(number), is_bold=True)
        y = _put(sheet, sheet.left + 6, y, sentence, room_mm - 6) - 1.4
    return y


def _amounts(sheet, plan, y):
    left = sheet.right - _SIDE_MM
    y = card_head(sheet, y, say("book.weights_and_times"), span_mm=(left, sheet.right))
    for label, amount in book_view.amount_rows(plan):
        sheet.text(left, y - 4.6, label)
        sheet.text(sheet.right, y - 4.6, amount, size_pt=WEIGHT_PT, is_bold=True, ha="right")
        y -= 5.9
        sheet.line([(left, y), (sheet.right, y)], colour=HAIR)
    y -= 1.0
    for label, number in book_view.number_rows(plan):
        y -= paper.leading_mm()
        sheet.text(left, y + 1.1, label)
        sheet.text(sheet.right, y + 1.1, number, is_bold=True, ha="right")
    return y - 4


def _risks(sheet, plan, y):
    y = card_head(sheet, y, say("book.can_go_wrong"))
    risks = book_view.risk_lines(plan)
    room = sheet.room_mm - 8
    left_out = []
    for severity, message, do in risks:
        lines = paper.wrap(message, room_mm=room, is_bold=True)
        do_lines = paper.wrap(do, room_mm=room)
        if y - (len(lines) + len(do_lines) + 1) * paper.leading_mm() < sheet.bottom:
            left_out.append((severity, message, do))
            continue
        risk_sign(sheet, y, is_stop=severity == "stop")
        y = _put(sheet, sheet.left + 8, y, message, room, is_bold=True)
        y = _put(sheet, sheet.left + 8, y, do, room) - 1.6
    if not risks:
        y = _put(sheet, sheet.left, y, say("book.nothing"), sheet.room_mm)
    return Rest(left_out, y)


def add_rest(sheet: Sheet, rest: Rest, *, n_told: int, pages: list[int]) -> None:
    """Say on the first page where the rest stands: on other pages, or in the details.

    Parameters
    ----------
    sheet : Sheet
    rest : Rest
    n_told : int
        How many of it stand on other pages.
    pages : list of int
        Their numbers.
    """
    text = book_view.more_sentence(n_told=n_told, n_left=len(rest.lines) - n_told, pages=pages)
    if text and rest.y - paper.leading_mm() > sheet.bottom - 1:
        _put(sheet, sheet.left, rest.y, text, sheet.room_mm, colour=GREY)


def add_contents(sheet: Sheet, pages: list[tuple[int, str]]) -> None:
    """The titles of the pages and their numbers, under the weights of the first page."""
    left = sheet.right - _SIDE_MM
    y = card_head(sheet, sheet.floor, say("book.contents"), span_mm=(left, sheet.right))
    for number, title in pages:
        y -= paper.leading_mm()
        sheet.text(left, y + 1.1, str(number), is_bold=True)
        sheet.text(left + 7, y + 1.1, paper.shortened(title, room_mm=_SIDE_MM - 7))
    sheet.floor = sheet.bottom
