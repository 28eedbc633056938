"""What to buy, how it fits, how hot it gets and when things happen, in words and rows."""

import datetime

from castplan import units
from castplan.bench.records import BuyLine, CompatLine, FitLine, Task
from castplan.materials.cards import load_cards
from castplan.materials.wording import chemistry_text, thing_text, volume_text, weight_text
from castplan.plan_record import Plan
from castplan.texts import say
from castplan.texts.names import length_name, place_name, pour_name
from castplan.texts.told import clauses, in_a_row
from castplan.words import formats
from castplan.words.bench import number_text

_VERDICTS = {"stop": "shop.stop", "patch": "shop.test_patch", "fine": "shop.fine"}
_FITS = {
    "fits": "shop.fits",
    "may not fit": "shop.may_not_fit",
    "does not fit": "shop.does_not_fit",
}
_MIN_PER_DAY = 24 * 60
# Not strftime: the names would follow the machine's language.
_DAYS = ("shop.mon", "shop.tue", "shop.wed", "shop.thu", "shop.fri", "shop.sat", "shop.sun")
_MONTHS = [
    "shop.jan",
    "shop.feb",
    "shop.mar",
    "shop.apr",
    "shop.may",
    "shop.jun",
    "shop.jul",
    "shop.aug",
    "shop.sep",
    "shop.oct",
    "shop.nov",
    "shop.dec",
]


def card_title(card_id: str) -> str:
    """What a card is called; its id where it is gone."""
    card = load_cards().get(card_id)
    return str(card.title) if card else card_id


def money_text(amount: float | None, currency: str) -> str:
    """``32.50 EUR``; a dash where a price is missing."""
    return "-" if amount is None else f"{amount:.2f} {currency}".strip()


# On sheets and pages, with widths on paper in mm; None is the rest.
BUY_HEADS = (
    ("column.material", 41),
    ("column.need", 44.6),
    ("column.packs", 33.5),
    ("column.left", 39),
    ("column.cost", None),
)


def buy_row(line: BuyLine, currency: str) -> tuple[str, str, str, str, str]:
    """Material, needed, packs, left, cost."""
    need = f"{weight_text(line.need_a_g)} A + {weight_text(line.need_b_g)} B"
    if line.cost is None:
        return card_title(line.card), need, say("shop.no_packs_given_that_cover"), "-", "-"
    packs = ", ".join(f"{n} x {pack.name}" for pack, n in line.packs)
    left = f"{weight_text(line.left_a_g)} A + {weight_text(line.left_b_g)} B"
    if line.shelf_life_months is not None:
        left += say("shop.good_for_months", shelf_life_months=f"{line.shelf_life_months:g}")
    elif line.closed_months is not None:
        left += say("shop.closed_for_months", months=f"{line.closed_months.value:g}")
    if line.opened_months is not None:
        left += say(
            "shop.opened_for_months",
            months=f"{line.opened_months.value:g}",
            mark=formats.behind(line.opened_months.basis),
        )
    return card_title(line.card), need, packs, left, money_text(line.cost, currency)


def buy_sentences(plan: Plan) -> list[str]:
    """Moulds, quote, the usual guess beside the silicone, and the limits of a cup."""
    buy, amounts = plan.bench.buy, plan.bench.amounts
    moulds, copies = say("shop.moulds", n=buy.n_moulds), say("shop.copies", n=buy.copies)
    lines = [
        say(
            "shop.from_at_each",
            copies=copies,
            moulds=moulds,
            mould_life_casts=number_text(buy.mould_life_casts),
            patch=number_text(buy.patch_g),
        ),
        say(
            "shop.hands_on_for_a_mould",
            once_hands_on=formats.time_text(buy.once_hands_on_min),
            mould_hands_on=formats.time_text(buy.mould_hands_on_min),
            copy_hands_on=formats.time_text(buy.copy_hands_on_min),
        ),
    ]
    if buy.total_cost is not None:
        rate = money_text(plan.job.shop.hourly_rate, buy.currency)
        lines.append(
            say(
                "shop.quote_material_work_at_an",
                material_cost=money_text(buy.material_cost, buy.currency),
                labour_cost=money_text(buy.labour_cost, buy.currency),
                rate=rate,
                total_cost=money_text(buy.total_cost, buy.currency),
                mould_cost=money_text(buy.mould_cost, buy.currency),
                copy_cost=money_text(buy.copy_cost, buy.currency),
            )
        )
    else:
        lines.append(say("shop.no_quote_give_packs_prices"))
    lines.append(
        say(
            "cut.silicone_from_the_solid"
            if plan.split.is_one_pour
            else "shop.silicone_from_the_solids_of",
            silicone=weight_text(amounts.silicone_g),
            bounding_box=weight_text(amounts.bounding_box_g),
        )
    )
    lines += [
        say(
            "shop.at_most_in_one_cup",
            pour=pour_name(limit.pour),
            largest=weight_text(limit.largest_g),
            reason=limit.reason,
        )
        for limit in plan.bench.weigh.limits
    ]
    lines += [
        say("shop.a_brushed_first_coat_takes", name=pour_name(name), mass=weight_text(mass_g))
        for name, mass_g in plan.bench.weigh.brush_g
    ]
    return lines


def rests_on(plan: Plan) -> list[str]:
    """The numbers that cups and their limits rest on, one paragraph."""
    told = "; ".join(formats.sourced_text(number) for number in plan.bench.weigh.assumptions)
    return [say("shop.the_cups_rest_on", told=told)]


def water_sentence(plan: Plan) -> str:
    """The measured original against the mesh."""
    water = plan.mould.water
    if water is None:
        return say(
            "shop.the_original_was_not_measured", volume=volume_text(plan.mould.block.part_ml)
        )
    likely = say("shop.likely", causes=clauses(water.causes)) if water.causes else ""
    return say(
        f"shop.by_{water.method}",
        measured=volume_text(water.measured_ml),
        computed=volume_text(water.computed_ml),
        difference_fraction=f"{100 * water.difference_fraction:+.1f}",
        used=say(f"shop.{_amounts_by(water)}"),
        likely=likely,
    )


def _amounts_by(water):
    if not water.is_contradicted:
        return f"amounts_follow_{water.uses}"
    if water.uses == "measured":
        return "resin_follows_measured"
    if water.difference_fraction > 0:
        return "measured_passes_box"
    return f"resin_follows_mesh_{water.method}"


def fit_row(line: FitLine) -> tuple[str, str, str, str, str]:
    """What, original, copy with its interval, allowed, verdict."""
    allowed = "-"
    if line.tolerance_mm is not None:
        how = f" ({line.tolerance_class})" if line.tolerance_class else ""
        allowed = f"\u00b1 {line.tolerance_mm:g} mm{how}"
    verdict = "" if line.verdict == "not asked" else say(_FITS[line.verdict])
    if line.verdict == "not asked":
        finest = line.finest_class
        verdict = say("shop.keeps_class", finest=finest) if finest else say("shop.keeps_no_class")
    copy = say(
        "shop.to_mm",
        copy=f"{line.copy_mm:.2f}",
        low=f"{line.low_mm:.2f}",
        high=f"{line.high_mm:.2f}",
    )
    return str(length_name(line.name)), f"{line.original_mm:.2f} mm", copy, allowed, verdict


def fit_sentences(plan: Plan) -> list[str]:
    """Shrinkage, the scale of a printed original, and which standard the classes are."""
    shrinkage, scale = plan.bench.fit.shrinkage, plan.bench.fit.print_scale
    return [
        say(
            "shop.mould_and_resin_together_shrink",
            value=units.digits(100 * shrinkage.value, 2),
            low=units.digits(100 * shrinkage.low, 2),
            high=units.digits(100 * shrinkage.high, 2),
        ),
        say(
            "shop.scale_a_printed_original_by",
            value=f"{scale.value:.4f}",
            low=f"{scale.low:.4f}",
            high=f"{scale.high:.4f}",
        ),
        *_share_sentences(plan.bench.fit),
        say("shop.classes_are_those_of_iso"),
    ]


def _share_sentences(fit):
    """What the shrinkage is made of, and what changes in the mould's first week."""
    for share in fit.shares:
        number = share.fraction
        grows = share.code == "resin" and number.value < 0
        ends = [number.value if v is None else v for v in (number.value, number.low, number.high)]
        if grows:
            ends = [-ends[0], -ends[2], -ends[1]]
        value, low, high = (units.digits(100 * end, 2) for end in ends)
        key = "shop.share_resin_grows" if grows else f"shop.share_{share.code}"
        yield say(key, value=value, low=low, high=high)
    if fit.later is not None:
        yield say("shop.share_later", high=units.digits(100 * fit.later.high, 2))


def heat_sentences(plan: Plan) -> list[str]:
    """Thickness, ceiling of heat, and the place of the part."""
    heat = plan.bench.heat
    lines = [say("shop.thickest_mm_c", thickest=f"{heat.thickest_mm:.1f}")]
    if heat.limit_mm is not None:
        lines[0] = say(
            "shop.thickest_mm_c_this_resin",
            thickest=f"{heat.thickest_mm:.1f}",
            limit=f"{heat.limit_mm:g}",
            over_limit_fraction=formats.percent_text(heat.over_limit_fraction),
        )
    if heat.peak_c is not None:
        lines.append(
            say(
                "shop.how_warm_it_gets",
                value=f"{heat.peak_c.value:.0f}",
                low=f"{heat.peak_c.low:.0f}",
                high=f"{heat.peak_c.high:.0f}",
                thin=f"{heat.thin_c.value:.0f}",
                cup_low=f"{heat.cup_c.low:.0f}",
                cup_high=f"{heat.cup_c.high:.0f}",
                largest_cup=weight_text(heat.largest_cup_g),
            )
        )
    softens = number_text(heat.softens_c)
    if heat.place_c is None:
        lines.append(say("shop.where_it_will_live_was", softens=softens))
    else:
        place = heat.place_c
        hot_c = place.value if place.high is None else place.high
        is_hot = hot_c >= heat.softens_c.value
        lines.append(
            say(
                "shop.place_too_hot" if is_hot else "shop.place_cool_enough",
                softens=softens,
                place=place_name(heat.place),
                warmth=number_text(place),
            )
        )
    return lines


def compat_row(line: CompatLine) -> tuple[str, str, str]:
    """Pair, verdict, reason with its basis."""
    pair = say(
        "shop.with",
        what=thing_text(line.what),
        used=line.used,
        meets=chemistry_text(line.meets),
    )
    return pair, say(_VERDICTS[line.verdict]), f"{line.reason}{formats.behind(line.basis)}"


def unsaid_sentence(plan: Plan) -> str:
    """What the shop did not name; empty when it named all."""
    unsaid = plan.bench.compat.unsaid
    if not unsaid:
        return ""
    return say("shop.not_said_so_not_checked", unsaid=in_a_row(map(thing_text, unsaid)))


def clock_text(plan: Plan, *, at_min: float) -> str:
    """A time of the job: ``Tue 1 Dec 08:15``, or ``day 2 08:15`` without a start."""
    timeline = plan.bench.timeline
    if timeline.start is not None:
        start = datetime.datetime.fromisoformat(timeline.start)
        when = start + datetime.timedelta(minutes=round(at_min))
        return say(
            "shop.date_and_time",
            weekday=say(_DAYS[when.weekday()]),
            day=when.day,
            month=say(_MONTHS[when.month - 1]),
            time=f"{when:%H:%M}",
        )
    day, rest = divmod(round(timeline.first_start_h * 60 + at_min), _MIN_PER_DAY)
    return say("shop.day", day=day + 1, time=f"{rest // 60:02d}:{rest % 60:02d}")


def task_name(task: Task) -> str:
    """``4 patch``, ``21 mix, casting 2`` or ``8 box, mould 2``: number and name of the step."""
    name = str(task.step)
    if task.label:
        name += f" {say(f'step_name.{task.label}')}"
    if task.copy:
        return say("shop.copy_2", name=name, copy=task.copy)
    return say("shop.of_mould", name=name, mould=task.mould) if task.mould > 1 else name


def task_row(plan: Plan, task: Task) -> tuple[str, str, str, str, str]:
    """Task, starts, hands free, done, what it leaves."""
    room = (
        say("shop.sets_the_end")
        if task.is_critical
        else say("shop.to_spare", slack=formats.time_text(task.slack_min))
    )
    return (
        task_name(task),
        clock_text(plan, at_min=task.start_min),
        clock_text(plan, at_min=task.hands_end_min),
        clock_text(plan, at_min=task.end_min),
        room,
    )


def timeline_sentence(plan: Plan) -> str:
    """From when to when, for how many copies, by which hours."""
    timeline = plan.bench.timeline
    moulds = say("shop.moulds", n=timeline.n_moulds)
    copies = say("shop.copies", n=timeline.n_copies)
    first = clock_text(plan, at_min=0.0)
    last = clock_text(plan, at_min=timeline.finish_min)
    return say(
        "shop.from_to_for_one_mould",
        first=first,
        last=last,
        moulds=moulds,
        copies=copies,
        day_start=_hour(timeline.day_start_h),
        day_end=_hour(timeline.day_end_h),
    )


def _hour(hours: float) -> str:
    whole, minutes = divmod(round(hours * 60), 60)
    return f"{whole:02d}:{minutes:02d}"
