"""What weighing, buying, fit, heat and chemistry say that the shop should know."""

import math

from castplan import units
from castplan.bench.amounts import is_pot_late
from castplan.bench.material_findings import list_material_findings
from castplan.bench.records import Bench
from castplan.job import Job
from castplan.materials.cards import get_card
from castplan.materials.wording import chemistry_text, grams_text
from castplan.mould.records import WaterCheck
from castplan.record import Finding, finding
from castplan.texts import code_key
from castplan.texts.names import length_name, place_name, pour_name
from castplan.texts.told import UNTOLD, clauses, tell

# A cup whose heat ceiling passes this can smoke (from memory).
SMOKES_C = 150.0
# A cup that is poured out within its pot life is no danger under this: about twice
# the mass that pot lives are stated for (assumed).
HOT_CUP_G = 200.0
# Twice the mass that pot lives are stated for (assumed).
LARGE_CUP_G = 200.0
# A casting so light stays cool enough, however thick: the mass below which resins are told
# not to warm (from memory; the cards' least mix says 85 to 100).
SMALL_CAST_G = 85.0
MANY_CASTS = 15  # of the usual 20: wear shows before the end (from memory)


def list_bench_findings(job: Job, water: WaterCheck | None, bench: Bench) -> tuple[Finding, ...]:
    """Read the results of the bench and say what matters.

    Parameters
    ----------
    job, water, bench : records

    Returns
    -------
    tuple of Finding
        In the order of the work.
    """
    return (
        *_compat(bench.compat),
        *_water(water),
        *_weigh(job, bench.weigh),
        *_pot(bench.amounts),
        *list_material_findings(job),
        *_heat(bench.heat),
        *_fit(bench.fit),
        *_buy(job, bench.buy),
    )


def _compat(compat):
    for line in compat.lines:
        if line.verdict == "fine":
            continue
        is_stop = line.verdict == "stop"
        yield finding(
            "incompatible" if is_stop else "test-patch",
            "stop" if is_stop else "note",
            "compat",
            "bench_finding.meets",
            used=line.used,
            chemistry=chemistry_text(line.meets),
            reason=line.reason,
            source=line.source,
            do="bench_finding.meets_stop_do" if is_stop else "bench_finding.meets_patch_do",
        )


def _water(water):
    if water is None or not water.causes:
        return
    is_followed = water.uses == "measured" and not water.is_contradicted
    yield finding(
        "water-differs",
        "warn",
        "water",
        f"bench_finding.{water.method}_differs",
        measured=units.digits(water.measured_ml, 4),
        computed=units.digits(water.computed_ml, 4),
        difference=f"{100 * water.difference_fraction:+.0f}",
        causes=clauses(water.causes),
        do="bench_finding.differs_do" if is_followed else "bench_finding.contradicts_do",
    )


def _overfull(weigh):
    """Limits that the cups of their pours pass, with those cups: more cannot be mixed."""
    for limit in weigh.limits:
        cups = [c for c in weigh.cups if c.pour == limit.pour and not c.is_brush_coat]
        if cups and cups[0].mass_g - cups[0].made_up_g > limit.largest_g * (1 + 1e-9):
            yield limit, cups


def _weigh(job, weigh):
    overfull = {limit.pour: cups for limit, cups in _overfull(weigh)}
    for limit, cups in _overfull(weigh):
        needed = math.ceil(sum(cup.mass_g for cup in cups) / limit.largest_g - 1e-9)
        yield finding(
            "too-many-cups",
            "stop",
            "weigh",
            "bench_finding.too_many_cups",
            pour=pour_name(limit.pour),
            cups=f"{needed:,}",
            largest=f"{limit.largest_g:.0f}",
            most=len(cups),
        )
    for cup in weigh.cups:
        if cup.pour in overfull:
            continue
        if cup.is_too_coarse:
            yield finding(
                "scale-too-coarse",
                "warn",
                "weigh",
                "bench_finding.scale",
                cup=cup.name,
                step=f"{cup.step_g:g}",
                part_b=grams_text(cup.b_g, step_g=cup.aim_step_g),
                error=units.digits(100 * cup.ratio_error_fraction, 2),
                allowed=units.digits(100 * cup.tolerance_fraction, 2),
            )
        if cup.mix_and_pour_min > cup.pour_by_min * (1 + 1e-9):
            yield finding(
                "no-time",
                "stop",
                "weigh",
                "bench_finding.no_time",
                cup=cup.name,
                needed=units.digits(cup.mix_and_pour_min, 2),
                limit=units.digits(cup.pour_by_min, 2),
            )
    largest = max((cup for cup in weigh.cups if cup.card == job.resin), key=lambda c: c.mass_g)
    if largest.mass_g > LARGE_CUP_G:
        yield finding(
            "large-cup",
            "note",
            "weigh",
            "bench_finding.large_cup",
            cup=largest.name,
            mass=f"{largest.mass_g:.0f}",
        )
    for limit in weigh.limits:
        n = sum(cup.pour == limit.pour and not cup.is_brush_coat for cup in weigh.cups)
        if n > 1 and limit.pour not in overfull:
            yield finding(
                "batches",
                "warn",
                "weigh",
                "bench_finding.batches",
                pour=pour_name(limit.pour),
                cups=n,
                largest=f"{limit.largest_g:.0f}",
                reason=limit.reason,
            )


def _pot(amounts):
    """A pressure pot that closes only when the resin is past the time to pour it."""
    for mix in amounts.mixes:
        if is_pot_late(mix):
            is_lost = mix.closing_min >= mix.pot_life_min
            yield finding(
                "pot-late",
                "stop" if is_lost else "warn",
                "weigh",
                "bench_finding.pot_lost" if is_lost else "bench_finding.pot_late",
                life=units.digits(mix.pot_life_min, 2),
                closing=units.digits(mix.closing_min, 2),
                left=units.digits(mix.pour_by_min, 2),
                do="bench_finding.pot_late_do",
            )


def _heat(heat):
    softens = f"{heat.softens_c.value:.0f}"
    if heat.place_c is None:
        yield finding("heat", "note", "heat", "bench_finding.softens", softens=softens)
    else:
        hot_c = heat.place_c.value if heat.place_c.high is None else heat.place_c.high
        if hot_c >= heat.softens_c.value:
            yield finding(
                "place-too-hot",
                "warn",
                "heat",
                "bench_finding.place_hot",
                place=place_name(heat.place),
                hot=f"{hot_c:.0f}",
                source=heat.place_c.source,
                softens=softens,
            )
    if heat.limit_mm is not None and heat.thickest_mm > heat.limit_mm:
        yield finding(
            "too-thick",
            "warn" if heat.cast_g > SMALL_CAST_G else "note",
            "heat",
            "bench_finding.thick",
            thickest=f"{heat.thickest_mm:.0f}",
            share=f"{100 * heat.over_limit_fraction:.0f}",
            limit=f"{heat.limit_mm:.0f}",
            basis=_behind(heat.limit_basis),
            mass=f"{heat.cast_g:.0f}",
            where_mm=heat.thickest_at_mm,
        )
    is_large = heat.largest_cup_g > HOT_CUP_G
    if heat.cup_c is not None and heat.cup_c.value > SMOKES_C and is_large:
        yield finding(
            "hot-cup",
            "note",
            "heat",
            "bench_finding.hot_cup",
            low=f"{heat.cup_c.low:.0f}",
            high=f"{heat.cup_c.high:.0f}",
            mass=f"{heat.largest_cup_g:.0f}",
        )


def _behind(basis):
    """`` (from memory)``; empty for what was read or measured."""
    if basis not in ("assumed", "from memory"):
        return UNTOLD
    return tell("basis.behind", basis=tell(f"basis.{code_key(basis)}"))


def _fit(fit):
    for line in fit.lines:
        if line.verdict in ("fits", "not asked"):
            continue
        is_sure = line.verdict == "does not fit"
        yield finding(
            "does-not-fit" if is_sure else "may-not-fit",
            "warn",
            "fit",
            "bench_finding.fit",
            length=length_name(line.name),
            low=f"{line.low_mm:.2f}",
            high=f"{line.high_mm:.2f}",
            original=f"{line.original_mm:.2f}",
            allowed=f"{line.tolerance_mm:g}",
            scale=f"{fit.print_scale.value:.4f}",
        )


def _buy(job, buy):
    life = f"{buy.mould_life_casts.value:.0f}"
    if buy.n_moulds > 1:
        yield finding(
            "several-moulds",
            "warn",
            "buy",
            "bench_finding.moulds",
            copies=buy.copies,
            moulds=buy.n_moulds,
            life=life,
        )
    elif job.copies >= MANY_CASTS:
        yield finding(
            "mould-wears", "note", "buy", "bench_finding.wears", copies=buy.copies, life=life
        )
    for line in buy.lines:
        if line.cost is None and any(pack.card == line.card for pack in job.shop.packs):
            kind = "silicone" if line.card == job.silicone else "resin"
            yield finding(
                "packs-short",
                "warn",
                "buy",
                "bench_finding.packs",
                material=get_card(line.card, kind=kind).title,
                part_a=f"{line.need_a_g:.0f}",
                part_b=f"{line.need_b_g:.0f}",
            )
