"""Places on a copy: the part from three sides with numbered rings, and text below."""

import numpy as np

from castplan.materials.cautions import Caution
from castplan.output import paper
from castplan.output.paper import GREY, INK, PART, TRAPPED, Flow
from castplan.output.sheet_marks import (
    baseline_mm,
    card_head,
    caution_height_mm,
    caution_lines,
    draw_caution,
)

# Sketch of the plan, caption, and the axes of the draw frame that it shows.
VIEWS = (("draw", "from above", (0, 1)), ("front", "front", (0, 2)), ("side", "side", (1, 2)))
_GAP_MM = 10.0
_HIGH_MM = 62.0  # of the tallest view
_MARK_MM = 2.6


def draw_views(flow: Flow, views, places) -> None:
    """Sketches side by side at one scale, with numbered rings.

    Parameters
    ----------
    flow : Flow
    views : list of (Sketch, caption, axes of the draw frame)
    places : list of (number, (3,) draw frame)
    """
    sheet = flow.sheet
    boxes = [np.concatenate(sketch.outline) for sketch, _, _ in views]
    sizes = np.array([np.ptp(box, axis=0) for box in boxes])
    room = sheet.room_mm - _GAP_MM * (len(views) - 1) - 6
    scale = min(room / sizes[:, 0].sum(), _HIGH_MM / sizes[:, 1].max())
    high = scale * sizes[:, 1].max()
    flow.need(high + 16)
    sheet, base, x = flow.sheet, flow.y - high - 3, flow.sheet.left + 3
    for (sketch, caption, axes), box, size in zip(views, boxes, sizes, strict=True):
        low, corner = box.min(axis=0), np.array([x, base])

        def place(points, low=low, corner=corner):
            return corner + (np.asarray(points) - low) * scale

        rings = [place(ring) for ring in sketch.outline]
        sheet.area(paper.ring_path(rings), fill=PART, edge=INK)
        for line in sketch.lines:
            sheet.line(place(line), kind="thin")
        for number, point in places:
            spot = place(point[list(axes)])
            sheet.circle(*spot, _MARK_MM, fill="white", edge=TRAPPED, kind="visible")
            sheet.text(spot[0], baseline_mm(spot[1]), str(number), is_bold=True, ha="center")
        sheet.text(x + 0.5 * scale * size[0], base - 6.5, caption, ha="center", colour=GREY)
        x += scale * size[0] + _GAP_MM
    flow.y = base - 9


def put_paragraphs(flow: Flow, texts, *, indent_mm: float = 0.0) -> None:
    """Texts one below the other, wrapped."""
    for text in texts:
        lines = paper.wrap(text, room_mm=flow.sheet.room_mm - indent_mm)
        flow.need(len(lines) * paper.leading_mm())
        flow.lines(flow.sheet.left + indent_mm, lines)


def put_cautions(flow: Flow, cautions: list[Caution]) -> None:
    """A card with the cautions of the work on the page, each with its sign."""
    texts = [caution_lines(caution, room_mm=flow.sheet.room_mm) for caution in cautions]
    flow.need(9 + sum(caution_height_mm(lines) for lines in texts[:1]))
    flow.y = card_head(flow.sheet, flow.y - 2, "Take care")
    for lines in texts:
        flow.need(caution_height_mm(lines))
        draw_caution(flow, flow.sheet.left, lines)
