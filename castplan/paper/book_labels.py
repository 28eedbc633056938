"""Cup labels and the mould card, to cut out."""

from castplan.palette import GREY
from castplan.paper import paper
from castplan.paper.paper import Flow, Sheet
from castplan.paper.sheet_card import put_card
from castplan.paper.sheet_labels import put_labels
from castplan.paper.sheet_marks import page_head
from castplan.plan_record import Plan
from castplan.texts import say


def labels_pages(plan: Plan) -> list[Sheet]:
    """Labels for the cups, and below them the card that stays with the mould."""

    def new_sheet():
        sheet = Sheet(plan.job.paper, title=say("book.labels"))
        return sheet, page_head(sheet, plan.part.name) - 3

    flow = Flow(new_sheet)
    note = paper.wrap(say("label.note"), room_mm=flow.sheet.room_mm)
    flow.lines(flow.sheet.left, note, colour=GREY)
    flow.y -= 1.5
    put_labels(flow, plan)
    flow.y -= 5
    put_card(flow, plan)
    return flow.sheets
