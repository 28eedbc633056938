"""The change sheet: what is other than in the version before, and how to do it."""

import numpy as np

from castplan.palette import INK
from castplan.paper import paper
from castplan.paper.paper import Flow, Sheet
from castplan.paper.sheet_marks import card_head, page_head
from castplan.paper.sheet_places import draw_views, put_cautions, put_paragraphs, views_of
from castplan.paper.sheet_table import Column, draw_table
from castplan.plan_record import Plan
from castplan.texts import say
from castplan.words import revision as revision_view
from castplan.words.cautions import after_cautions


def revision_pages(plan: Plan) -> list[Sheet]:
    """The change sheet of a revised plan; no page for a first version."""
    if plan.revision is None:
        return []

    def new_sheet():
        title = say("revision.sheet", number=plan.revision.number)
        sheet = Sheet(plan.job.paper, title=title)
        return sheet, page_head(sheet, plan.part.name) - 4

    flow = Flow(new_sheet)
    put_paragraphs(flow, [revision_view.head_sentence(plan.revision)])
    _pictures(flow, plan)
    _changes(flow, plan)
    _list(flow, say("revision.make_the_vents"), revision_view.drill_sentences(plan))
    _list(flow, say("revision.stand_otherwise"), revision_view.other_ways(plan.revision))
    _list(flow, say("revision.mend_the_copy"), plan.revision.patches)
    _list(flow, say("revision.still_good_for"), plan.revision.uses)
    put_cautions(flow, after_cautions(plan))
    return flow.sheets


def _pictures(flow, plan):
    views = views_of(plan)
    places = [
        (drilling.label, plan.split.draw.frame.to_frame(np.array(drilling.place_mm)))
        for drilling in plan.revision.drillings
    ]
    if views and places:
        draw_views(flow, views, places)


def _changes(flow, plan):
    flow.need(30)
    flow.y = card_head(flow.sheet, flow.y - 2, say("revision.before_and_after"))
    room = flow.sheet.room_mm
    columns = (
        Column(say("revision.what"), 36, True),
        Column(say("revision.before"), 44),
        Column(say("revision.after"), 44),
        Column(say("revision.why"), room - 124),
    )
    rows = [(c.what, c.before, c.after, c.why) for c in plan.revision.changes]
    draw_table(flow, columns, rows)
    flow.y -= 3


def _list(flow, title, texts, *, has_boxes=True):
    """A card of sentences, a box to tick before each that is to be done."""
    if not texts:
        return
    flow.need(30)
    flow.y = card_head(flow.sheet, flow.y - 2, title) - 1
    for text in texts:
        indent_mm = 8 if has_boxes else 0
        lines = paper.wrap(text, room_mm=flow.sheet.room_mm - indent_mm)
        flow.need(len(lines) * paper.leading_mm() + 2)
        x, y = flow.sheet.left, flow.y
        if has_boxes:
            flow.sheet.box(x, y - 4.5, x + 3.4, y - 1.1, edge=INK)
        flow.lines(x + indent_mm, lines)
        flow.y -= 2
