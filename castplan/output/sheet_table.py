"""Tables that wrap their cells and repeat their head on the next sheet."""

from dataclasses import dataclass

from castplan.output import paper
from castplan.output.paper import GREY, HAIR, MM_PER_PT, TEXT_PT, Flow

_PAD_MM = 1.4


@dataclass(frozen=True)
class Column:
    """One column: its head, its width in millimetres, whether it is bold."""

    title: str
    width_mm: float
    is_bold: bool = False


def _head(flow: Flow, columns) -> None:
    x = flow.sheet.left
    baseline = flow.y - 4.6
    for column in columns:
        flow.sheet.text(x, baseline, column.title, colour=GREY)
        x += column.width_mm
    flow.y -= 6.4
    flow.sheet.line([(flow.sheet.left, flow.y), (x, flow.y)])


def draw_table(flow: Flow, columns, rows) -> None:
    """Put a table into the flow, over as many sheets as it takes.

    Parameters
    ----------
    flow : Flow
    columns : sequence of Column
    rows : iterable of tuple of str
        One text per column; it is wrapped to the column.
    """
    is_first = True
    for row in rows:
        cells = [
            paper.wrap(text, room_mm=column.width_mm - 2.5, is_bold=column.is_bold)
            for text, column in zip(row, columns, strict=True)
        ]
        leading = paper.leading_mm()
        height = max(len(lines) for lines in cells) * leading + 2 * _PAD_MM
        is_new = flow.need(height + (6.4 if is_first else 0.0))
        if is_first or is_new:
            _head(flow, columns)
        is_first = False
        x = flow.sheet.left
        for lines, column in zip(cells, columns, strict=True):
            baseline = flow.y - _PAD_MM - leading + 0.28 * TEXT_PT * MM_PER_PT
            for k, text in enumerate(lines):
                flow.sheet.text(x, baseline - k * leading, text, is_bold=column.is_bold)
            x += column.width_mm
        flow.y -= height
        flow.sheet.line([(flow.sheet.left, flow.y), (x, flow.y)], colour=HAIR)
