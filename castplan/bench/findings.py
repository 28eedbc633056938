"""What weighing, buying, fit, heat and chemistry say that the shop should know."""

import math

from castplan.bench.records import Bench
from castplan.job import Job
from castplan.materials.cards import get_card
from castplan.materials.wording import chemistry_text
from castplan.mould.records import WaterCheck
from castplan.record import Finding
from castplan.texts.names import length_name, place_name, pour_name
from castplan.texts.told import clauses, tell

# A cup whose heat ceiling passes this can smoke (from memory).
SMOKES_C = 150.0
# A cup that is poured out within its pot life is no danger under this: about twice
# the mass that pot lives are stated for (assumed).
HOT_CUP_G = 200.0
# More pigment than this weakens the cast (from memory).
MOST_PIGMENT_FRACTION = 0.03
# Twice the mass that pot lives are stated for (assumed).
LARGE_CUP_G = 200.0
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
        *_heat(bench.heat),
        *_fit(bench.fit),
        *_buy(job, bench.buy),
    )


def _compat(compat):
    for line in compat.lines:
        if line.verdict == "fine":
            continue
        is_stop = line.verdict == "stop"
        yield Finding(
            code="incompatible" if is_stop else "test-patch",
            severity="stop" if is_stop else "note",
            stage="compat",
            message=tell(
                "bench_finding.meets",
                used=line.used,
                chemistry=chemistry_text(line.meets),
                reason=line.reason,
                source=line.source,
            ),
            do=tell("bench_finding.meets_stop_do" if is_stop else "bench_finding.meets_patch_do"),
        )


def _water(water):
    if water is None or not water.causes:
        return
    is_followed = water.uses == "measured" and not water.is_contradicted
    yield Finding(
        code="water-differs",
        severity="warn",
        stage="water",
        message=tell(
            f"bench_finding.{water.method}_differs",
            measured=f"{water.measured_ml:.4g}",
            computed=f"{water.computed_ml:.4g}",
            difference=f"{100 * water.difference_fraction:+.0f}",
            causes=clauses(water.causes),
        ),
        do=tell("bench_finding.differs_do" if is_followed else "bench_finding.contradicts_do"),
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
        yield Finding(
            code="too-many-cups",
            severity="stop",
            stage="weigh",
            message=tell(
                "bench_finding.too_many_cups",
                pour=pour_name(limit.pour),
                cups=f"{needed:,}",
                largest=f"{limit.largest_g:.0f}",
                most=len(cups),
            ),
            do=tell("bench_finding.too_many_cups_do"),
        )
    for cup in weigh.cups:
        if cup.pour in overfull:
            continue
        if cup.is_too_coarse:
            yield Finding(
                code="scale-too-coarse",
                severity="warn",
                stage="weigh",
                message=tell(
                    "bench_finding.scale",
                    cup=cup.name,
                    step=f"{cup.step_g:g}",
                    part_b=f"{cup.b_g:.3g}",
                    error=f"{100 * cup.ratio_error_fraction:.2g}",
                    allowed=f"{100 * cup.tolerance_fraction:.2g}",
                ),
                do=tell("bench_finding.scale_do"),
            )
        if cup.mix_and_pour_min > cup.pour_by_min * (1 + 1e-9):
            yield Finding(
                code="no-time",
                severity="stop",
                stage="weigh",
                message=tell(
                    "bench_finding.no_time",
                    cup=cup.name,
                    needed=f"{cup.mix_and_pour_min:.2g}",
                    limit=f"{cup.pour_by_min:.2g}",
                ),
                do=tell("bench_finding.no_time_do"),
            )
    largest = max((cup for cup in weigh.cups if cup.card == job.resin), key=lambda c: c.mass_g)
    if largest.mass_g > LARGE_CUP_G:
        yield Finding(
            code="large-cup",
            severity="note",
            stage="weigh",
            message=tell("bench_finding.large_cup", cup=largest.name, mass=f"{largest.mass_g:.0f}"),
            do=tell("bench_finding.large_cup_do"),
        )
    for limit in weigh.limits:
        n = sum(cup.pour == limit.pour and not cup.is_brush_coat for cup in weigh.cups)
        if n > 1 and limit.pour not in overfull:
            yield Finding(
                code="batches",
                severity="warn",
                stage="weigh",
                message=tell(
                    "bench_finding.batches",
                    pour=pour_name(limit.pour),
                    cups=n,
                    largest=f"{limit.largest_g:.0f}",
                    reason=limit.reason,
                ),
                do=tell("bench_finding.batches_do"),
            )
    if job.pigment_fraction > MOST_PIGMENT_FRACTION:
        yield Finding(
            code="much-pigment",
            severity="warn",
            stage="weigh",
            message=tell(
                "bench_finding.pigment",
                share=f"{100 * job.pigment_fraction:.2g}",
                usual=f"{100 * MOST_PIGMENT_FRACTION:.0f}",
            ),
            do=tell("bench_finding.pigment_do"),
        )


def _heat(heat):
    softens = f"{heat.softens_c.value:.0f}"
    if heat.place_c is None:
        yield Finding(
            code="heat",
            severity="note",
            stage="heat",
            message=tell("bench_finding.softens", softens=softens),
            do=tell("bench_finding.softens_do"),
        )
    else:
        hot_c = heat.place_c.value if heat.place_c.high is None else heat.place_c.high
        if hot_c >= heat.softens_c.value:
            yield Finding(
                code="place-too-hot",
                severity="warn",
                stage="heat",
                message=tell(
                    "bench_finding.place_hot",
                    place=place_name(heat.place),
                    hot=f"{hot_c:.0f}",
                    source=heat.place_c.source,
                    softens=softens,
                ),
                do=tell("bench_finding.place_hot_do"),
            )
    if heat.limit_mm is not None and heat.thickest_mm > heat.limit_mm:
        yield Finding(
            code="too-thick",
            severity="warn",
            stage="heat",
            message=tell(
                "bench_finding.thick",
                thickest=f"{heat.thickest_mm:.0f}",
                share=f"{100 * heat.over_limit_fraction:.0f}",
                limit=f"{heat.limit_mm:.0f}",
            ),
            do=tell("bench_finding.thick_do"),
            where_mm=heat.thickest_at_mm,
        )
    is_large = heat.largest_cup_g > HOT_CUP_G
    if heat.cup_c is not None and heat.cup_c.value > SMOKES_C and is_large:
        yield Finding(
            code="hot-cup",
            severity="note",
            stage="heat",
            message=tell(
                "bench_finding.hot_cup",
                low=f"{heat.cup_c.low:.0f}",
                high=f"{heat.cup_c.high:.0f}",
                mass=f"{heat.largest_cup_g:.0f}",
            ),
            do=tell("bench_finding.hot_cup_do"),
        )


def _fit(fit):
    for line in fit.lines:
        if line.verdict in ("fits", "not asked"):
            continue
        is_sure = line.verdict == "does not fit"
        yield Finding(
            code="does-not-fit" if is_sure else "may-not-fit",
            severity="warn",
            stage="fit",
            message=tell(
                "bench_finding.fit",
                length=length_name(line.name),
                low=f"{line.low_mm:.2f}",
                high=f"{line.high_mm:.2f}",
                original=f"{line.original_mm:.2f}",
                allowed=f"{line.tolerance_mm:g}",
            ),
            do=tell("bench_finding.fit_do", scale=f"{fit.print_scale.value:.4f}"),
        )


def _buy(job, buy):
    life = f"{buy.mould_life_casts.value:.0f}"
    if buy.n_moulds > 1:
        yield Finding(
            code="several-moulds",
            severity="warn",
            stage="buy",
            message=tell("bench_finding.moulds", copies=buy.copies, moulds=buy.n_moulds, life=life),
            do=tell("bench_finding.moulds_do"),
        )
    elif job.copies >= MANY_CASTS:
        yield Finding(
            code="mould-wears",
            severity="note",
            stage="buy",
            message=tell("bench_finding.wears", copies=buy.copies, life=life),
            do=tell("bench_finding.wears_do"),
        )
    for line in buy.lines:
        if line.cost is None and any(pack.card == line.card for pack in job.shop.packs):
            kind = "silicone" if line.card == job.silicone else "resin"
            yield Finding(
                code="packs-short",
                severity="warn",
                stage="buy",
                message=tell(
                    "bench_finding.packs",
                    material=get_card(line.card, kind=kind).title,
                    part_a=f"{line.need_a_g:.0f}",
                    part_b=f"{line.need_b_g:.0f}",
                ),
                do=tell("bench_finding.packs_do"),
            )
