"""The page before the sheets at 1:1: print at 100 %, check, join; and what is on which page."""

import numpy as np

from castplan.palette import INK
from castplan.paper import paper
from castplan.paper.paper import Flow, Sheet
from castplan.paper.sheet_marks import badge, card_head, page_head
from castplan.paper.sheet_tiles import RULER_MM, draw_joint, draw_ruler
from castplan.plan_record import Plan
from castplan.texts import say

_UPRIGHT_MM = 24.0  # width that the upright ruler takes at the right


def print_page(plan: Plan, titles: list[str], *, first: int) -> Sheet:
    """The page.

    Parameters
    ----------
    plan : Plan
    titles : list of str
        Of the sheets that follow it.
    first : int
        Page number of the first of them.
    """
    sheet = Sheet(plan.job.paper, title=say("print.title"))
    y = page_head(sheet, plan.part.name) - 4
    draw_ruler(sheet)
    sheet.floor = sheet.bottom + RULER_MM
    _upright_ruler(sheet, top=y - 4)
    flow = Flow(lambda: (sheet, y))
    badge(sheet, sheet.left, flow.y - 7, say("print.badge"))
    flow.y -= 14
    room = sheet.room_mm - _UPRIGHT_MM
    for number in range(1, 5):
        text = say(f"print.step_{number}", paper=plan.job.paper)
        lines = paper.wrap(text, room_mm=room - 8)
        sheet.text(sheet.left, flow.y - paper.leading_mm() + 1.1, f"{number}", is_bold=True)
        flow.lines(sheet.left + 8, lines)
        flow.y -= 2
    x = sheet.left + 14
    draw_joint(sheet, x, flow.y - 5, clip=None)
    flow.y -= 2
    flow.lines(x + 8, paper.wrap(say("print.joint"), room_mm=room - 24))
    flow.y -= 6
    _contents(flow, titles, first=first)
    return sheet


def _contents(flow: Flow, titles: list[str], *, first: int) -> None:
    sheet = flow.sheet
    flow.y = card_head(sheet, flow.y, say("print.contents"))
    runs: list[list] = []
    for page, title in enumerate(titles, start=first):
        if runs and runs[-1][0] == title:
            runs[-1][2] = page
        else:
            runs.append([title, page, page])
    for title, low, high in runs:
        if flow.y - paper.leading_mm() < sheet.floor:
            return
        pages = str(low) if low == high else say("print.pages", low=low, high=high)
        sheet.text(sheet.left + 22, flow.y - paper.leading_mm() + 1.1, pages, ha="right")
        flow.lines(sheet.left + 26, [title])


def _upright_ruler(sheet: Sheet, *, top: float) -> None:
    """100 mm from top to bottom: a printer may stretch one way only."""
    x, y = sheet.right - 10.0, top - 100.0
    sheet.line([(x, y), (x, y + 100.0)], kind="visible")
    for k in range(21):
        tall = 3.2 if k % 2 == 0 else 1.8
        sheet.line([(x, y + 5.0 * k), (x - tall, y + 5.0 * k)])
    for k in (0, 50, 100):
        at = np.clip(y + k, y + 1.5, y + 98.5)
        sheet.text(x + 2.0, at, str(k), va="center", colour=INK)
    sheet.text(x - 5.0, y - 5.5, "mm", ha="left")
