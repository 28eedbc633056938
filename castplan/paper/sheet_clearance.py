"""One page on an insert in the copy: three views with the walls as a map, and the words."""

import itertools

import numpy as np

from castplan.after.records import Clearance
from castplan.palette import AIR, GREY, INK, LOWER, PART, TRAPPED, UPPER
from castplan.paper import feet, paper, pdf
from castplan.paper.paper import Flow, Sheet
from castplan.paper.sheet_marks import page_head
from castplan.paper.sheet_places import Rings, put_cautions, put_paragraphs, views_of
from castplan.plan_record import Plan
from castplan.texts import say
from castplan.words import clearance as clearance_view
from castplan.words.cautions import after_cautions

_GAP_MM = 12.0
_HIGH_MM = 58.0  # of the tallest view
_DOT_MM = 1.7  # from dot to dot of the map
# Wall up to this, colour, radius of the dot: thin walls are told by size too.
_BANDS = ((1.0, TRAPPED, 0.85), (2.0, LOWER, 0.6), (4.0, UPPER, 0.42), (np.inf, GREY, 0.25))


def write_clearance(plan: Plan, found: Clearance, path) -> None:
    """Write the page as PDF; the same plan and insert give the same bytes.

    Parameters
    ----------
    plan : Plan
    found : Clearance
    path : str or path-like

    Raises
    ------
    ResourceError
        The file cannot be written.
    """
    pages = feet.with_feet(clearance_pages(plan, found), version=plan.version)
    pdf.save_pdf(pages, path, title=plan.part.name, version=plan.version)


def clearance_pages(plan: Plan, found: Clearance) -> list[Sheet]:
    """Pages of `write_clearance`, without their feet."""

    def new_sheet():
        sheet = Sheet(plan.job.paper, title=say("clearance.sheet"))
        return sheet, page_head(sheet, plan.part.name) - 4

    flow = Flow(new_sheet)
    _views(flow, plan, found)
    put_paragraphs(flow, clearance_view.clearance_lines(found, plan))
    put_cautions(flow, after_cautions(plan))
    return flow.sheets


def _views(flow, plan, found):
    """The copy from three sides, then the insert from the same sides, enlarged."""
    views = views_of(plan)
    if not views:
        return
    boxes = [np.concatenate(sketch.outline) for sketch, _, _ in views]
    _row(flow, plan, found, views, boxes, is_map=False)
    seen = plan.split.draw.frame.to_frame(found.outline_mm.reshape(-1, 3))
    boxes = [seen[:, list(axes)] for _, _, axes in views]
    scale = _row(flow, plan, found, views, boxes, is_map=True)
    _key(flow, scale)


def _row(flow, plan, found, views, boxes, *, is_map):
    sizes = np.array([np.ptp(box, axis=0) for box in boxes])
    room = flow.sheet.room_mm - _GAP_MM * (len(views) - 1) - 6
    scale = min(room / sizes[:, 0].sum(), _HIGH_MM / sizes[:, 1].max())
    flow.need(scale * sizes[:, 1].max() + 22)
    sheet, x = flow.sheet, flow.sheet.left + 3
    base = flow.y - scale * sizes[:, 1].max() - 6
    for (sketch, caption, axes), box, size in zip(views, boxes, sizes, strict=True):
        view = _View(sheet, plan, found, box, np.array([x, base]), scale, axes)
        if is_map:
            view.draw_map()
        else:
            view.draw_copy(sketch)
        sheet.text(x + 0.5 * scale * size[0], base - 9.5, caption, ha="center", colour=GREY)
        x += scale * size[0] + _GAP_MM
    flow.y = base - 12
    return scale


class _View:
    """One view: outline of the copy, edges of the insert, walls, rings, keep-outs."""

    def __init__(self, sheet, plan, found, box, corner, scale, axes):
        low = box.min(axis=0)
        high = corner + scale * np.ptp(box, axis=0)
        self.sheet, self.plan, self.found = sheet, plan, found
        self.low, self.corner, self.scale, self.axes = low, corner, scale, list(axes)
        self.rings = Rings(sheet, corner, high)

    def flat(self, points):
        """Points of the part frame on the sheet."""
        seen = self.plan.split.draw.frame.to_frame(np.asarray(points, dtype=float))[..., self.axes]
        return self.corner + (seen - self.low) * self.scale

    def draw_copy(self, sketch):
        """The copy with the insert's edges, keep-outs and rings."""
        rings = [self.corner + (ring - self.low) * self.scale for ring in sketch.outline]
        self.sheet.area(paper.ring_path(rings), fill=PART, edge=INK)
        self._edges()
        for keep in self.found.keeps:
            self._keep(keep)
        for number, piece in enumerate(self.found.breaks, start=1):
            self.rings.put(self.flat(piece.place_mm), str(number), colour=TRAPPED)
        if self.found.wall_at_mm is not None:
            self.rings.put(self.flat(self.found.wall_at_mm), "A", colour=INK)

    def draw_map(self):
        """The insert with the wall behind each spot of it, the thinnest on top."""
        found = self.found
        spots = self.flat(found.points_mm)
        band = np.searchsorted([limit for limit, _, _ in _BANDS], found.walls_mm, side="right")
        cells = np.floor(spots / _DOT_MM).astype(int)
        thinnest = {}
        for k in np.argsort(found.walls_mm, kind="stable"):
            thinnest.setdefault(tuple(cells[k]), k)
        for cell in sorted(thinnest):
            k = thinnest[cell]
            _, colour, radius = _BANDS[min(band[k], len(_BANDS) - 1)]
            x, y = (np.array(cell) + 0.5) * _DOT_MM
            self.sheet.circle(x, y, radius, fill=colour, edge="none")
        self._edges()
        if found.wall_at_mm is not None:
            self.rings.put(self.flat(found.wall_at_mm), "A", colour=INK)

    def _edges(self):
        for edge in self.found.outline_mm:
            self.sheet.line(self.flat(edge), kind="thin")

    def _keep(self, keep):
        low, high = np.array(keep.low_mm), np.array(keep.high_mm)
        ends = np.array([[i, j, k] for i in (0, 1) for j in (0, 1) for k in (0, 1)])
        corners = self.flat(low + ends * (high - low))
        (x0, y0), (x1, y1) = corners.min(axis=0), corners.max(axis=0)
        colour = TRAPPED if keep.is_touched else AIR
        square = [(x0, y0), (x1, y0), (x1, y1), (x0, y1), (x0, y0)]
        self.sheet.line(square, kind="hidden", colour=colour)
        self.sheet.text(x0 + 1, y0 + 1, keep.name, size_pt=paper.FOOT_PT, colour=colour)
        wide_mm = paper.text_width_mm(keep.name, size_pt=paper.FOOT_PT)
        self.rings.avoid((x0 + 1, y0), (x0 + 1 + wide_mm, y0 + 4))


def _key(flow, scale):
    """What the dots say."""
    flow.need(8)
    x, y = flow.sheet.left, flow.y - 4
    limits = [f"{limit:g}" for limit, _, _ in _BANDS[:-1]]
    words = [say("clearance.under", high=limits[0])]
    words += [
        say("clearance.between", low=low, high=high) for low, high in itertools.pairwise(limits)
    ]
    words.append(say("clearance.over", low=limits[-1], scale=f"{scale:.2g} : 1"))
    for (_, colour, radius), text in zip(_BANDS, words, strict=True):
        flow.sheet.circle(x + 1, y + 1.3, radius, fill=colour, edge="none")
        flow.sheet.text(x + 4, y, text, colour=GREY)
        x += paper.text_width_mm(text) + 11
    flow.y -= 9
