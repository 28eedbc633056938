"""Causes that lie in the mix and its cure: ratio, temperature, moisture, chemistry, time."""

from datetime import date

from castplan.after.case import Case, fact, over
from castplan.materials.cards import any_card
from castplan.model import Cause
from castplan.stages.weigh import ratio_error

# Humidity up to which urethane is usually cast (suppliers' public pages).
DRY_FRACTION = 0.5
# Ratio error that a card takes which does not say (assumed).
TOLERANCE_FRACTION = 0.05


def ratio(case: Case) -> list[Cause]:
    """What was weighed against the card, then what the scale can tell at all."""
    card, pour, cup = case.card, case.pour, case.cup
    known = card.ratio_tolerance_fraction
    tolerance = TOLERANCE_FRACTION if known is None else known.value
    limit = fact(
        100 * tolerance,
        "%",
        "assumed" if known is None else known.basis,
        "off ratio that the material takes",
    )
    wanted = card.ratio_b.value / card.ratio_a.value
    causes = []
    if pour.a_g is not None:
        a_g, b_g = pour.a_g, pour.b_g
        off = (b_g / a_g) / wanted - 1
        if abs(off) > 1e-3:
            more = "B" if off > 0 else "A"
            causes.append(
                Cause(
                    code="ratio",
                    text=f"Too much {more} went in for the ratio of the card.",
                    evidence=(
                        fact(
                            100 * off,
                            "%",
                            "computed",
                            f"B to A off: {a_g:g} g A and {b_g:g} g B "
                            f"by the log against {card.ratio_a.value:g}:{card.ratio_b.value:g}",
                        ),
                        limit,
                    ),
                    test="Weigh a small cup exactly to the card from the same tins; if it sets "
                    "hard, the weighing was it.",
                    weight=over(abs(off), limit=tolerance),
                )
            )
    elif cup is not None:
        a_g, b_g = cup.a_g, cup.b_g
    else:
        return causes
    step_g, basis, who = _step(case)
    if step_g is None:
        return causes
    error = ratio_error(a_g=a_g, b_g=b_g, step_g=step_g)
    causes.append(
        Cause(
            code="scale-step",
            text="The scale is too coarse for this cup: the ratio may be off by more than the "
            "material takes.",
            evidence=(
                fact(step_g, "g", basis, f"step of the scale, {who}"),
                fact(
                    100 * error, "%", "computed", f"that the ratio can be off at {b_g:.3g} g of B"
                ),
                limit,
            ),
            test="Weigh the same cup on a scale that reads a tenth of this step.",
            weight=over(error, limit=tolerance),
        )
    )
    return causes


def _step(case):
    if case.pour.scale_step_g is not None:
        return case.pour.scale_step_g, "measured", "by the log"
    if case.plan.job.shop.scale_step_g is not None:
        return case.plan.job.shop.scale_step_g, "measured", "by the shop's file"
    return None, "", ""


def cold(case: Case) -> list[Cause]:
    """Opened before it had set at this temperature."""
    hours, low, high = case.demould_h
    if case.pour.opened_h is not None:
        waited = fact(case.pour.opened_h, "h", "measured", "to opening, by the log")
    else:
        waited = fact(case.mix.demould_h, "h", "assumed", "to opening, by the plan; not in the log")
    shop = case.temperature
    is_cold = shop.value < case.card.pot_life_at_c.value - 1
    how = "It was cold and opened too soon" if is_cold else "It was opened too soon"
    text = f"{how}: the {case.card.kind} had not set."
    return [
        Cause(
            code="opened-early",
            text=text,
            evidence=(
                shop,
                fact(hours, "h", "computed", "to demould at this temperature", low=low, high=high),
                waited,
            ),
            test="Keep it a day at 23 C or a little warmer: if it hardens, time and warmth "
            "were missing, not ratio.",
            weight=over(hours, limit=waited.value * 1.1),
        )
    ]


def moisture(case: Case) -> list[Cause]:
    """Water in air, tins or tools, which urethane turns into gas."""
    if case.card.chemistry != "polyurethane":
        return []
    humidity = case.pour.humidity_fraction
    if humidity is None:
        evidence = (
            fact(
                100 * DRY_FRACTION,
                "%",
                "common practice",
                "relative humidity to stay under; not in the log",
            ),
        )
        weight = 0.3
    else:
        evidence = (
            fact(100 * humidity, "%", "measured", "relative humidity, by the log"),
            fact(100 * DRY_FRACTION, "%", "common practice", "to stay under"),
        )
        weight = over(humidity, limit=DRY_FRACTION)
    scale = 1.0 if case.defect.kind == "pinholes" else 0.6
    return [
        Cause(
            code="moisture",
            text="Moisture: urethane foams on water from the air, an open tin or a wooden stick.",
            evidence=evidence,
            test="Pour a little of each tin into a dry plastic cup and mix with metal: if it foams "
            "there too, the tin is wet.",
            weight=scale * weight,
        )
    ]


def small_mix(case: Case) -> list[Cause]:
    """A cup so small that its own heat does not set it."""
    least = case.card.smallest_mix_g
    if least is None:
        return []
    if case.pour.a_g is not None:
        mass = fact(case.pour.a_g + case.pour.b_g, "g", "measured", "mixed, by the log")
    else:
        mass = fact(
            case.cup.mass_g if case.cup else case.mix.mass_g,
            "g",
            "computed",
            "mixed, by the plan; not in the log",
        )
    if mass.value >= least.value:
        return []
    return [
        Cause(
            code="small-mix",
            text="The mix was small: little heat of its own, and the ratio drifts.",
            evidence=(mass, fact(least.value, "g", least.basis, "smallest sensible mix")),
            test="Mix the smallest sensible cup and pour what is over into a dish beside it.",
            weight=0.6 * over(least.value, limit=mass.value),
        )
    ]


def chemistry(case: Case) -> list[Cause]:
    """What touches the resin and may keep it from setting."""
    causes = []
    for line in case.plan.compat.lines:
        if line.verdict == "fine" or case.card.chemistry not in (line.used, line.meets):
            continue
        causes.append(
            Cause(
                code="chemistry",
                text=f"{line.what.capitalize()} {line.used} meets {line.meets}: {line.reason} "
                f"({line.source}).",
                evidence=(),
                test="Set a drop of the mix on both and look after the time to demould.",
                weight=0.45 if line.verdict == "stop" else 0.25,
            )
        )
    return causes


def fresh_mould(case: Case) -> list[Cause]:
    """A mould cast into before its rubber had cured and aired."""
    silicone = [line for line in case.log.pours if line.pour != "copy"]
    made = [line for line in silicone if line.mould == case.pour.mould]
    if not made:
        return []
    days = (date.fromisoformat(case.pour.date) - max(date.fromisoformat(x.date) for x in made)).days
    from_card = case.plan.job.silicone
    cards = {line.material for line in made} or {from_card}
    full_h = max(any_card(name).full_cure_h.value for name in cards)
    return [
        Cause(
            code="fresh-mould",
            text="The mould was fresh: gas and alcohol from its rubber go into the resin.",
            evidence=(
                fact(
                    days, "days", "measured", "from the last silicone pour to this one, by the log"
                ),
                fact(full_h / 24, "days", "computed", "to the rubber's full cure, by its card"),
            ),
            test="Bake the open mould at 65 C at most for 4 h, or air it a day, and cast again.",
            weight=0.8 * over(full_h / 24, limit=max(days, 0.5)),
        )
    ]


def streaks(case: Case) -> list[Cause]:
    """Soft at one place only: unmixed resin from the cup's wall."""
    is_local = case.defect.where_mm is not None
    text = f"Unmixed {case.card.kind} from the wall of the cup got into the pour"
    text += ": it is soft at one place, as streaks are." if is_local else "."
    return [
        Cause(
            code="streaks",
            text=text,
            evidence=(),
            test="Mix, scrape, pour over into a second cup and mix again.",
            weight=0.35 if is_local else 0.12,
        )
    ]


def same_lot(case: Case) -> list[Cause]:
    """Tins that failed in this way each time, where others did not."""
    if not case.pour.lots:
        return []
    bad = good = 0
    for line in case.log.pours:
        if line.pour != case.pour.pour or set(line.lots).isdisjoint(case.pour.lots):
            continue
        has = any(other.kind == case.defect.kind for other in line.defects)
        bad, good = bad + has, good + (not has)
    if bad < 2:
        return []
    return [
        Cause(
            code="lot",
            text="Pours from these tins keep failing this way.",
            evidence=(
                fact(bad, "pours", "measured", "from the same lot with this defect, by the log"),
                fact(good, "pours", "measured", "from it without"),
            ),
            test="Cast once from fresh tins, all else the same.",
            weight=0.7 * bad / (bad + good),
        )
    ]
