"""Places on a copy: the part from three sides with numbered rings, and text below."""

import numpy as np

from castplan.materials.cautions import Caution
from castplan.palette import GREY, INK, PART, TRAPPED
from castplan.paper import paper
from castplan.paper.paper import Flow, Sheet
from castplan.paper.sheet_marks import (
    baseline_mm,
    card_head,
    caution_height_mm,
    caution_lines,
    draw_caution,
)
from castplan.part.records import Sketch
from castplan.plan_record import Plan
from castplan.texts import say

# Sketches of the plan with the axes of the draw frame that they show.
_VIEWS = {"draw": (0, 1), "front": (0, 2), "side": (1, 2)}
_GAP_MM = 10.0
_HIGH_MM = 62.0  # of the tallest view
_MARK_MM = 2.6
RING_ROOM_MM = 3.0  # beyond a view that the middle of a ring may take


def views_of(plan: Plan) -> list[tuple[Sketch, str, tuple[int, int]]]:
    """The plan's sketches from three sides, each with its caption and the axes that it shows."""
    by_name = {sketch.name: sketch for sketch in plan.sketches}
    return [
        (by_name[name], say(f"places.view_{name}"), axes)
        for name, axes in _VIEWS.items()
        if name in by_name
    ]


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
    flow.need(high + 22)
    sheet, base, x = flow.sheet, flow.y - high - 6, flow.sheet.left + 3
    for (sketch, caption, axes), box, size in zip(views, boxes, sizes, strict=True):
        low, corner = box.min(axis=0), np.array([x, base])

        def place(points, low=low, corner=corner):
            return corner + (np.asarray(points) - low) * scale

        sheet.area(paper.ring_path([place(ring) for ring in sketch.outline]), fill=PART, edge=INK)
        for line in sketch.lines:
            sheet.line(place(line), kind="thin")
        rings = Rings(sheet, corner, corner + scale * size)
        for number, point in places:
            rings.put(place(point[list(axes)]), str(number), colour=TRAPPED)
        sheet.text(x + 0.5 * scale * size[0], base - 9.5, caption, ha="center", colour=GREY)
        x += scale * size[0] + _GAP_MM
    flow.y = base - 12


class Rings:
    """Rings with a letter or number in one view, none over another.

    A ring that would cover an earlier one stands beside its spot, on a leader.

    Parameters
    ----------
    sheet : Sheet
    low, high : (2,) array_like
        Corners of the view; a moved ring keeps within a little of it.
    """

    def __init__(self, sheet: Sheet, low, high) -> None:
        self._sheet, self._taken, self._texts = sheet, [], []
        self._low, self._high = np.asarray(low) - RING_ROOM_MM, np.asarray(high) + RING_ROOM_MM

    def avoid(self, low, high) -> None:
        """Keep off a text in the box from `low` to `high`, both (2,)."""
        self._texts.append((np.asarray(low), np.asarray(high)))

    def put(self, spot, text: str, *, colour: str) -> None:
        """A ring at (x, y) of the sheet, or as near to it as there is room."""
        spot = np.asarray(spot, dtype=float)
        tried = [spot]
        for away in (2.3, 4.6, 6.9, 9.2):
            angles = np.radians(np.arange(45, 405, 45))
            step = away * _MARK_MM * np.column_stack([np.cos(angles), np.sin(angles)])
            tried += list(spot + step)
        middle = next((place for place in tried if self._is_free(place)), tried[-1])
        self._taken.append(middle)
        if middle is not spot:
            self._sheet.line([spot, middle], colour=colour)
        self._sheet.circle(*middle, _MARK_MM, fill="white", edge=colour, kind="visible")
        self._sheet.text(middle[0], baseline_mm(middle[1]), text, is_bold=True, ha="center")

    def _is_free(self, place):
        is_on = (self._low <= place).all() and (place <= self._high).all()
        return (
            is_on
            and all(np.hypot(*(place - old)) > 2 * _MARK_MM for old in self._taken)
            and not any(
                (low - _MARK_MM < place).all() and (place < high + _MARK_MM).all()
                for low, high in self._texts
            )
        )


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
    flow.y = card_head(flow.sheet, flow.y - 2, say("places.take_care"))
    for lines in texts:
        flow.need(caution_height_mm(lines))
        draw_caution(flow, flow.sheet.left, lines)
