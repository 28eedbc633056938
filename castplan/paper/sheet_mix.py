"""The mix sheets: one per pour, targets in large type, room for what was weighed."""

from castplan.bench.records import Cup, Mix
from castplan.materials.cards import Card, load_cards
from castplan.materials.cautions import Caution, load_cautions
from castplan.palette import GREY, HAIR, INK
from castplan.paper import paper
from castplan.paper.paper import WEIGHT_PT, Flow, Sheet
from castplan.paper.sheet_marks import (
    baseline_mm,
    card_head,
    caution_height_mm,
    caution_lines,
    draw_caution,
    page_head,
)
from castplan.plan_record import Plan
from castplan.texts import say
from castplan.words import bench as bench_view
from castplan.words import mix as mix_view

_ROW_MM = 9.0
_TARGET_MM = 12.0
_TARGET_PT = 18.0  # read from the scale's distance, with gloves on
_FACTS_MM = 15.0
# Head and share of the width. What is weighed once is written beside its target.
_TARGETS = (
    ("", 0.13),
    ("mix.target", 0.18),
    ("mix.scale_shows", 0.18),
    ("mix.actual", 0.19),
    ("mix.volume", 0.16),
    ("mix.ounces", 0.16),
)
_LOG = (  # to fill in with a pencil
    ("mix.cup", 0.08),
    ("mix.tare", 0.1),
    ("mix.actual_a", 0.14),
    ("mix.actual_both", 0.14),
    ("mix.mixed_at", 0.12),
    ("mix.pour_by", 0.12),
    ("mix.celsius", 0.08),
    ("mix.humidity", 0.1),
    ("mix.initials", 0.12),
)


def mix_pages(plan: Plan) -> list[Sheet]:
    """A sheet for each pour, on it a card for each cup of another size."""

    def new_sheet():
        sheet = Sheet(plan.job.paper, title=say("mix.title"))
        return sheet, page_head(sheet, plan.part.name) - 4

    cards, cautions = load_cards(), load_cautions()
    pages: list[Sheet] = []
    pour, flow = None, None
    for mix, cup in bench_view.cups_as_mixes(plan):
        if cup.pour != pour:
            pour, flow = cup.pour, Flow(new_sheet)
            pages.append(flow.sheet)
        card = cards.get(mix.card)
        hazards = [cautions[key] for key in (card.hazards if card else ())]
        _draw_mix(flow, mix, cup, card, hazards)
        pages += [sheet for sheet in flow.sheets if sheet not in pages]
    return pages


def _draw_mix(flow: Flow, mix: Mix, cup: Cup, card: Card | None, hazards: list[Caution]) -> None:
    room = flow.sheet.room_mm
    notes = [line for note in bench_view.cup_notes(cup) for line in paper.wrap(note, room_mm=room)]
    warnings = [caution_lines(caution, room_mm=room) for caution in hazards]
    height = 8.5 + _FACTS_MM + len(notes) * paper.leading_mm() + 6 + 3 * _TARGET_MM + 14 + 12
    flow.need(height + 2 * _ROW_MM + sum(caution_height_mm(lines) for lines in warnings))
    remark = str(card.title) if card else mix.card
    flow.y = card_head(flow.sheet, flow.y, mix_view.mix_name(mix), remark=remark)
    _facts(flow, mix)
    flow.lines(flow.sheet.left, notes)
    for lines in warnings:
        draw_caution(flow, flow.sheet.left, lines)
    flow.y -= 1
    _draw_targets(flow, mix, cup, card)
    flow.y -= 9
    blanks = ((say("mix.lot_a"), 42.0), (say("mix.lot_b"), 42.0), (say("mix.date"), 26.0))
    _blanks(flow.sheet, flow.sheet.left, flow.y, blanks)
    flow.y -= 4
    _draw_log(flow, mix, cup)
    flow.y -= 6


def _facts(flow: Flow, mix: Mix) -> None:
    """Times in large type, three side by side."""
    sheet, share = flow.sheet, flow.sheet.room_mm / 3
    for k, (label, text) in enumerate(mix_view.mix_facts(mix)):
        x = sheet.left + k * share
        sheet.text(x, flow.y - 4.4, label, colour=GREY)
        sheet.text(x, flow.y - 10.6, text, size_pt=WEIGHT_PT, is_bold=True)
    flow.y -= _FACTS_MM


def _grid(sheet: Sheet, y: float, columns, height: float) -> list[float]:
    """Cell borders of one row; returns the left edge of each cell."""
    edges = [sheet.left]
    for _, share in columns:
        edges.append(edges[-1] + share * sheet.room_mm)
    for x in edges:
        sheet.line([(x, y), (x, y - height)], colour=HAIR)
    sheet.line([(edges[0], y - height), (edges[-1], y - height)], colour=HAIR)
    return edges


def _heads(flow: Flow, columns) -> None:
    x = flow.sheet.left
    for title, share in columns:
        if title:
            flow.sheet.text(x + 1.5, flow.y - 4.4, say(title), colour=GREY)
        x += share * flow.sheet.room_mm
    flow.y -= 6
    flow.sheet.line([(flow.sheet.left, flow.y), (flow.sheet.right, flow.y)], colour=INK)


def _draw_targets(flow: Flow, mix: Mix, cup: Cup, card: Card | None) -> None:
    is_once = mix.times == 1
    columns = _TARGETS if is_once else (*_TARGETS[:3], *_TARGETS[4:])
    _heads(flow, columns)
    for part, grams, ounces, volume, reading in mix_view.mix_rows(mix, cup, card):
        edges = _grid(flow.sheet, flow.y, columns, _TARGET_MM)
        cells = [part, grams, reading, *([""] if is_once else []), volume, ounces]
        for k, (x, text) in enumerate(zip(edges, cells, strict=False)):
            size_pt = _TARGET_PT if k < 3 else WEIGHT_PT
            baseline = baseline_mm(flow.y - _TARGET_MM / 2, size_pt=size_pt)
            flow.sheet.text(x + 1.5, baseline, text, size_pt=size_pt, is_bold=k < 3)
        flow.y -= _TARGET_MM


def _blanks(sheet: Sheet, x: float, y: float, blanks) -> None:
    for label, length in blanks:
        sheet.text(x, y, label)
        x += paper.text_width_mm(label) + 1.5
        sheet.line([(x, y - 0.8), (x + length, y - 0.8)], colour=INK)
        x += length + 5


def _draw_log(flow: Flow, mix: Mix, cup: Cup) -> None:
    is_once = mix.times == 1
    columns = tuple(column for column in _LOG if not (is_once and "actual" in column[0]))
    wider = 1.0 / sum(share for _, share in columns)
    columns = tuple((title, wider * share) for title, share in columns)
    _heads(flow, columns)
    if not is_once:
        _log_row(flow, columns, bench_view.log_targets(cup), is_target=True)
    for number in range(1, mix.times + 1):
        if flow.need(_ROW_MM):
            title = say("mix.continued", name=mix.name)
            flow.y = card_head(flow.sheet, flow.y, title)
            _heads(flow, columns)
        _log_row(flow, columns, [str(number)])


def _log_row(flow: Flow, columns, cells, *, is_target: bool = False) -> None:
    edges = _grid(flow.sheet, flow.y, columns, _ROW_MM)
    size_pt = WEIGHT_PT if is_target else paper.TEXT_PT
    baseline = baseline_mm(flow.y - _ROW_MM / 2, size_pt=size_pt)
    for x, text in zip(edges, cells, strict=False):
        flow.sheet.text(x + 1.5, baseline, text, size_pt=size_pt)
    flow.y -= _ROW_MM
