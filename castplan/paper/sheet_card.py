"""The mould card, kept with the mould for its whole life: what it takes, and a box per cast."""

import numpy as np

from castplan import palette
from castplan.palette import GREY, INK
from castplan.paper import paper
from castplan.paper.paper import WEIGHT_PT, Flow, Sheet
from castplan.paper.sheet_marks import badge, baseline_mm
from castplan.paper.sheet_sketch import VIEW_AXES, View
from castplan.plan_record import Plan
from castplan.texts import say
from castplan.words import card as card_view
from castplan.words import mix as mix_view

_NAME_PT = 16.0
_INSET_MM = 5.0  # of the words from the cut line
_PICTURE_MM = (58.0, 34.0)
_NEED_MM = 140.0  # that it takes at most
_ARROW_MM = 16.0
_MANY = 60  # casts; more get smaller boxes
_LEAST_BOX_MM = 6.0  # high; lower ones stand in a single row where they can


def put_card(flow: Flow, plan: Plan) -> None:
    """One card with the line to cut it out along; a further mould gets a further print."""
    flow.need(_NEED_MM)
    sheet, top = flow.sheet, flow.y
    sheet.left += _INSET_MM
    sheet.right -= _INSET_MM
    flow.y -= 3
    _head(flow, plan)
    _facts(flow, plan)
    _paragraphs(flow, plan)
    _counter(flow, plan)
    sheet.left -= _INSET_MM
    sheet.right += _INSET_MM
    sheet.area(_frame(sheet.left, flow.y - 3, sheet.right, top), edge=INK, kind="hidden")


def _frame(x0, y0, x1, y1):
    return paper.ring_path([np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])])


def _head(flow: Flow, plan: Plan) -> None:
    """Name and number at the left, the picture with its way up at the right."""
    sheet, top = flow.sheet, flow.y
    room = sheet.room_mm - _PICTURE_MM[0] - 34.0
    style = {"size_pt": _NAME_PT, "is_bold": True}
    sheet.text(sheet.left, top - 6, paper.shortened(plan.part.name, room_mm=room, **style), **style)
    y = top - 15
    number = say("card.number")
    sheet.text(sheet.left, y, number, size_pt=WEIGHT_PT, is_bold=True)
    x = sheet.left + paper.text_width_mm(number, size_pt=WEIGHT_PT, is_bold=True) + 2
    sheet.line([(x, y - 1), (x + 28, y - 1)], kind="visible")
    sheet.text(x + 31, y, say("card.of", moulds=plan.bench.buy.n_moulds), size_pt=WEIGHT_PT)
    flow.y = y - 3
    if not plan.split.is_one_pour:
        number = say("card.every_piece" if plan.split.pieces else "card.both_halves")
        flow.lines(sheet.left, paper.wrap(number, room_mm=room), is_bold=True)
    flow.y -= 3
    badge(sheet, sheet.left, flow.y - 3.5, say("card.up"))
    flow.y -= 5.5
    for line in card_view.stand_lines(plan):
        flow.lines(sheet.left, paper.wrap(line, room_mm=room))
    _picture(sheet, plan, top)
    flow.y = min(flow.y, top - _PICTURE_MM[1] - 13) - 1


def _picture(sheet: Sheet, plan: Plan, top: float) -> None:
    """The side of the box in which the pour's up shows best, and an arrow along it."""
    up = plan.split.draw.frame.to_frame(np.asarray(plan.air.openings.up, dtype=float))
    name = "front" if abs(up[0]) >= abs(up[1]) else "side"
    sketch = next((s for s in plan.sketches if s.name == name), None)
    if sketch is None:
        return
    axes = list(VIEW_AXES[name])
    size = np.subtract(plan.mould.block.high_mm, plan.mould.block.low_mm)[axes]
    scale = float(min(np.array(_PICTURE_MM) / size))
    left = sheet.right - 3 - size[0] * scale
    bottom = top - 6 - size[1] * scale
    View(plan, sketch, left, bottom, scale).draw(sheet)
    way = up[axes] / max(float(np.hypot(*up[axes])), 1e-9)
    # The arrow stands on the left of the picture, clear of its labels.
    middle = np.array([left - 9.0 - _ARROW_MM / 2 * abs(way[0]), bottom + size[1] * scale / 2])
    tail, tip = middle - _ARROW_MM / 2 * way, middle + _ARROW_MM / 2 * way
    across = np.array([-way[1], way[0]])
    sheet.line([tail, tip - 4.0 * way], kind="visible")
    head = np.array([tip, tip - 5.0 * way + 2.2 * across, tip - 5.0 * way - 2.2 * across])
    sheet.area(paper.ring_path([head]), fill=INK)
    caption = say("card.picture")
    sheet.text(sheet.right - 3, bottom - 12, caption, colour=GREY, ha="right")


def _facts(flow: Flow, plan: Plan) -> None:
    """Resin for one copy in large type, and its times."""
    sheet = flow.sheet
    for name, cells in card_view.shots(plan):
        flow.lines(sheet.left, [name], colour=GREY)
        flow.y -= 6.5
        sheet.text(sheet.left, flow.y, cells, size_pt=_NAME_PT, is_bold=True)
        flow.y -= 1.5
    for mix in card_view.resin_mixes(plan)[:1]:
        flow.lines(sheet.left, paper.wrap(mix_view.mix_times(mix), room_mm=sheet.room_mm))
    flow.y -= 1.5


def _paragraphs(flow: Flow, plan: Plan) -> None:
    sheet = flow.sheet
    for sentence in card_view.card_sentences(plan):
        flow.lines(sheet.left, paper.wrap(sentence, room_mm=sheet.room_mm))
        flow.y -= 0.8
    flow.y -= 5.5
    x = sheet.left
    for key, length in (("made_on", 24.0), ("by", 20.0), ("lot_a", 30.0), ("lot_b", 30.0)):
        text = say(f"card.{key}")
        sheet.text(x, flow.y, text)
        x += paper.text_width_mm(text) + 1.5
        sheet.line([(x, flow.y - 0.8), (x + length, flow.y - 0.8)])
        x += length + 3
    flow.y -= 4


def _counter(flow: Flow, plan: Plan) -> None:
    """A box for each cast that the mould is planned for; the doubtful ones are hatched."""
    sheet, life = flow.sheet, plan.bench.buy.mould_life_casts
    n_casts = max(1, round(life.value))
    text = card_view.counter_sentence(plan)
    flow.lines(sheet.left, paper.wrap(text, room_mm=sheet.room_mm))
    flow.y -= 1.5
    room_mm = flow.y - sheet.bottom - 6
    is_low = room_mm < -(-n_casts // 10) * _LEAST_BOX_MM
    n_columns = 20 if n_casts > _MANY or is_low else 10
    width = sheet.room_mm / n_columns
    rows = -(-n_casts // n_columns)
    height = min(8.5, room_mm / rows)
    first_doubtful = plan.bench.buy.first_doubtful_cast
    for cast in range(1, n_casts + 1):
        row, column = divmod(cast - 1, n_columns)
        x0, y1 = sheet.left + column * width, flow.y - row * height
        sheet.box(x0, y1 - height, x0 + width, y1, edge=INK)
        if cast >= first_doubtful:
            corner = [(x0 + width, y1 - 4), (x0 + width, y1), (x0 + width - 4, y1)]
            sheet.area(paper.ring_path([corner]), fill=palette.GREY)
        sheet.text(x0 + 1.2, baseline_mm(y1 - 3.4), str(cast))
    flow.y -= rows * height
