"""Causes that lie in the mix and its cure: ratio, temperature, moisture, chemistry, time."""

from datetime import date

from castplan import units
from castplan.after.case import LOGGED_WEIGHT, Case, fact, over
from castplan.after.records import Cause
from castplan.bench.compat import FROM_CARDS
from castplan.bench.weigh import ratio_error
from castplan.materials.cards import any_card
from castplan.materials.wording import chemistry_text
from castplan.texts.told import tell

# Humidity up to which urethane is usually cast (common practice, no source).
DRY_FRACTION = 0.5
# Ratio error that a card takes which does not say (assumed).
TOLERANCE_FRACTION = 0.05
# Of a scale's weight where only so small a mix makes it too coarse (assumed).
MIX_TO_BLAME = 0.5


def ratio(case: Case) -> list[Cause]:
    """What was weighed against the card, then what the scale can tell at all."""
    card, pour, cup = case.card, case.pour, case.cup
    known = card.ratio_tolerance_fraction
    tolerance = TOLERANCE_FRACTION if known is None else known.value
    limit = fact(
        100 * tolerance,
        "%",
        "assumed" if known is None else known.basis,
        tell("cause_cure.off_taken"),
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
                    text=tell("cause_cure.ratio", part=more),
                    evidence=(
                        fact(
                            100 * off,
                            "%",
                            "computed",
                            tell(
                                "cause_cure.ratio_off",
                                a=f"{a_g:g} g",
                                b=f"{b_g:g} g",
                                card_a=f"{card.ratio_a.value:g}",
                                card_b=f"{card.ratio_b.value:g}",
                            ),
                        ),
                        limit,
                    ),
                    test=tell("cause_cure.ratio_test"),
                    weight=over(abs(off), limit=tolerance),
                )
            )
    elif cup is not None:
        a_g, b_g = cup.a_g, cup.b_g
    else:
        return causes
    step = _step(case)
    if step is None:
        return causes
    error = ratio_error(a_g=a_g, b_g=b_g, step_g=step.value)
    weight = over(error, limit=tolerance)
    least = card.smallest_mix_g
    if least is not None and error * (a_g + b_g) / least.value <= tolerance:
        weight *= MIX_TO_BLAME  # the scale does for any mix that is not too small anyway
    causes.append(
        Cause(
            code="scale-step",
            text=tell("cause_cure.scale"),
            evidence=(
                step,
                fact(
                    100 * error,
                    "%",
                    "computed",
                    tell("cause_cure.can_be_off", b=f"{units.digits(b_g, 3)} g"),
                ),
                limit,
            ),
            test=tell("cause_cure.scale_test"),
            weight=weight,
        )
    )
    return causes


def _step(case):
    if case.pour.scale_step_g is not None:
        return fact(case.pour.scale_step_g, "g", "measured", tell("cause_cure.step_logged"))
    if case.plan.job.shop.scale_step_g is not None:
        step_g = case.plan.job.shop.scale_step_g
        return fact(step_g, "g", "measured", tell("cause_cure.step_of_shop"))
    return None


def cold(case: Case) -> list[Cause]:
    """Opened before it had set at this temperature."""
    hours, low, high = case.demould_h
    if case.pour.opened_h is not None:
        waited = fact(case.pour.opened_h, "h", "measured", tell("cause_cure.opened_logged"))
    else:
        waited = fact(case.mix.demould_h, "h", "assumed", tell("cause_cure.opened_planned"))
    shop = case.temperature
    is_cold = shop.value < case.card.pot_life_at_c.value - 1
    kind = case.card.kind
    return [
        Cause(
            code="opened-early",
            text=tell(f"cause_cure.cold_{kind}") if is_cold else tell(f"cause_cure.early_{kind}"),
            evidence=(
                shop,
                fact((hours, low, high), "h", "computed", tell("cause_cure.to_demould")),
                waited,
            ),
            test=tell("cause_cure.early_test"),
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
                tell("cause_cure.humidity_limit_not_logged"),
            ),
        )
        weight = 0.3
    else:
        evidence = (
            fact(100 * humidity, "%", "measured", tell("cause_cure.humidity_logged")),
            fact(100 * DRY_FRACTION, "%", "common practice", tell("cause_cure.humidity_limit")),
        )
        weight = over(humidity, limit=DRY_FRACTION)
    scale = 1.0 if case.defect.kind == "pinholes" else 0.6
    return [
        Cause(
            code="moisture",
            text=tell("cause_cure.moisture"),
            evidence=evidence,
            test=tell("cause_cure.moisture_test"),
            weight=scale * weight,
        )
    ]


def small_mix(case: Case) -> list[Cause]:
    """A cup so small that its own heat does not set it."""
    least = case.card.smallest_mix_g
    if least is None:
        return []
    if case.pour.a_g is not None:
        mixed_g = case.pour.a_g + case.pour.b_g
        mass = fact(mixed_g, "g", "measured", tell("cause_cure.mixed_logged"))
    else:
        mass = fact(
            case.cup.mass_g if case.cup else case.mix.mass_g,
            "g",
            "computed",
            tell("cause_cure.mixed_planned"),
        )
    if mass.value >= least.value:
        return []
    return [
        Cause(
            code="small-mix",
            text=tell("cause_cure.small_mix"),
            evidence=(mass, fact(least.value, "g", least.basis, tell("cause_cure.least_mix"))),
            test=tell("cause_cure.small_mix_test"),
            weight=0.6 * over(least.value, limit=mass.value),
        )
    ]


def chemistry(case: Case) -> list[Cause]:
    """What touches the resin and may keep it from setting."""
    causes = []
    is_planned_resin = case.card.chemistry == any_card(case.plan.job.resin).chemistry
    for line in case.plan.bench.compat.lines:
        is_touched = line.meets == case.card.chemistry
        if line.what == FROM_CARDS:  # the resin itself is what meets the silicone
            is_touched = is_touched or is_planned_resin
        if line.verdict == "fine" or not is_touched:
            continue
        causes.append(
            Cause(
                code="chemistry",
                text=tell(
                    f"cause_cure.touch_{line.what}",
                    used=line.used,
                    chemistry=chemistry_text(line.meets),
                    reason=line.reason,
                    source=line.source,
                ),
                evidence=(),
                test=tell("cause_cure.touch_test"),
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
    cards = {line.material or case.plan.job.silicone for line in made}
    full_h = max(any_card(name).full_cure_h.value for name in cards)
    weight = 0.8 * over(full_h / 24, limit=max(days, 0.5))
    # Condensation silicone gives off alcohol until it has aired, and that keeps
    # resin soft; the dates prove it where even the next day is too early.
    gives_off = any(any_card(name).chemistry == "tin-cure" for name in cards)
    if gives_off and 24 * (days + 1) <= full_h:
        weight = LOGGED_WEIGHT
    return [
        Cause(
            code="fresh-mould",
            text=tell("cause_cure.fresh_mould"),
            evidence=(
                fact(days, "days", "measured", tell("cause_cure.mould_old")),
                fact(full_h / 24, "days", "computed", tell("cause_cure.full_cure")),
            ),
            test=tell("cause_cure.fresh_mould_test"),
            weight=weight,
        )
    ]


def streaks(case: Case) -> list[Cause]:
    """Soft at one place only: unmixed resin from the cup's wall."""
    is_local = case.defect.where_mm is not None
    kind = case.card.kind
    text = tell(f"cause_cure.streak_{kind}") if is_local else tell(f"cause_cure.unmixed_{kind}")
    return [
        Cause(
            code="streaks",
            text=text,
            evidence=(),
            test=tell("cause_cure.streaks_test"),
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
            text=tell("cause_cure.lot"),
            evidence=(
                fact(bad, "pours", "measured", tell("cause_cure.lot_bad")),
                fact(good, "pours", "measured", tell("cause_cure.lot_good")),
            ),
            test=tell("cause_cure.lot_test"),
            weight=0.7 * bad / (bad + good),
        )
    ]
