"""What can hurt, in full: for reading before the work begins."""

from castplan.materials.cautions import load_cautions
from castplan.palette import GREY
from castplan.paper import paper
from castplan.paper.paper import Flow, Sheet
from castplan.paper.sheet_marks import card_head, page_head, warning_sign
from castplan.plan_record import Plan
from castplan.texts import say
from castplan.words import plan as view


def caution_pages(plan: Plan) -> list[Sheet]:
    """The cautions of all steps; none for a plan without."""
    keys = sorted({key for step in plan.bench.schedule.steps for key in step.cautions})
    if not keys:
        return []

    def new_sheet():
        sheet = Sheet(plan.job.paper, title=say("steps.what_can_hurt"))
        return sheet, page_head(sheet, plan.part.name) - 4

    flow, cautions = Flow(new_sheet), load_cautions()
    _draw_cautions(flow, [cautions[key] for key in keys])
    return flow.sheets


def _draw_cautions(flow: Flow, cautions) -> None:
    room = flow.sheet.room_mm
    is_first = True
    for caution in cautions:
        text = paper.wrap(caution.text, room_mm=room - 6)
        codes = paper.wrap(view.caution_codes(caution), room_mm=room - 6, size_pt=paper.FOOT_PT)
        height = (len(text) + 1) * paper.leading_mm() + 3
        height += len(codes) * paper.leading_mm(paper.FOOT_PT)
        is_new = flow.need(height + (8.5 if is_first else 0.0))
        if is_first or is_new:
            title = say("steps.what_can_hurt") if is_first else say("steps.what_can_hurt_continued")
            flow.y = card_head(flow.sheet, flow.y, title, remark=view.sheet_first())
        is_first = False
        warning_sign(flow.sheet, flow.sheet.left + 2.3, flow.y - 2.9)
        flow.lines(flow.sheet.left + 6, [caution.title], is_bold=True)
        flow.lines(flow.sheet.left + 6, text)
        flow.lines(flow.sheet.left + 6, codes, size_pt=paper.FOOT_PT, colour=GREY)
        flow.y -= 3
