"""What is wrong with a page: texts over each other, beside the page, or too small.

The boxes come from matplotlib's Agg renderer, which draws the same figure
independently of the metrics that the layout used.
"""

from itertools import combinations

import matplotlib
from matplotlib.backends.backend_agg import FigureCanvasAgg

MM_PER_INCH = 25.4
# Boxes may touch by this much [mm]: a box grows by up to one pixel, 0.13 mm at
# 200 dots an inch. Half a letter of 11 pt is 1 mm wide.
TOUCH_MM = 0.15
BLANK_EDGE_MM = 10.0  # home printers leave up to 10 mm blank: common practice, no source


def text_boxes(sheet):
    """(text, x0, y0, x1, y1) of every text on the sheet, in millimetres."""
    sheet.figure.set_dpi(200)
    renderer = FigureCanvasAgg(sheet.figure).get_renderer()
    scale = MM_PER_INCH / sheet.figure.dpi
    # Print is not hinted to a pixel grid.
    with matplotlib.rc_context({"text.hinting": "none"}):
        boxes = [(text, text.get_window_extent(renderer)) for text in sheet.axes.texts]
    return [
        (text.get_text(), *(scale * v for v in (box.x0, box.y0, box.x1, box.y1)))
        for text, box in boxes
    ]


def faults(sheet):
    """Sentences about everything that is wrong with a sheet's texts; empty when fine."""
    boxes = [box for box in text_boxes(sheet) if box[0].strip()]
    found = [
        f"{text!r} leaves the printable page"
        for text, x0, y0, x1, y1 in boxes
        if x0 < BLANK_EDGE_MM - TOUCH_MM
        or y0 < BLANK_EDGE_MM - TOUCH_MM
        or x1 > sheet.width_mm - BLANK_EDGE_MM + TOUCH_MM
        or y1 > sheet.height_mm - BLANK_EDGE_MM + TOUCH_MM
    ]
    for (a, ax0, ay0, ax1, ay1), (b, bx0, by0, bx1, by1) in combinations(boxes, 2):
        wide = min(ax1, bx1) - max(ax0, bx0)
        high = min(ay1, by1) - max(ay0, by0)
        if wide > TOUCH_MM and high > TOUCH_MM:
            found.append(f"{a!r} runs into {b!r}")
    found += [
        f"{text.get_text()!r} is {text.get_fontsize()} pt"
        for text in sheet.axes.texts
        if text.get_fontsize() < 9.0
    ]
    return found
