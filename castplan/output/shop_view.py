"""What to buy, how it fits, how hot it gets and when things happen, in words and rows."""

import datetime

from castplan.materials.cards import load_cards
from castplan.materials.wording import volume_text, weight_text
from castplan.model import BuyLine, CompatLine, FitLine, Plan, Task
from castplan.output import formats
from castplan.output.bench_view import number_text

_VERDICTS = {"stop": "STOP", "patch": "test patch", "fine": "fine"}
_MIN_PER_DAY = 24 * 60
# Not strftime: the names would follow the machine's language.
_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]


def card_title(card_id: str) -> str:
    """What a card is called; its id where it is gone."""
    card = load_cards().get(card_id)
    return card.title if card else card_id


def money_text(amount: float | None, currency: str) -> str:
    """``32.50 EUR``; a dash where a price is missing."""
    return "-" if amount is None else f"{amount:.2f} {currency}".strip()


def buy_row(line: BuyLine, currency: str) -> tuple[str, str, str, str, str]:
    """Material, needed, packs, left, cost."""
    need = f"{weight_text(line.need_a_g)} A + {weight_text(line.need_b_g)} B [c]"
    if line.cost is None:
        return card_title(line.card), need, "no packs given that cover it", "-", "-"
    packs = ", ".join(f"{n} x {pack.name}" for pack, n in line.packs)
    left = f"{weight_text(line.left_a_g)} A + {weight_text(line.left_b_g)} B"
    if line.shelf_life_months is not None:
        left += f", good for {line.shelf_life_months:g} months"
    return card_title(line.card), need, packs, left, money_text(line.cost, currency)


def buy_sentences(plan: Plan) -> list[str]:
    """Moulds, quote, the usual guess beside the silicone, and the limits of a cup."""
    buy, amounts = plan.buy, plan.amounts
    moulds = "1 mould" if buy.n_moulds == 1 else f"{buy.n_moulds} moulds"
    copies = "1 copy" if buy.copies == 1 else f"{buy.copies} copies"
    lines = [
        f"{copies} from {moulds}, at {number_text(buy.mould_life_casts)} each.",
        f"Hands on: {formats.time_text(buy.mould_hands_on_min)} for a mould, "
        f"{formats.time_text(buy.copy_hands_on_min)} for a copy [a].",
    ]
    if buy.total_cost is not None:
        rate = money_text(plan.job.shop.hourly_rate, buy.currency)
        lines.append(
            f"Quote: material {money_text(buy.material_cost, buy.currency)}, work "
            f"{money_text(buy.labour_cost, buy.currency)} at {rate} an hour, together "
            f"{money_text(buy.total_cost, buy.currency)}: "
            f"{money_text(buy.mould_cost, buy.currency)} a mould, "
            f"{money_text(buy.copy_cost, buy.currency)} a copy with its share of the moulds."
        )
    else:
        lines.append("No quote: give packs, prices and an hourly rate in a shop file (--shop).")
    lines.append(
        f"Silicone from the solids of the two halves: {weight_text(amounts.silicone_g)} [c] a "
        f"mould. Box less bounding box, the usual guess: {weight_text(amounts.bounding_box_g)}."
    )
    lines += [
        f"{limit.pour}: at most {weight_text(limit.largest_g)} in one cup, because {limit.reason}."
        for limit in plan.weigh.limits
    ]
    lines += [
        f"{name}: a brushed first coat takes about {weight_text(mass_g)} of it."
        for name, mass_g in plan.weigh.brush_g
    ]
    return lines


def rests_on(plan: Plan) -> list[str]:
    """The numbers that cups and their limits rest on, one paragraph."""
    told = "; ".join(formats.sourced_text(number) for number in plan.weigh.assumptions)
    return [f"The cups rest on: {told}."]


def water_sentence(plan: Plan) -> str:
    """The measured original against the mesh."""
    water = plan.water
    if water is None:
        return (
            "The original was not measured. Sink it in water before you buy: it should push aside "
            f"{volume_text(plan.mould.part_ml)} [c]."
        )
    rest = f" Likely: {'; '.join(water.causes)}." if water.causes else ""
    return (
        f"By {water.method} the original holds {volume_text(water.measured_ml)} [m], the mesh "
        f"{volume_text(water.computed_ml)} [c]: {100 * water.difference_fraction:+.1f} %. The "
        f"amounts follow the measured one.{rest}"
    )


def fit_row(line: FitLine) -> tuple[str, str, str, str, str]:
    """What, original, copy with its interval, allowed, verdict."""
    allowed = "-"
    if line.tolerance_mm is not None:
        how = f" ({line.tolerance_class})" if line.tolerance_class else ""
        allowed = f"\u00b1 {line.tolerance_mm:g} mm{how}"
    verdict = line.verdict
    if line.verdict == "not asked":
        finest = line.finest_class
        verdict = f"keeps class {finest}" if finest else "keeps no class"
    copy = f"{line.copy_mm:.2f} ({line.low_mm:.2f} to {line.high_mm:.2f}) mm"
    return line.name, f"{line.original_mm:.2f} mm", copy, allowed, verdict


def fit_sentences(plan: Plan) -> list[str]:
    """Shrinkage, the scale of a printed original, and which standard the classes are."""
    shrinkage, scale = plan.fit.shrinkage, plan.fit.print_scale
    return [
        f"Mould and resin together shrink by {100 * shrinkage.value:.2g} % "
        f"({100 * shrinkage.low:.2g} to {100 * shrinkage.high:.2g} %) [c].",
        f"Scale a printed original by {scale.value:.4f} ({scale.low:.4f} to {scale.high:.4f}) [c] "
        "if the copy has to have its size.",
        "Classes are those of ISO 2768-1: f fine, m medium, c coarse, v very coarse. "
        "Lengths are of the original as scanned; what the scan is off comes on top.",
    ]


def heat_sentences(plan: Plan) -> list[str]:
    """Thickness, ceiling of heat, and the place of the part."""
    heat = plan.heat
    lines = [f"Thickest: {heat.thickest_mm:.1f} mm [c]."]
    if heat.limit_mm is not None:
        lines[0] = (
            f"Thickest: {heat.thickest_mm:.1f} mm [c]; this resin takes {heat.limit_mm:g} mm, "
            f"{formats.percent_text(heat.over_limit_fraction)} of the part is thicker."
        )
    if heat.rise_c is not None:
        lines.append(
            f"If no heat left it, the resin would warm by {heat.rise_c.value:.0f} C "
            f"({heat.rise_c.low:.0f} to {heat.rise_c.high:.0f}) [c]: a ceiling, in a full cup of "
            f"{weight_text(heat.largest_cup_g)} nearer than in a thin cast."
        )
    softens = f"The cast softens from about {number_text(heat.softens_c)}"
    if heat.place_c is None:
        lines.append(f"{softens}. Where it will live was not said (--place).")
    else:
        place = heat.place_c
        hot_c = place.value if place.high is None else place.high
        verdict = "too hot for it" if hot_c >= heat.softens_c.value else "cool enough"
        lines.append(
            f"{softens}; where it will live ({heat.place}) it gets {number_text(place)}: {verdict}."
        )
    return lines


def compat_row(line: CompatLine) -> tuple[str, str, str]:
    """Pair, verdict, reason with its basis."""
    pair = f"{line.what}: {line.used} with {line.meets}"
    return pair, _VERDICTS[line.verdict], f"{line.reason} {formats.mark(line.basis)}"


def unsaid_sentence(plan: Plan) -> str:
    """What the shop did not name; empty when it named all."""
    unsaid = plan.compat.unsaid
    if not unsaid:
        return ""
    return (
        f"Not said, so not checked: {', '.join(unsaid)}. Name them with --uses or in the shop "
        "file; the test patch decides in any case."
    )


def clock_text(plan: Plan, *, at_min: float) -> str:
    """A time of the job: ``Tue 1 Dec 08:15``, or ``day 2 08:15`` without a start."""
    timeline = plan.timeline
    if timeline.start is not None:
        start = datetime.datetime.fromisoformat(timeline.start)
        when = start + datetime.timedelta(minutes=round(at_min))
        day = f"{_DAYS[when.weekday()]} {when.day} {_MONTHS[when.month - 1]}"
        return f"{day} {when:%H:%M}"
    day, rest = divmod(round(timeline.first_start_h * 60 + at_min), _MIN_PER_DAY)
    return f"day {day + 1} {rest // 60:02d}:{rest % 60:02d}"


def task_name(task: Task) -> str:
    """``4 patch``, or ``21 mix, copy 2``: number and kind of the step."""
    name = f"{task.step} {task.label}".rstrip()
    return f"{name}, copy {task.copy}" if task.copy else name


def task_row(plan: Plan, task: Task) -> tuple[str, str, str, str, str]:
    """Task, starts, hands free, done, what it leaves."""
    room = "sets the end" if task.is_critical else f"{formats.time_text(task.slack_min)} to spare"
    return (
        task_name(task),
        clock_text(plan, at_min=task.start_min),
        clock_text(plan, at_min=task.hands_end_min),
        clock_text(plan, at_min=task.end_min),
        room,
    )


def timeline_sentence(plan: Plan) -> str:
    """From when to when, for how many copies, by which hours."""
    timeline = plan.timeline
    copies = "1 copy" if timeline.n_copies == 1 else f"{timeline.n_copies} copies"
    first = clock_text(plan, at_min=0.0)
    last = clock_text(plan, at_min=timeline.finish_min)
    return (
        f"From {first} to {last} for one mould and {copies} [a]: one pair of hands, from "
        f"{_hour(timeline.day_start_h)} to {_hour(timeline.day_end_h)} every day, cures through "
        "the night. Cure times are of the cards; minutes of handwork are assumed."
    )


def _hour(hours: float) -> str:
    whole, minutes = divmod(round(hours * 60), 60)
    return f"{whole:02d}:{minutes:02d}"
