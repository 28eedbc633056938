"""The booklet's own sentences: what is decided, what it takes, what can go wrong."""

from castplan.bench.records import GearLine
from castplan.materials.wording import weight_text
from castplan.plan_record import Plan
from castplan.texts import say
from castplan.words import bench as bench_view
from castplan.words import formats
from castplan.words import plan as view
from castplan.words import shop as shop_view
from castplan.words.kinds import kind_sentence

_MOST_RISKS = 6
_MIN_PER_DAY = 24 * 60


def decision_lines(plan: Plan) -> list[str]:
    """Which mould, how it is parted, how it stands: a sentence or two each."""
    return [kind_sentence(plan), *(decision.sentence for decision in view.decisions(plan))]


def risk_lines(plan: Plan) -> list[tuple[str, str, str]]:
    """Severity, what happens and what to do, the worst first; no more than fit a page."""
    found = view.sorted_findings(plan)[:_MOST_RISKS]
    return [(each.severity, str(each.message), str(each.do)) for each in found]


def more_sentence(plan: Plan, *, n_shown: int) -> str:
    """How many findings stand elsewhere."""
    n = len(plan.findings) - n_shown
    return say("book.more_findings", n=n) if n else ""


def amount_rows(plan: Plan) -> list[tuple[str, str]]:
    """Weights and times of the whole job."""
    bench = plan.bench
    mixes = [mix for mix, _ in bench_view.cups_as_mixes(plan) if not mix.half]
    silicone_g = sum(mix.mass_g * mix.times for mix in bench.amounts.mixes if mix.half)
    rows = [(say("book.silicone_all"), weight_text(silicone_g))]
    if mixes:
        rows.append((say("book.resin_shot"), weight_text(sum(mix.mass_g for mix in mixes))))
    day = int((60 * bench.timeline.first_start_h + bench.timeline.finish_min) // _MIN_PER_DAY) + 1
    rows.append((say("book.hands"), formats.time_text(bench.buy.hands_on_min)))
    rows.append((say("book.all_done"), say("kinds.on_day", day=day)))
    return rows


# On paper, with widths in mm; None is the rest.
BUY_HEADS = (
    ("book.what", 58.0, True),
    ("book.needed", 58.0),
    ("book.packs", None),
)


def buy_rows(plan: Plan) -> list[tuple[str, str, str]]:
    """Silicone and resin, with everything that is lost on the way."""
    rows = []
    for line in plan.bench.buy.lines:
        needed = say("book.mixed", a=weight_text(line.need_a_g), b=weight_text(line.need_b_g))
        packs = ", ".join(f"{n} x {pack.name}" for pack, n in line.packs)
        rows.append((shop_view.card_title(line.card), needed, packs or "-"))
    return rows


# The title over each group says what it is; columns need no heads.
GEAR_HEADS = (("", 72.0, True), ("", 58.0), ("", None))


def gear_rows(lines: list[GearLine]) -> list[tuple[str, str, str]]:
    """What, how much, what for."""
    return [(str(line.what), str(line.amount), formats.capital(line.use)) for line in lines]


def gear_text(line: GearLine) -> str:
    """What and how much in one: ``Scale: reads to 0.1 g``."""
    return say("book.gear", what=line.what, amount=line.amount) if line.amount else str(line.what)
