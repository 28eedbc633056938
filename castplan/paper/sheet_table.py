"""Tables that wrap their cells and repeat their head on the next sheet."""

from dataclasses import dataclass

from castplan.palette import GREY, HAIR
from castplan.paper import paper
from castplan.paper.paper import MM_PER_PT, TEXT_PT, Flow
from castplan.texts import say

_PAD_MM = 1.4


@dataclass(frozen=True)
class Column:
    """One column: its head, its width in millimetres, whether it is bold, its type."""

    title: str
    width_mm: float
    is_bold: bool = False
    size_pt: float = TEXT_PT


def columns_of(flow: Flow, heads) -> list[Column]:
    """Columns of a table that the page shows too: key of the head, width, whether it is bold.

    A width of None takes what the others leave of the sheet.
    """
    left_mm = flow.sheet.room_mm - sum(width_mm or 0.0 for _, width_mm, *_ in heads)
    return [
        Column(say(key) if key else "", left_mm if width_mm is None else width_mm, *is_bold)
        for key, width_mm, *is_bold in heads
    ]


def _head(flow: Flow, columns) -> None:
    x = flow.sheet.left
    baseline = flow.y - 4.6
    for column in columns:
        flow.sheet.text(x, baseline, column.title, colour=GREY)
        x += column.width_mm
    flow.y -= 6.4
    flow.sheet.line([(flow.sheet.left, flow.y), (x, flow.y)])


def draw_table(
    flow: Flow, columns, rows, *, together: int = 1, pad_mm: float = _PAD_MM, before_row=None
) -> None:
    """Put a table into the flow, over as many sheets as it takes.

    Parameters
    ----------
    flow : Flow
    columns : sequence of Column
    rows : iterable of tuple of str
        One text per column; it is wrapped to the column.
    together : int
        So many rows at a time stay on one sheet.
    pad_mm : float
        Over and under the text of each row.
    before_row : callable, optional
        ``before_row(sheet, x, y)`` draws at the upper left corner of each row.
    """
    has_head = any(column.title for column in columns)
    wrapped = [
        [
            paper.wrap(
                text,
                room_mm=column.width_mm - 2.5,
                size_pt=column.size_pt,
                is_bold=column.is_bold,
            )
            for text, column in zip(row, columns, strict=True)
        ]
        for row in rows
    ]
    heights = [
        max(
            len(lines) * paper.leading_mm(column.size_pt)
            for lines, column in zip(cells, columns, strict=True)
        )
        + 2 * pad_mm
        for cells in wrapped
    ]
    for number, cells in enumerate(wrapped):
        if number % together == 0:
            wanted = sum(heights[number : number + together])
            if (flow.need(wanted + (6.4 if number == 0 else 0.0)) or number == 0) and has_head:
                _head(flow, columns)
        if before_row is not None:
            before_row(flow.sheet, flow.sheet.left, flow.y - pad_mm)
        _row(flow, columns, cells, height_mm=heights[number], pad_mm=pad_mm)


def _row(flow: Flow, columns, cells, *, height_mm: float, pad_mm: float) -> None:
    x = flow.sheet.left
    for lines, column in zip(cells, columns, strict=True):
        size_pt = column.size_pt
        leading = paper.leading_mm(size_pt)
        baseline = flow.y - pad_mm - leading + 0.28 * size_pt * MM_PER_PT
        for k, text in enumerate(lines):
            style = {"size_pt": size_pt, "is_bold": column.is_bold}
            flow.sheet.text(x, baseline - k * leading, text, **style)
        x += column.width_mm
    flow.y -= height_mm
    flow.sheet.line([(flow.sheet.left, flow.y), (x, flow.y)], colour=HAIR)
