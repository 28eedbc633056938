"""The second page: everything to buy and to have ready, and which step on which day."""

from castplan.bench.records import GEAR_GROUPS
from castplan.palette import GREY, HAIR, INK
from castplan.paper import paper
from castplan.paper.paper import Flow, Sheet
from castplan.paper.sheet_marks import card_head, open_card, page_head
from castplan.paper.sheet_table import columns_of, draw_table
from castplan.plan_record import Plan
from castplan.texts import say
from castplan.words import booklet as book_view
from castplan.words.day_plan import DAY_HEADS, day_rows, days_note

_TICK_MM = 7.0
_PAD_MM = 0.7
_BETWEEN_MM = 8.0
_APART = 0.25  # of a line, between two things
_HEAD_MM = 9.5
_SHORT_MM = (0.0, 9.0, 33.0, 65.0)  # of the columns of the days in short
_MATERIALS, _TOOLS, _PROTECT = GEAR_GROUPS
_TITLES = dict(zip(GEAR_GROUPS, ("book.materials", "book.tools", "book.protect"), strict=True))


def ready_pages(plan: Plan) -> list[Sheet]:
    """Silicone and resin, other materials, tools, what protects, and the days.

    Materials say what they are for; where that takes a second page they do not.
    """
    sheets = _laid_out(plan, is_brief=False)
    return sheets if len(sheets) == 1 else _laid_out(plan, is_brief=True)


def _laid_out(plan: Plan, *, is_brief: bool) -> list[Sheet]:
    def new_sheet():
        sheet = Sheet(plan.job.paper, title=say("book.ready"))
        return sheet, page_head(sheet, plan.part.name) - 3

    flow = Flow(new_sheet)
    open_card(flow, say("book.buy"), need_mm=30)
    heads, rows = book_view.buy_table(plan)
    _ticked(flow, heads, rows)
    flow.paragraph(book_view.losses_sentence(plan), above_mm=1.0)
    if is_brief:
        _side_by_side(flow, plan, ((_MATERIALS, _PROTECT), (_TOOLS,)))
        return flow.sheets
    materials = [line for line in plan.bench.gear if line.group == _MATERIALS]
    flow.y -= 1.0
    open_card(flow, say(_TITLES[_MATERIALS]), need_mm=22)
    _ticked(flow, book_view.GEAR_HEADS, book_view.gear_rows(materials))
    _side_by_side(flow, plan, ((_TOOLS,), (_PROTECT,)))
    return flow.sheets


def _side_by_side(flow: Flow, plan: Plan, columns) -> None:
    """Groups of things under one another in two columns, and the days under both.

    Where there is no room for that, the days stand in short under the second column.
    """
    width = 0.5 * (flow.sheet.room_mm - _BETWEEN_MM)
    boxed = [[(_TITLES[name], _boxed(plan, name, width)) for name in names] for names in columns]
    flow.need(max(sum(_HEAD_MM + _high_mm(items) for _, items in column) for column in boxed) + 3)
    flow.y -= 3.0
    sheet, top, ends = flow.sheet, flow.y, []
    for k, column in enumerate(boxed):
        left, y = sheet.left + k * (width + _BETWEEN_MM), top
        for title, items in column:
            y = card_head(sheet, y, say(title), span_mm=(left, left + width)) - 1.0
            for lines in items:
                _tick(sheet, left, y)
                for line in lines:
                    y -= paper.leading_mm()
                    sheet.text(left + _TICK_MM, y + 1.1, line)
                y -= _APART * paper.leading_mm()
        ends.append(y)
    flow.y = min(ends)
    days = _Days(plan, sheet.room_mm)
    if flow.y - days.high_mm < sheet.floor and ends[1] - days.high_mm >= sheet.floor:
        days.draw_short(sheet, ends[1], span_mm=(sheet.right - width, sheet.right))
    else:
        days.draw(flow)


class _Days:
    """Which steps on which day.

    Parameters
    ----------
    plan : Plan
    room_mm : float
        Width of the sheet.
    """

    def __init__(self, plan: Plan, room_mm: float) -> None:
        self._rows, note = day_rows(plan), days_note(plan)
        self._note = paper.wrap(note, room_mm=room_mm) if note else []
        row_mm = paper.leading_mm() + 2 * _PAD_MM
        self.high_mm = 19.0 + len(self._rows) * row_mm + len(self._note) * paper.leading_mm()

    def draw(self, flow: Flow) -> None:
        """As wide as the sheet."""
        flow.y -= 3.0
        open_card(flow, say("days.title"), need_mm=self.high_mm - 3.0)
        draw_table(flow, columns_of(flow, DAY_HEADS), self._rows, pad_mm=_PAD_MM)
        flow.lines(flow.sheet.left, self._note)

    def draw_short(self, sheet: Sheet, y: float, *, span_mm: tuple[float, float]) -> None:
        """In one column: without what waits, which stands in the steps."""
        y = card_head(sheet, y - 2.0, say("days.title"), span_mm=span_mm)
        heads = [say(key) for key, *_ in DAY_HEADS[: len(_SHORT_MM)]]
        for cells in (heads, *self._rows):
            y -= paper.leading_mm() + _PAD_MM
            for at_mm, cell in zip(_SHORT_MM, cells, strict=False):
                style = {"colour": GREY} if cells is heads else {"is_bold": at_mm == 0}
                sheet.text(span_mm[0] + at_mm, y + 1.1, cell, **style)
            sheet.line([(span_mm[0], y - _PAD_MM), (span_mm[1], y - _PAD_MM)], colour=HAIR)


def _high_mm(items) -> float:
    return (sum(map(len, items)) + _APART * len(items)) * paper.leading_mm()


def _boxed(plan: Plan, group: str, width: float) -> list[list[str]]:
    """The lines of each thing: what, and how much of it."""
    lines = [line for line in plan.bench.gear if line.group == group]
    room = width - _TICK_MM
    return [paper.wrap(book_view.gear_text(line), room_mm=room) for line in lines]


def _ticked(flow: Flow, heads, rows) -> None:
    """A table with a box to tick before each row."""
    columns = columns_of(flow, (("", _TICK_MM), *heads))
    rows = [("", *row) for row in rows]
    draw_table(flow, columns, rows, pad_mm=_PAD_MM, before_row=_tick)


def _tick(sheet: Sheet, x: float, y: float) -> None:
    sheet.box(x + 0.6, y - 4.6, x + 4.4, y - 0.8, edge=INK, kind="visible")
