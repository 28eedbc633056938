"""The diagnosis for the bench: where each defect lies, what to look at first, what to try."""

import numpy as np

from castplan.model import CastLog, Diagnosis, Plan
from castplan.output import diagnosis_view, paper, pdf, sheets
from castplan.output.paper import GREY, INK, PART, TRAPPED, Flow, Sheet
from castplan.output.sheet_marks import baseline_mm, card_head, page_head

_VIEWS = (("draw", "from above", (0, 1)), ("front", "front", (0, 2)), ("side", "side", (1, 2)))
_GAP_MM = 10.0
_HIGH_MM = 62.0  # of the tallest view
_MARK_MM = 2.6


def write_diagnosis(plan: Plan, log: CastLog, diagnosis: Diagnosis, lines, path) -> None:
    """Write the sheet as PDF; the same plan and log give the same bytes.

    Parameters
    ----------
    plan : Plan
    log : CastLog
    diagnosis : Diagnosis
    lines : list of str
        On the moulds' life and their drift, for the end.
    path : str or path-like

    Raises
    ------
    ResourceError
        The file cannot be written.
    """
    pages = sheets.with_feet(diagnosis_pages(plan, log, diagnosis, lines), plan)
    pdf.save_pdf(pages, path, title=plan.part.name, version=plan.version)


def diagnosis_pages(plan: Plan, log: CastLog, diagnosis: Diagnosis, lines) -> list[Sheet]:
    """Pages of `write_diagnosis`, without their feet."""

    def new_sheet():
        sheet = Sheet(plan.job.paper, title="After the pour: look, try, log")
        return sheet, page_head(sheet, plan.part.name) - 4

    flow = Flow(new_sheet)
    _pictures(flow, plan, diagnosis)
    for number, found in enumerate(diagnosis.defects, start=1):
        _defect(flow, number, found, log)
    if not diagnosis.defects:
        flow.lines(flow.sheet.left, [diagnosis_view.NOTHING])
    if lines:
        flow.need(20)
        flow.y = card_head(flow.sheet, flow.y - 3, "Moulds") - 1
        _paragraphs(flow, lines, indent_mm=0.0)
    return flow.sheets


def _pictures(flow, plan, diagnosis):
    """The part from three sides, a numbered ring at each defect that has a place."""
    places = [
        (number, plan.draw.frame.to_frame(np.array(found.defect.where_mm)))
        for number, found in enumerate(diagnosis.defects, start=1)
        if found.defect.where_mm is not None
    ]
    by_name = {sketch.name: sketch for sketch in plan.sketches}
    views = [(by_name[name], *rest) for name, *rest in _VIEWS if name in by_name]
    if not places or not views:
        return
    draw_views(flow, views, places)


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


def _defect(flow, number, found, log):
    """One defect: what was logged, then each cause with its numbers and a box for the test."""
    flow.need(44)
    flow.y = card_head(flow.sheet, flow.y - 2, f"{number}  {found.defect.kind}") - 0.5
    _paragraphs(flow, [diagnosis_view.head_text(found, log)], indent_mm=0.0)
    for letter, cause in diagnosis_view.cause_letters(found):
        text = paper.wrap(f"{letter}  {cause.text}", room_mm=flow.sheet.room_mm, is_bold=True)
        flow.need(len(text) * paper.leading_mm() + 12)
        flow.y -= 1.5
        flow.lines(flow.sheet.left, text, is_bold=True)
        _paragraphs(flow, diagnosis_view.evidence_texts(cause), indent_mm=8.0)
        _test(flow, cause.test)


def _test(flow, text):
    """A box to tick and what to do."""
    lines = paper.wrap(text, room_mm=flow.sheet.room_mm - 15)
    flow.need(len(lines) * paper.leading_mm() + 1)
    x, y = flow.sheet.left + 8, flow.y - 1.1
    flow.sheet.box(x, y - 3.4, x + 3.4, y, edge=INK)
    flow.lines(flow.sheet.left + 15, lines)
    flow.y -= 1


def _paragraphs(flow, texts, *, indent_mm):
    for text in texts:
        lines = paper.wrap(text, room_mm=flow.sheet.room_mm - indent_mm)
        flow.need(len(lines) * paper.leading_mm())
        flow.lines(flow.sheet.left + indent_mm, lines)
