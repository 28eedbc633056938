"""Wall sheets: ratio chart, pot life by temperature, inhibition, defect to cause."""

from castplan import __version__
from castplan.materials.cards import Card
from castplan.materials.wording import chemistry_head, thing_text
from castplan.palette import GREY, HAIR, INK, TRAPPED
from castplan.paper import paper
from castplan.paper.feet import with_feet
from castplan.paper.paper import WEIGHT_PT, Flow, Sheet
from castplan.paper.sheet_marks import baseline_mm, open_card, page_head
from castplan.paper.sheet_table import Column, draw_table
from castplan.texts import say
from castplan.words import wall as wall_view

_GAP_MM = 10.0  # between the two columns of the chart
_ROW_MM = 6.6
_CHART_HEAD_MM = 20.5
_THING_MM = 52.0
_HEADS_MM = 12.6
_DO_SHARE = 0.44
_SEEN_MM = 30.0


def wall_pages(cards: list[Card], *, paper_name: str) -> list[Sheet]:
    """All wall sheets for some cards, with their feet.

    Parameters
    ----------
    cards : list of Card
        At least one.
    paper_name : str
        A key of `PAPER_MM`.
    """
    pages = [
        *_ratio_pages(cards, paper_name),
        *_pot_life_pages(cards, paper_name),
        *_inhibition_pages(cards, paper_name),
        *_defect_pages(paper_name),
    ]
    return with_feet(pages, version=__version__)


def _flow(title: str, paper_name: str) -> Flow:
    def new_sheet():
        sheet = Sheet(paper_name, title=say(title))
        return sheet, page_head(sheet, say("wall.name")) - 4

    return Flow(new_sheet)


# -- ratios ---------------------------------------------------------------------


def _ratio_pages(cards: list[Card], paper_name: str) -> list[Sheet]:
    flow = _flow("wall.ratio_title", paper_name)
    flow.paragraph(say("wall.ratio_note"), below_mm=2.0)
    height = _CHART_HEAD_MM + len(wall_view.STEPS_G) * _ROW_MM
    width = (flow.sheet.room_mm - _GAP_MM) / 2
    for first in range(0, len(cards), 2):
        flow.need(height)
        for k, card in enumerate(cards[first : first + 2]):
            left = flow.sheet.left + k * (width + _GAP_MM)
            _chart(flow.sheet, card, left, flow.y, width)
        flow.y -= height + 3
    return flow.sheets


def _chart(sheet: Sheet, card: Card, left: float, top: float, width: float) -> None:
    sheet.box(left, top - 1.0, left + 14, top, fill=INK)
    title = paper.shortened(card.title, room_mm=width, is_bold=True)
    sheet.text(left, top - 6.2, title, is_bold=True)
    y = top - 11.6
    sheet.text(left, y, wall_view.ratio_text(card), colour=GREY)
    y -= 6.4
    share = width / 3
    for k, key in enumerate(("wall.part_a", "wall.part_b", "wall.together")):
        sheet.text(left + (k + 1) * share - 2, y, say(key), colour=GREY, ha="right")
    y -= 1.6
    sheet.line([(left, y), (left + width, y)], colour=INK)
    for row in wall_view.ratio_rows(card):
        baseline = baseline_mm(y - _ROW_MM / 2, size_pt=WEIGHT_PT)
        for k, text in enumerate(row):
            style = {"size_pt": WEIGHT_PT, "is_bold": k == 1, "ha": "right"}
            sheet.text(left + (k + 1) * share - 2, baseline, text, **style)
        y -= _ROW_MM
        sheet.line([(left, y), (left + width, y)], colour=HAIR)


# -- times ----------------------------------------------------------------------


def _pot_life_pages(cards: list[Card], paper_name: str) -> list[Sheet]:
    flow = _flow("wall.pot_life_title", paper_name)
    flow.paragraph(wall_view.pot_life_note(), below_mm=2.0)
    room, heads = flow.sheet.room_mm, wall_view.temperature_heads()
    columns = [
        Column(say("column.material"), 0.3 * room, True),
        *(Column(head, 0.7 * room / len(heads), size_pt=WEIGHT_PT) for head in heads),
    ]
    for title, row in (
        ("wall.pot_life", wall_view.pot_life_row),
        ("wall.demould", wall_view.demould_row),
    ):
        open_card(flow, say(title), need_mm=30)
        draw_table(flow, columns, [(card.title, *row(card)) for card in cards])
        flow.y -= 4
    return flow.sheets


# -- inhibition -----------------------------------------------------------------


def _inhibition_pages(cards: list[Card], paper_name: str) -> list[Sheet]:
    flow = _flow("wall.inhibition_title", paper_name)
    flow.paragraph(say("wall.inhibition_note"), below_mm=2.0)
    chemistries = wall_view.chemistries_of(cards)
    share = (flow.sheet.room_mm - _THING_MM) / len(chemistries)
    before = None
    for thing, verdicts in wall_view.meetings(chemistries):
        words = say("wall.thing", what=thing_text(thing.what), words=thing.words)
        lines = paper.wrap(words, room_mm=_THING_MM - 2)
        height = len(lines) * paper.leading_mm() + 2.2
        is_new = flow.need(height + (_HEADS_MM if before is None else 0.0))
        if is_new or before is None:
            _chemistry_heads(flow, chemistries, share)
        elif before != thing.what:
            flow.sheet.line([(flow.sheet.left, flow.y), (flow.sheet.right, flow.y)], colour=GREY)
        before = thing.what
        flow.y -= 1.1
        for k, verdict in enumerate(verdicts):
            x = flow.sheet.left + _THING_MM + (k + 0.5) * share
            _sign(flow.sheet, x, flow.y - (height - 2.2) / 2, verdict)
        flow.lines(flow.sheet.left, lines)
        flow.y -= 1.1
    flow.y -= 4
    open_card(flow, say("wall.stops"), need_mm=20)
    for sentence in wall_view.stop_sentences(chemistries):
        flow.paragraph(sentence, below_mm=2.0)
    return flow.sheets


def _chemistry_heads(flow: Flow, chemistries, share: float) -> None:
    for k, name in enumerate(chemistries):
        x = flow.sheet.left + _THING_MM + (k + 0.5) * share
        lines = paper.wrap(chemistry_head(name), room_mm=share)
        for row, line in enumerate(reversed(lines)):
            y = flow.y - _HEADS_MM + 2.4 + row * paper.leading_mm()
            flow.sheet.text(x, y, line, colour=GREY, ha="center")
    flow.y -= _HEADS_MM
    flow.sheet.line([(flow.sheet.left, flow.y), (flow.sheet.right, flow.y)], colour=INK)


def _sign(sheet: Sheet, x: float, y: float, verdict: str) -> None:
    """A black bar with STOP, a ring for a test patch, plain words for fine: no colour needed."""
    if not verdict:
        return
    text = say(f"wall.{verdict}")
    baseline = baseline_mm(y)
    half = paper.text_width_mm(text, is_bold=verdict == "stop") / 2 + 1.6
    if verdict == "stop":
        sheet.box(x - half, y - 2.5, x + half, y + 2.5, fill=INK)
        sheet.text(x, baseline, text, is_bold=True, ha="center", colour="white")
        return
    if verdict == "patch":
        sheet.box(x - half, y - 2.5, x + half, y + 2.5, edge=TRAPPED, kind="visible")
    sheet.text(x, baseline, text, ha="center")


# -- defects --------------------------------------------------------------------


def _defect_pages(paper_name: str) -> list[Sheet]:
    flow = _flow("wall.defect_title", paper_name)
    flow.paragraph(say("wall.defect_note"), below_mm=2.0)
    room = flow.sheet.room_mm
    columns = [
        Column(say("column.seen"), _SEEN_MM, True),
        Column(say("column.cause"), (1 - _DO_SHARE) * room - _SEEN_MM),
        Column(say("column.do"), _DO_SHARE * room),
    ]
    rows = []
    for name, told in wall_view.defect_rows():
        rows += [("" if k else name, cause, do) for k, (cause, do) in enumerate(told)]
    draw_table(flow, columns, rows, together=wall_view.N_CAUSES)
    return flow.sheets
