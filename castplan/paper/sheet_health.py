"""The state of a mesh on one page: three views with its holes, and the words."""

import numpy as np

from castplan import __version__
from castplan.palette import AIR, GREY, INK, PART, TRAPPED
from castplan.paper import paper, pdf
from castplan.paper.paper import Sheet
from castplan.part.records import Body, Health, Part, Sketch
from castplan.texts import say

# From where, and the axes of the file to the right and up.
VIEWS = {"above": (0, 1), "front": (0, 2), "right": (1, 2)}
_LISTED = 5
_GAP_MM = 8.0
_TITLE_MM = 10.0
_MAX_HEIGHT_MM = 110.0  # of the tallest view
_LABEL_MM = 7.0


def write_health(
    part: Part, health: Health, sketches: tuple[Sketch, ...], lines: list[str], path, *, paper_name
) -> None:
    """Write the page as PDF; the same mesh gives the same bytes.

    Parameters
    ----------
    part : Part
    health : Health
    sketches : tuple of Sketch
        The views named in `VIEWS`, along the file's axes.
    lines : list of str
        What is said below the views.
    path : str or path-like
    paper_name : str
        ``A4`` or ``Letter``.

    Raises
    ------
    ResourceError
        The file cannot be written.
    """
    sheet = Sheet(paper_name, title=say("health.sheet"))
    head = say("health.head", part=part.name)
    sheet.text(sheet.left, sheet.top - 6, head, size_pt=16, is_bold=True)
    y = _views(sheet, health, sketches, sheet.top - _TITLE_MM)
    key = say("health.key")
    for text in (key, *lines):
        y -= 1.5
        for row in paper.wrap(text, room_mm=sheet.room_mm):
            y -= paper.leading_mm()
            sheet.text(sheet.left, y, row, colour=GREY if text == key else INK)
    pdf.save_pdf([sheet], path, title=part.name, version=__version__)


def _views(sheet, health, sketches, top):
    """The views side by side, at one scale, on a common base line; returns their lower end."""
    boxes = [np.concatenate(sketch.outline) for sketch in sketches]
    sizes = [np.ptp(box, axis=0) for box in boxes]
    room = sheet.room_mm - _GAP_MM * (len(sketches) - 1)
    scale = min(room / sum(s[0] for s in sizes), _MAX_HEIGHT_MM / max(s[1] for s in sizes))
    base = top - scale * max(size[1] for size in sizes)
    x = sheet.left
    for sketch, box, size in zip(sketches, boxes, sizes, strict=True):
        low = box.min(axis=0)
        corner = np.array([x, base])
        axes = VIEWS[sketch.name]

        def place(points, low=low, corner=corner):
            return corner + (np.asarray(points) - low) * scale

        outline = paper.ring_path([place(ring) for ring in sketch.outline])
        sheet.area(outline, fill=PART, edge=INK)
        for line in sketch.lines:
            sheet.line(place(line), kind="thin")
        for number, hole in enumerate(health.holes, start=1):
            rim = place(hole.rim_mm[:, axes])
            sheet.line(np.concatenate((rim, rim[:1])), kind="visible", colour=TRAPPED)
            if number <= _LISTED:
                middle = rim.mean(axis=0)
                sheet.text(*middle, str(number), ha="center", va="center")
        for body in health.bodies:
            if body.kind == "speck":
                _speck(sheet, body, place, axes)
        middle, caption = x + 0.5 * size[0] * scale, say(f"health.from_{sketch.name}")
        sheet.text(middle, base - _LABEL_MM + 1, caption, ha="center", colour=GREY)
        x += size[0] * scale + _GAP_MM
    return base - _LABEL_MM


def _speck(sheet: Sheet, body: Body, place, axes) -> None:
    x, y = place(np.array(body.middle_mm)[list(axes)])
    turn = np.linspace(0, 2 * np.pi, 24)
    ring = np.column_stack((x + 2 * np.cos(turn), y + 2 * np.sin(turn)))
    sheet.line(ring, kind="air", colour=AIR)
