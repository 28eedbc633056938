"""The second page: everything to buy and to have ready, with a box to tick for each."""

from castplan.bench.records import GEAR_GROUPS
from castplan.palette import INK
from castplan.paper.paper import Flow, Sheet
from castplan.paper.sheet_marks import open_card, page_head
from castplan.paper.sheet_table import columns_of, draw_table
from castplan.plan_record import Plan
from castplan.texts import say
from castplan.words import booklet as book_view

_TICK_MM = 7.0
_PAD_MM = 0.7
_GROUPS = dict(zip(GEAR_GROUPS, ("book.materials", "book.tools", "book.protect"), strict=True))


def ready_pages(plan: Plan) -> list[Sheet]:
    """Silicone and resin, other materials, tools, and what protects."""

    def new_sheet():
        sheet = Sheet(plan.job.paper, title=say("book.ready"))
        return sheet, page_head(sheet, plan.part.name) - 3

    flow = Flow(new_sheet)
    open_card(flow, say("book.buy"), need_mm=30)
    _ticked(flow, book_view.BUY_HEADS, book_view.buy_rows(plan))
    flow.paragraph(say("book.losses"), above_mm=1.0)
    for group, title in _GROUPS.items():
        lines = [line for line in plan.bench.gear if line.group == group]
        if lines:
            flow.y -= 1.0
            open_card(flow, say(title), need_mm=22)
            _ticked(flow, book_view.GEAR_HEADS, book_view.gear_rows(lines))
    return flow.sheets


def _ticked(flow: Flow, heads, rows) -> None:
    """A table with a box to tick before each row."""
    columns = columns_of(flow, (("", _TICK_MM), *heads))
    rows = [("", *row) for row in rows]
    draw_table(flow, columns, rows, pad_mm=_PAD_MM, before_row=_tick)


def _tick(sheet: Sheet, x: float, y: float) -> None:
    sheet.box(x + 0.6, y - 4.6, x + 4.4, y - 0.8, edge=INK, kind="visible")
