"""The times: a chart of hands and waits, and every task with its clock time."""

import numpy as np

from castplan.bench.records import Task
from castplan.palette import GREY, HAIR, INK, LOWER, UPPER
from castplan.paper import paper
from castplan.paper.paper import Flow, Sheet
from castplan.paper.sheet_marks import baseline_mm, card_head, open_card, page_head
from castplan.paper.sheet_table import Column, draw_table
from castplan.plan_record import Plan
from castplan.texts import say
from castplan.words import shop as shop_view

_ROW_MM = 5.6
_NAME_MM = 34.0
_BAR_MM = 3.2
_MIN_PER_DAY = 24 * 60
_MOST_DAYS = 9  # more would write over each other


def time_pages(plan: Plan) -> list[Sheet]:
    """The chart, then the table; nothing for a plan without steps."""
    if not plan.bench.timeline.tasks:
        return []

    def new_sheet():
        sheet = Sheet(plan.job.paper, title=say("times.times"))
        return sheet, page_head(sheet, plan.part.name) - 4

    flow = Flow(new_sheet)
    sentence = paper.wrap(shop_view.timeline_sentence(plan), room_mm=flow.sheet.room_mm)
    flow.lines(flow.sheet.left, sentence)
    flow.y -= 3
    _chart(flow, plan)
    _table(flow, plan)
    return flow.sheets


def _chart(flow: Flow, plan: Plan) -> None:
    tasks = plan.bench.timeline.tasks
    copies = sorted({task.copy for task in tasks} - {0})
    mould = [(shop_view.task_name(task), [task]) for task in tasks if not task.copy]
    rows = mould + [
        (say("times.copy", number=k), [task for task in tasks if task.copy == k]) for k in copies
    ]
    rows.sort(key=lambda row: row[1][0].start_min)
    is_first = True
    while rows:
        flow.need(40)
        title = say("times.when_hands_are_busy_and")
        flow.y = card_head(
            flow.sheet, flow.y, title if is_first else say("times.continued", title=title)
        )
        is_first = False
        n_rows = max(1, int((flow.y - flow.sheet.floor - 18) / _ROW_MM))
        _draw_rows(flow, plan, rows[:n_rows])
        rows = rows[n_rows:]
        if rows:
            flow.next_sheet()


def _draw_rows(flow: Flow, plan: Plan, rows) -> None:
    sheet, timeline = flow.sheet, plan.bench.timeline
    x0, width = sheet.left + _NAME_MM, sheet.room_mm - _NAME_MM
    scale = width / max(timeline.finish_min, 1.0)
    low = flow.y - 6 - len(rows) * _ROW_MM
    first = (24 - timeline.first_start_h) * 60
    midnights = np.arange(first, timeline.finish_min, _MIN_PER_DAY)
    every = int(np.ceil(len(midnights) / _MOST_DAYS)) or 1
    for day, at in enumerate(midnights, start=2):
        x = x0 + at * scale
        sheet.line([(x, low), (x, flow.y - 5)], colour=HAIR)
        if day % every == 0 and x + 14 < sheet.right:
            sheet.text(x + 0.8, flow.y - 4.6, say("times.day", day=day), colour=GREY)
    flow.y -= 6
    for name, tasks in rows:
        middle = flow.y - _ROW_MM / 2
        sheet.text(sheet.left, baseline_mm(middle), name)
        for task in tasks:
            _draw_bars(sheet, task, middle, lambda at: x0 + at * scale)
        flow.y -= _ROW_MM
    flow.y -= 1
    key = say("times.orange_bar_hands_blue_line")
    flow.lines(sheet.left, [key], colour=GREY)
    flow.y -= 4


def _draw_bars(sheet: Sheet, task: Task, middle: float, place) -> None:
    start, hands, end = place(task.start_min), place(task.hands_end_min), place(task.end_min)
    if end > hands:
        sheet.box(hands, middle - 0.6, end, middle + 0.6, fill=UPPER, edge=INK)
    is_wide = hands - start > 3 * paper.WIDE_MM
    edge = "visible" if task.is_critical and is_wide else "thin"
    high, low = middle + _BAR_MM / 2, middle - _BAR_MM / 2
    sheet.box(start, low, max(hands, start + 0.4), high, fill=LOWER, edge=INK, kind=edge)


def _table(flow: Flow, plan: Plan) -> None:
    open_card(flow, say("times.by_the_clock"), need_mm=30)
    room = flow.sheet.room_mm
    heads = (
        say("times.step"),
        say("times.hands_start"),
        say("times.hands_free"),
        say("times.done"),
        "",
    )
    shares = (0.19, 0.2, 0.2, 0.2, 0.21)
    columns = [Column(head, share * room) for head, share in zip(heads, shares, strict=True)]
    # Later copies repeat the first; the chart has them all.
    tasks = [task for task in plan.bench.timeline.tasks if task.copy <= 1]
    draw_table(flow, columns, [shop_view.task_row(plan, task) for task in tasks])
    timeline = plan.bench.timeline
    if timeline.n_copies > 1:
        told = [say("times.copies_to_are_in_the", n_copies=timeline.n_told_copies)]
        if n_more := timeline.n_copies - timeline.n_told_copies:
            told.append(say("times.copies_go_on", n=n_more))
        flow.need(8)
        flow.y -= 2
        flow.lines(flow.sheet.left, told)
