"""Draft: how much of each half's surface slopes how little, and where it is seen."""

import numpy as np

from castplan.palette import GREY, INK, PART, TRAPPED
from castplan.paper import paper
from castplan.paper.paper import Flow, Sheet
from castplan.paper.sheet_marks import card_head, page_head
from castplan.paper.sheet_table import Column, draw_table
from castplan.plan_record import Plan
from castplan.split.records import DraftView
from castplan.texts import say

_NAMES = {
    "front": "draft.front",
    "right": "draft.right_side",
    "back": "draft.back",
    "left": "draft.left_side",
}
# Angle and pitch of the hatch for each limit, steepest trouble densest.
_HATCHES = {0.0: ((45.0, 1.2), (135.0, 1.2)), 1.0: ((45.0, 1.6),), 3.0: ((135.0, 3.0),)}
_LEGEND = {
    0.0: "draft.below_degrees_held",
    1.0: "draft.to_degree_drags_rubber_forgives",
    3.0: "draft.to_degrees_leaves",
}
_VIEW_MM = 62.0  # height that a view may take
_GAP_MM = 12.0
_CAPTION_MM = 9.0


def draft_pages(plan: Plan) -> list[Sheet]:
    """The table of areas and the four views."""

    def new_sheet():
        sheet = Sheet(plan.job.paper, title=say("draft.draft"))
        return sheet, page_head(sheet, plan.part.name) - 4

    flow = Flow(new_sheet)
    flow.y = card_head(
        flow.sheet,
        flow.y,
        say("draft.sides_with_little_draft"),
        remark=say("cut.by_lip" if plan.split.is_cut else "draft.against_the_draw_by_half"),
    )
    _table(flow, plan)
    _legend(flow)
    _views(flow, plan.split.draft_views)
    return flow.sheets


def _table(flow: Flow, plan: Plan) -> None:
    draft = plan.split.seam.draft
    columns = [
        Column(say("cut.lip" if plan.split.is_cut else "draft.half"), 34.0),
        *(Column(say("draft.below_deg", limit=f"{limit:g}"), 38.0) for limit in draft.limits_deg),
        Column(say("draft.all_of_it"), 34.0),
    ]
    rows = [
        (name, *(f"{area / 100:.1f} cm2" for area in areas), f"{total / 100:.0f} cm2")
        for name, areas, total in (
            (say("draft.upper"), draft.upper_mm2, draft.upper_total_mm2),
            (say("draft.lower"), draft.lower_mm2, draft.lower_total_mm2),
        )
    ]
    draw_table(flow, columns, rows)


def _legend(flow: Flow) -> None:
    flow.need(30.0)
    for limit, key in _LEGEND.items():
        flow.y -= 7.0
        left = flow.sheet.left
        x, y = left, flow.y
        swatch = np.array([(x, y), (x + 14, y), (x + 14, y + 5), (x, y + 5)])
        _zone(flow.sheet, swatch, limit)
        flow.sheet.text(left + 18, flow.y + 1.2, say(key))
    flow.y -= 6.0


def _views(flow: Flow, views: tuple[DraftView, ...]) -> None:
    """Two views a row, all at one scale."""
    boxes = [np.concatenate(view.outline) for view in views]
    sizes = np.array([np.ptp(points, axis=0) for points in boxes])
    room = (flow.sheet.room_mm - _GAP_MM) / 2
    scale = min(room / sizes[:, 0].max(), _VIEW_MM / sizes[:, 1].max())
    height = sizes[:, 1].max() * scale
    for first in range(0, len(views), 2):
        flow.need(height + _CAPTION_MM)
        sheet, bottom = flow.sheet, flow.y - height
        for k, view in enumerate(views[first : first + 2]):
            low = boxes[first + k].min(axis=0)
            centre = sheet.left + room / 2 + k * (room + _GAP_MM)
            corner = np.array([centre - sizes[first + k, 0] * scale / 2, bottom])
            rings = [corner + (ring - low) * scale for ring in view.outline]
            sheet.area(paper.ring_path(rings), fill=PART, edge=INK)
            for limit, ring in view.zones:
                _zone(sheet, corner + (ring - low) * scale, limit)
            sheet.text(centre, bottom - 5, say(_NAMES[view.name]), colour=GREY, ha="center")
        flow.y = bottom - _CAPTION_MM


def _zone(sheet: Sheet, ring, limit: float) -> None:
    patch = sheet.area(paper.ring_path([ring]), fill="white", edge=INK, kind="thin")
    for angle_deg, pitch_mm in _HATCHES[limit]:
        colour = TRAPPED if limit == 0.0 else INK
        sheet.hatch(patch, angle_deg=angle_deg, pitch_mm=pitch_mm, colour=colour)
