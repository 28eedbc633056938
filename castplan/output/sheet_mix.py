"""The mix sheet: targets in large type, columns to fill in at the scale."""

from castplan.materials.cards import Card, load_cards
from castplan.materials.cautions import Caution, load_cautions
from castplan.model import Mix, Plan
from castplan.output import bench_view, paper, view
from castplan.output.paper import GREY, HAIR, INK, WEIGHT_PT, Flow, Sheet
from castplan.output.sheet_marks import (
    baseline_mm,
    card_head,
    caution_height_mm,
    caution_lines,
    draw_caution,
    page_head,
)

_ROW_MM = 8.6
# Head and share of the width.
_TARGETS = (("", 0.14), ("weigh", 0.22), ("ounces", 0.22), ("volume", 0.2), ("scale shows", 0.22))
_LOG = (  # to fill in with a pencil
    ("cup", 0.06),
    ("tare g", 0.09),
    ("A g", 0.09),
    ("A+B g", 0.1),
    ("mixed at", 0.12),
    ("pour by", 0.12),
    ("open at", 0.12),
    ("°C", 0.08),
    ("% RH", 0.09),
    ("initials", 0.13),
)


def mix_pages(plan: Plan) -> list[Sheet]:
    """A card per cup."""

    def new_sheet():
        sheet = Sheet(plan.job.paper, title="Mix sheet")
        return sheet, page_head(sheet, plan.part.name) - 4

    flow = Flow(new_sheet)
    cards, cautions = load_cards(), load_cautions()
    for mix, cup in bench_view.cups_as_mixes(plan):
        card = cards.get(mix.card)
        hazards = [cautions[key] for key in (card.hazards if card else ())]
        _draw_mix(flow, mix, card, hazards, bench_view.cup_notes(cup))
    return flow.sheets


def _draw_mix(
    flow: Flow, mix: Mix, card: Card | None, hazards: list[Caution], notes: list[str]
) -> None:
    notes = [line for note in notes for line in paper.wrap(note, room_mm=flow.sheet.room_mm)]
    warnings = [caution_lines(caution, room_mm=flow.sheet.room_mm) for caution in hazards]
    height = 8.5 + (1 + len(notes)) * paper.leading_mm() + 6 + 3 * _ROW_MM + 11 + 6 + _ROW_MM + 4
    flow.need(height + sum(caution_height_mm(lines) for lines in warnings))
    name = f"{mix.name} ({mix.half} half)" if mix.half else mix.name
    remark = card.title if card else mix.card
    flow.y = card_head(flow.sheet, flow.y, name, remark=remark)
    flow.lines(flow.sheet.left, [view.mix_times(mix), *notes])
    for lines in warnings:
        draw_caution(flow, flow.sheet.left, lines)
    flow.y -= 1
    _draw_targets(flow, mix, card)
    flow.y -= 8
    _blanks(flow.sheet, flow.sheet.left, flow.y, (("lot A", 45.0), ("lot B", 45.0), ("date", 30.0)))
    flow.y -= 3
    _draw_log(flow, mix)
    flow.y -= 5


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
            flow.sheet.text(x + 1.5, flow.y - 4.4, title, colour=GREY)
        x += share * flow.sheet.room_mm
    flow.y -= 6
    flow.sheet.line([(flow.sheet.left, flow.y), (flow.sheet.right, flow.y)], colour=INK)


def _draw_targets(flow: Flow, mix: Mix, card: Card | None) -> None:
    _heads(flow, _TARGETS)
    for part, grams, ounces, volume, reading in view.mix_rows(mix, card):
        edges = _grid(flow.sheet, flow.y, _TARGETS, _ROW_MM)
        middle = flow.y - _ROW_MM / 2
        baseline = baseline_mm(middle, size_pt=WEIGHT_PT)
        for x, text, is_bold in (
            (edges[0], part, True),
            (edges[1], grams, True),
            (edges[2], ounces, False),
            (edges[3], volume, False),
            (edges[4], reading, True),
        ):
            flow.sheet.text(x + 1.5, baseline, text, size_pt=WEIGHT_PT, is_bold=is_bold)
        flow.y -= _ROW_MM


def _blanks(sheet: Sheet, x: float, y: float, blanks) -> None:
    for label, length in blanks:
        sheet.text(x, y, label)
        x += paper.text_width_mm(label) + 1.5
        sheet.line([(x, y - 0.8), (x + length, y - 0.8)], colour=INK)
        x += length + 5


def _draw_log(flow: Flow, mix: Mix) -> None:
    _heads(flow, _LOG)
    for cup in range(1, mix.times + 1):
        if flow.need(_ROW_MM):
            flow.y = card_head(flow.sheet, flow.y, f"{mix.name}, continued")
            _heads(flow, _LOG)
        edges = _grid(flow.sheet, flow.y, _LOG, _ROW_MM)
        middle = flow.y - _ROW_MM / 2
        flow.sheet.text(edges[0] + 1.5, baseline_mm(middle), str(cup))
        flow.y -= _ROW_MM
