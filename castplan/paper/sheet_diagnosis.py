"""The diagnosis for the bench: where each defect lies, what to look at first, what to try."""

import numpy as np

from castplan.after.records import CastLog, Diagnosis
from castplan.palette import INK
from castplan.paper import feet, paper, pdf
from castplan.paper.paper import Flow, Sheet
from castplan.paper.sheet_marks import card_head, page_head
from castplan.paper.sheet_places import draw_views, put_cautions, put_paragraphs, views_of
from castplan.plan_record import Plan
from castplan.texts import say
from castplan.words import diagnosis as diagnosis_view
from castplan.words.cautions import after_cautions
from castplan.words.options import by_controls


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
    pages = feet.with_feet(diagnosis_pages(plan, log, diagnosis, lines), version=plan.version)
    pdf.save_pdf(pages, path, title=plan.part.name, version=plan.version)


@by_controls()
def diagnosis_pages(plan: Plan, log: CastLog, diagnosis: Diagnosis, lines) -> list[Sheet]:
    """Pages of `write_diagnosis`, without their feet."""

    def new_sheet():
        sheet = Sheet(plan.job.paper, title=say("diagnosis.sheet"))
        return sheet, page_head(sheet, plan.part.name) - 4

    flow = Flow(new_sheet)
    _pictures(flow, plan, diagnosis)
    for number, found in enumerate(diagnosis.defects, start=1):
        _defect(flow, number, found, log)
    if not diagnosis.defects:
        flow.lines(flow.sheet.left, [diagnosis_view.nothing_logged()])
    if lines:
        flow.need(20)
        flow.y = card_head(flow.sheet, flow.y - 3, say("diagnosis.moulds")) - 1
        put_paragraphs(flow, lines)
    if diagnosis.defects:
        put_cautions(flow, after_cautions(plan, ("vacuum", "heat")))
    return flow.sheets


def _pictures(flow, plan, diagnosis):
    """The part from three sides, a numbered ring at each defect that has a place."""
    places = [
        (number, plan.split.draw.frame.to_frame(np.array(found.defect.where_mm)))
        for number, found in enumerate(diagnosis.defects, start=1)
        if found.defect.where_mm is not None
    ]
    views = views_of(plan)
    if not places or not views:
        return
    draw_views(flow, views, places)


def _defect(flow, number, found, log):
    """One defect: what was logged, then each cause with its numbers and a box for the test."""
    flow.need(44)
    title = diagnosis_view.kind_title(found.defect.kind)
    flow.y = card_head(flow.sheet, flow.y - 2, f"{number}  {title}") - 0.5
    put_paragraphs(flow, [diagnosis_view.head_text(found, log)])
    for letter, cause in diagnosis_view.cause_letters(found):
        text = paper.wrap(f"{letter}  {cause.text}", room_mm=flow.sheet.room_mm, is_bold=True)
        flow.need(len(text) * paper.leading_mm() + 12)
        flow.y -= 1.5
        flow.lines(flow.sheet.left, text, is_bold=True)
        put_paragraphs(flow, diagnosis_view.evidence_texts(cause), indent_mm=8.0)
        _test(flow, cause.test)


def _test(flow, text):
    """A box to tick and what to do."""
    lines = paper.wrap(text, room_mm=flow.sheet.room_mm - 15)
    flow.need(len(lines) * paper.leading_mm() + 1)
    x, y = flow.sheet.left + 8, flow.y - 1.1
    flow.sheet.box(x, y - 3.4, x + 3.4, y, edge=INK)
    flow.lines(flow.sheet.left + 15, lines)
    flow.y -= 1
