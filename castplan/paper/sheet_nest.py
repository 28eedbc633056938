"""Several parts in one box on paper: their numbers on a drawing, and the table of them."""

from castplan.palette import GREY, INK
from castplan.paper import paper
from castplan.paper.paper import Flow
from castplan.paper.sheet_marks import Marks, open_card
from castplan.paper.sheet_table import Column, draw_table
from castplan.plan_record import Plan
from castplan.texts import say
from castplan.words import nest as nest_view


def mark_parts(marks: Marks, plan: Plan, to_sheet) -> None:
    """The number of each part on a drawing, white on black; nothing of a single part.

    Parameters
    ----------
    marks : Marks
    plan : Plan
    to_sheet : callable
        Of points (3,) of the draw frame.
    """
    for number, place_mm in nest_view.part_marks(plan):
        x, y = to_sheet(place_mm)
        marks.label(x, y, number, colour=INK, is_round=False, fill=INK)


def nest_card(flow: Flow, plan: Plan) -> None:
    """The table of the parts; nothing of a single part."""
    if plan.nest is None:
        return
    room = flow.sheet.room_mm
    rows = nest_view.part_rows(plan.nest)
    open_card(flow, say("nest.parts"), need_mm=20 + 6 * len(rows))
    columns = [
        Column("", 8, True),
        Column(say("nest.column_part"), room - 148),
        Column(say("nest.column_up"), 40),
        Column(say("nest.column_turn"), 26),
        Column(say("nest.column_openings"), 32),
        Column(say("nest.column_casting"), 42),
    ]
    draw_table(flow, columns, rows)
    flow.y -= 1.5
    flow.lines(flow.sheet.left, paper.wrap(say("nest.parts_note"), room_mm=room), colour=GREY)
    flow.y -= 3
