"""All mixes on one page: what to weigh in large type, room for what was weighed."""

from castplan.bench.records import Cup, Mix
from castplan.materials.cards import Card, load_cards
from castplan.palette import GREY, HAIR, INK
from castplan.paper import paper
from castplan.paper.paper import WEIGHT_PT, Flow, Sheet
from castplan.paper.sheet_marks import baseline_mm, card_head, page_head
from castplan.plan_record import Plan
from castplan.texts import say
from castplan.words import bench as bench_view
from castplan.words import mix as mix_view

# Heights of a row to weigh by, and of one to fill in: lower where all mixes then fit a page.
_ROWS_MM = ((8.4, 7.5), (7.6, 6.6), (7.0, 6.0))
_LEAST_ROWS = 2  # a mix that went wrong is weighed again
_FACTS_MM = 7.5
_TARGET_PT = 18.0  # read from the scale's distance, with gloves on
# Head and share of the width.
_TARGETS = (
    ("", 0.12),
    ("mix.target", 0.22),
    ("mix.scale_shows", 0.22),
    ("mix.volume", 0.22),
    ("mix.ounces", 0.22),
)
_LOG = (  # to fill in with a pencil, a row a cup
    ("mix.cup", 0.08),
    ("mix.actual_a", 0.16),
    ("mix.actual_both", 0.16),
    ("mix.lots", 0.22),
    ("mix.mixed_at", 0.14),
    ("mix.celsius", 0.1),
    ("mix.initials", 0.14),
)


def mixes_pages(plan: Plan) -> list[Sheet]:
    """A block for each pour's cups; the next sheet only where they do not fit one."""
    for rows_mm in _ROWS_MM:
        sheets = _laid_out(plan, rows_mm)
        if len(sheets) <= 1:
            return sheets
    return _laid_out(plan, _ROWS_MM[0])


def _laid_out(plan: Plan, rows_mm: tuple[float, float]) -> list[Sheet]:
    def new_sheet():
        sheet = Sheet(plan.job.paper, title=say("book.mixes"))
        return sheet, page_head(sheet, plan.part.name) - 3

    flow, cards = None, load_cards()
    for mix, cup in bench_view.cups_as_mixes(plan):
        flow = flow or Flow(new_sheet)
        _block(flow, mix, cup, cards.get(mix.card), rows_mm)
    return flow.sheets if flow else []


def _block(flow: Flow, mix: Mix, cup: Cup, card: Card | None, rows_mm) -> None:
    row_mm, log_mm = rows_mm
    room = flow.sheet.room_mm
    notes = [
        line for note in bench_view.bench_notes(cup) for line in paper.wrap(note, room_mm=room)
    ]
    rows = mix_view.mix_rows(mix, cup, card)
    height = 8.5 + _FACTS_MM + len(notes) * paper.leading_mm() + 7 + len(rows) * row_mm
    flow.need(height + 6 + 2 * log_mm)
    remark = str(card.title) if card else mix.card
    flow.y = card_head(flow.sheet, flow.y, mix_view.mix_name(mix), remark=remark)
    _facts(flow, mix)
    flow.lines(flow.sheet.left, notes)
    _heads(flow, _TARGETS)
    for part, grams, ounces, volume, reading in rows:
        cells = (part, grams, reading, volume, ounces)
        _row(flow, _TARGETS, cells, height=row_mm, large=3)
    flow.y -= 2.5
    _heads(flow, _LOG)
    for number in range(1, max(mix.times, _LEAST_ROWS) + 1):
        if flow.need(log_mm):
            flow.y = card_head(flow.sheet, flow.y, say("mix.continued", name=mix.name))
            _heads(flow, _LOG)
        _row(flow, _LOG, [str(number) if number <= mix.times else ""], height=log_mm)
    flow.y -= 4


def _facts(flow: Flow, mix: Mix) -> None:
    """Times in large type, side by side."""
    x = flow.sheet.left
    for label, text in mix_view.mix_facts(mix):
        flow.sheet.text(x, flow.y - 5.2, label, colour=GREY)
        x += paper.text_width_mm(label) + 2.0
        flow.sheet.text(x, flow.y - 5.2, text, size_pt=WEIGHT_PT, is_bold=True)
        x += paper.text_width_mm(text, size_pt=WEIGHT_PT, is_bold=True) + 7.0
    flow.y -= _FACTS_MM


def _heads(flow: Flow, columns) -> None:
    x = flow.sheet.left
    for title, share in columns:
        if title:
            flow.sheet.text(x + 1.5, flow.y - 4.4, say(title), colour=GREY)
        x += share * flow.sheet.room_mm
    flow.y -= 6
    flow.sheet.line([(flow.sheet.left, flow.y), (flow.sheet.right, flow.y)], colour=INK)


def _row(flow: Flow, columns, cells, *, height: float, large: int = 0) -> None:
    """Cells between hair lines; the first `large` of them to be read from afar."""
    sheet, x = flow.sheet, flow.sheet.left
    for k, (_, share) in enumerate(columns):
        sheet.line([(x, flow.y), (x, flow.y - height)], colour=HAIR)
        if k < len(cells):
            size_pt = _TARGET_PT if k < large else WEIGHT_PT if large else paper.TEXT_PT
            baseline = baseline_mm(flow.y - height / 2, size_pt=size_pt)
            sheet.text(x + 1.5, baseline, cells[k], size_pt=size_pt, is_bold=k < large)
        x += share * sheet.room_mm
    sheet.line([(x, flow.y), (x, flow.y - height)], colour=HAIR)
    flow.y -= height
    sheet.line([(sheet.left, flow.y), (x, flow.y)], colour=HAIR)
