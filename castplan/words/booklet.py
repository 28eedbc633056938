"""The booklet's own sentences: what is decided, what it takes, what can go wrong."""

from collections import Counter
from collections.abc import Iterator

from castplan.bench.records import GearLine, Step
from castplan.materials.wording import listed, weight_text
from castplan.plan_record import Plan
from castplan.texts import say
from castplan.words import air as air_view
from castplan.words import bench as bench_view
from castplan.words import formats
from castplan.words import plan as view
from castplan.words import shop as shop_view
from castplan.words.kinds import day_of, kind_sentence

_LEAST_LINE_MM = 1.0
# Told for completeness, with nothing to do.
_NO_RISK = frozenset((("note", "changed"), ("note", "small-pockets")))


def decision_lines(plan: Plan) -> list[str]:
    """Which mould, how it is parted, how it stands: a sentence or two each."""
    return [
        kind_sentence(plan),
        *(decision.sentence for decision in view.decisions(plan)),
        f"{air_view.show_sentence(plan)} {_marks_sentence(plan)}".rstrip(),
        _size_sentence(plan),
    ]


def _marks_sentence(plan: Plan) -> str:
    """What will mark the side that is seen; empty where nobody knows which that is."""
    if plan.show.direction is None:
        return ""
    codes = {finding.code for finding in plan.findings}
    marks = [key for key in ("gate", "vent") if f"{key}-on-show" in codes]
    if "further-gate-on-show" in codes and "gate" not in marks:
        marks.insert(0, "gate")
    slit, seam = plan.mould.slit, plan.split.seam
    line_mm = slit.chosen.seam_on_show_mm if slit else seam.length_on_show_mm or 0.0
    told = [say(f"book.mark_{key}") for key in marks]
    # A mould of one open half leaves its line round the back alone.
    if line_mm >= _LEAST_LINE_MM and not plan.split.is_open:
        told.append(say("book.mark_line", length=f"{line_mm:.0f}"))
    if not told:
        return say("book.marks_none")
    return say("book.marks", n=len(told), marks=listed(told))


def _size_sentence(plan: Plan) -> str:
    """How large the casting comes out."""
    line = max(plan.bench.fit.lines, key=lambda each: each.original_mm)
    told = {
        "original": f"{line.original_mm:.1f}",
        "low": f"{line.low_mm:.1f}",
        "high": f"{line.high_mm:.1f}",
    }
    verdict = {"may not fit": "book.size_may_not", "does not fit": "book.size_not"}
    return say(verdict.get(line.verdict, "book.size"), **told)


def risk_lines(plan: Plan) -> list[tuple[str, str, str]]:
    """Severity, what happens and what to do, the worst first."""
    found = view.sorted_findings(plan)
    found = [each for each in found if (each.severity, each.code) not in _NO_RISK]
    return [(each.severity, str(each.message), str(each.do)) for each in found]


def more_sentence(*, n_told: int, n_left: int, pages: list[int]) -> str:
    """Where the rest of what can go wrong stands: on other pages, and in the details."""
    see = say("book.see_page", n=len(pages), pages=", ".join(map(str, pages)))
    told = [say("book.more_behind", n=n_told, pages=see)] if n_told else []
    if n_left:
        told.append(say("book.more_findings", n=n_left))
    return " ".join(told)


def number_rows(plan: Plan) -> list[tuple[str, str]]:
    """The numbers that are looked up again and again: box, heights, gate and vents."""
    mould = plan.mould.block
    length_mm, width_mm = mould.inside_mm
    rows = [(say("book.box"), f"{length_mm:.0f} x {width_mm:.0f} mm")]
    if mould.bedding.kind == "clay" and plan.split.line.kind == "level":
        clay_mm = plan.split.line.box_height_mm - mould.low_mm[2]
        rows.append((say("book.clay_up_to"), f"{clay_mm:.1f} mm"))
    is_one = len(mould.pour_order) == 1
    first = say("book.only_pour" if is_one else "book.first_pour")
    rows.append((first, f"{mould.bedding.mark_mm:.0f} mm"))
    if not is_one:
        rows.append((say("book.second_pour_to"), f"{mould.high_mm[2] - mould.low_mm[2]:.0f} mm"))
    vents = [route for route in plan.mould.vents.routes if route.is_open]
    bores = [f"{each.bore_mm:g} mm" for each in vents if each.label.startswith("G")]
    if bores:
        rows.append((say("book.gate", n=len(bores)), ", ".join(bores)))
    widths = Counter(f"{each.bore_mm:g} mm" for each in vents if not each.label.startswith("G"))
    if widths:
        told = ", ".join(say("book.so_many", n=n, across=across) for across, n in widths.items())
        rows.append((say("book.vents", n=sum(widths.values())), told))
    return rows


def amount_rows(plan: Plan) -> list[tuple[str, str]]:
    """Weights and times of the whole job."""
    bench = plan.bench
    cups = bench_view.cups_as_mixes(plan)
    # As the cups are told, so that they add up to it.
    silicone = [
        bench_view.both_text(cup) for mix, cup in cups if mix.half for _ in range(mix.times)
    ]
    rows = [(say("book.silicone_all"), formats.summed(*silicone))]
    rows += bench_view.casting_rows(plan)
    day = day_of(plan, at_min=bench.timeline.finish_min)
    rows.append((say("book.hands"), formats.time_text(bench.buy.hands_on_min)))
    rows.append((say("book.all_done"), say("kinds.on_day", day=day)))
    return rows


def looked_at(plan: Plan) -> Iterator[tuple[Step, list[str]]]:
    """Each step with the titles of the pages and drawings that it needs."""
    pieces = [say("loose_sheet.end", label=piece.label) for piece in plan.split.pieces]
    kind = "plan_view.open_title" if plan.split.is_open else "plan_view.first_title"
    first, second, pour = say(kind), say("plan_view.second_title"), say("plan_view.pour_title")
    section = say("book.section")
    clay = [say("strip.where_the_clay_goes"), say("strip.clay_strip")]
    board = [say("cut_sheet.board_title")] if plan.split.is_cut else [first]
    is_bedded = plan.mould.block.bedding.kind == "clay" and not plan.split.is_cut
    titles = {
        "mark": [*board, *clay[:1], section],
        "fix": [*(clay if is_bedded else board), *([section] if is_bedded else [])],
        "stop": clay[:1],
        "plug": clay[:1],
        **dict.fromkeys(("rods", "slides", "set_in"), pieces),
        "box": board,
        "keys": board,
        "sticks": [*board, pour, section],
        "cut": [say("cut_sheet.plan_title"), say("cut_sheet.strip_title")],
        "cone": [] if plan.split.pieces else [section],
        "close": [pour, *pieces],
        "weigh": [say("book.mixes")],
        "mix": [say("book.mixes")],
    }
    is_turned = False
    for step in plan.bench.schedule.steps:
        is_turned |= step.kind == "turn"
        of_kind = (
            [second, pour, section]
            if step.kind == "sticks" and is_turned
            else titles.get(step.kind)
        )
        yield step, of_kind or []


# On paper, with widths in mm; None is the rest.
_BUY_HEADS = (
    ("book.what", 74.0, True),
    ("book.needed", 52.0),
    ("book.packs", None),
)


def buy_table(plan: Plan) -> tuple[tuple, list[tuple[str, ...]]]:
    """Heads and rows of silicone and resin, with everything that is lost on the way.

    Packs stand beside them where the cards name any.
    """
    rows = []
    for line in plan.bench.buy.lines:
        needed = say("book.mixed", a=weight_text(line.need_a_g), b=weight_text(line.need_b_g))
        packs = ", ".join(f"{n} x {pack.name}" for pack, n in line.packs)
        rows.append((shop_view.card_title(line.card), needed, packs))
    if any(packs for _, _, packs in rows):
        return _BUY_HEADS, rows
    (what, wide_mm, is_bold), (needed, _), _ = _BUY_HEADS
    return ((what, wide_mm, is_bold), (needed, None)), [row[:2] for row in rows]


def losses_sentence(plan: Plan) -> str:
    """What is bought beyond what the first page weighs."""
    return say("book.losses", patch=weight_text(plan.bench.buy.patch_g.value))


# The title over each group says what it is; columns need no heads.
GEAR_HEADS = (("", 72.0, True), ("", 58.0), ("", None))


def gear_rows(lines: list[GearLine]) -> list[tuple[str, str, str]]:
    """What, how much, what for."""
    return [(str(line.what), str(line.amount), formats.capital(line.use)) for line in lines]


def gear_text(line: GearLine) -> str:
    """What and how much in one: ``Scale: reads to 0.1 g``."""
    return say("book.gear", what=line.what, amount=line.amount) if line.amount else str(line.what)
