"""Buy and fit: packs, prices and quote; the copy's size, its heat, and what meets what."""

import itertools

import numpy as np

from castplan import units
from castplan.bench.records import HeatResult
from castplan.palette import GREY, INK
from castplan.paper import paper
from castplan.paper.paper import Flow, Sheet
from castplan.paper.sheet_marks import open_card, page_head
from castplan.paper.sheet_table import Column, columns_of, draw_table
from castplan.plan_record import Plan
from castplan.texts import say
from castplan.words import shop as shop_view

_MAP_MM = 74.0  # room for the thickness map, either way
_SHADES = ("#f2efe9", "#d9d3c7", "#b8b4ac", "#8b8780", "#6b6b6b", "#3c3c3c")
_KEY_MM = 9.2


def buy_pages(plan: Plan) -> list[Sheet]:
    """What to buy, how the copy fits, how hot it gets, what meets what."""

    def new_sheet():
        sheet = Sheet(plan.job.paper, title=say("shop.buy_and_fit"))
        return sheet, page_head(sheet, plan.part.name) - 4

    flow = Flow(new_sheet)
    _buy(flow, plan)
    _fit(flow, plan)
    _heat(flow, plan)
    _compat(flow, plan)
    _paragraphs(flow, shop_view.rests_on(plan))
    return flow.sheets


def _card(flow: Flow, title: str, *, room_mm: float = 30.0) -> None:
    open_card(flow, title, need_mm=room_mm)


def _paragraphs(flow: Flow, sentences) -> None:
    for sentence in sentences:
        flow.paragraph(sentence)


def _columns(flow: Flow, heads, shares) -> list[Column]:
    room = flow.sheet.room_mm
    return [
        Column(say(f"column.{head}") if head else "", share * room)
        for head, share in zip(heads, shares, strict=True)
    ]


def _buy(flow: Flow, plan: Plan) -> None:
    _card(flow, say("shop.buy"))
    columns = columns_of(flow, shop_view.BUY_HEADS)
    rows = [shop_view.buy_row(line, plan.bench.buy.currency) for line in plan.bench.buy.lines]
    draw_table(flow, columns, rows)
    flow.y -= 3
    _paragraphs(flow, [*shop_view.buy_sentences(plan), shop_view.water_sentence(plan)])
    flow.y -= 2


def _fit(flow: Flow, plan: Plan) -> None:
    _card(flow, say("shop.size_of_the_copy"))
    columns = _columns(
        flow, ("length", "original", "copy", "allowed", ""), (0.22, 0.16, 0.31, 0.15, 0.16)
    )
    draw_table(flow, columns, [shop_view.fit_row(line) for line in plan.bench.fit.lines])
    flow.y -= 3
    _paragraphs(flow, shop_view.fit_sentences(plan))
    flow.y -= 2


def _heat(flow: Flow, plan: Plan) -> None:
    heat = plan.bench.heat
    rows, columns = heat.thickness_mm.shape
    cell = _MAP_MM / max(rows, columns)
    height = rows * cell + 12
    _card(flow, say("shop.thickness_and_heat"), room_mm=height + 12)
    room = flow.sheet.room_mm - columns * cell - 8
    # The text stands beside the map, and below it where the map is wide.
    top, left = flow.y, flow.sheet.right - columns * cell
    _draw_map(flow.sheet, heat, left, top - rows * cell - 1, cell)
    for sentence in shop_view.heat_sentences(plan):
        flow.lines(flow.sheet.left, paper.wrap(sentence, room_mm=room))
        flow.y -= 1.5
    flow.y = min(flow.y, top - height) - 3


def _draw_map(sheet: Sheet, heat: HeatResult, x0: float, y0: float, cell: float) -> None:
    """Squares shaded by thickness, with a key below."""
    grid = heat.thickness_mm
    top_mm = float(grid.max())
    shade = np.ceil(grid / max(top_mm, 1e-9) * len(_SHADES)).astype(int) - 1
    for row, cells in enumerate(shade):
        # Runs of one shade are one rectangle: a sheet of squares would be a heavy file.
        edges = np.flatnonzero(np.diff(cells, prepend=cells[0] - 1, append=cells[-1] - 1))
        for start, end in itertools.pairwise(edges):
            if cells[start] >= 0:
                y = y0 + row * cell
                fill = _SHADES[cells[start]]
                sheet.box(x0 + start * cell, y, x0 + end * cell, y + cell, fill=fill)
    step_mm = top_mm / len(_SHADES)
    sheet.text(x0, y0 - 5, say("shop.seen_along_the_draw_mm"), colour=GREY)
    for k, fill in enumerate(_SHADES):
        x = x0 + k * (_KEY_MM + 3.2)
        sheet.box(x, y0 - 10, x + 3, y0 - 7, fill=fill, edge=INK)
        sheet.text(x + 3.6, y0 - 10, units.digits((k + 1) * step_mm, 2))


def _compat(flow: Flow, plan: Plan) -> None:
    if not plan.bench.compat.lines:
        return
    _card(flow, say("shop.what_meets_what"))
    columns = _columns(flow, ("what", "", "why"), (0.4, 0.15, 0.45))
    draw_table(flow, columns, [shop_view.compat_row(line) for line in plan.bench.compat.lines])
    flow.y -= 3
    _paragraphs(flow, filter(None, [shop_view.unsaid_sentence(plan)]))
