"""What weighing, buying, fit, heat and chemistry say that the shop should know."""

from castplan.materials.cards import get_card
from castplan.model import (
    BuyResult,
    CompatResult,
    Finding,
    FitResult,
    HeatResult,
    Job,
    WaterCheck,
    WeighResult,
)

# A cup whose heat ceiling passes this can smoke (from memory).
SMOKES_C = 150.0
# More pigment than this weakens the cast (from memory).
MOST_PIGMENT_FRACTION = 0.03
# Twice the mass that pot lives are stated for (assumed).
LARGE_CUP_G = 200.0
MANY_CASTS = 15  # of the usual 20: wear shows before the end (from memory)


def list_bench_findings(
    job: Job,
    water: WaterCheck | None,
    weigh: WeighResult,
    fit: FitResult,
    heat: HeatResult,
    compat: CompatResult,
    buy: BuyResult,
) -> tuple[Finding, ...]:
    """Read the results of the bench and say what matters.

    Parameters
    ----------
    job, water, weigh, fit, heat, compat, buy : records

    Returns
    -------
    tuple of Finding
        In the order of the work.
    """
    return (
        *_compat(compat),
        *_water(water),
        *_weigh(job, weigh),
        *_heat(heat),
        *_fit(fit),
        *_buy(job, buy),
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
            message=f"{line.used[0].upper()}{line.used[1:]} with {line.meets}: {line.reason} "
            f"({line.source}).",
            do="Use something else, or another class of silicone."
            if is_stop
            else "Test patch on a hidden spot, and sign it before the first pour.",
        )


def _water(water):
    if water is None or not water.causes:
        return
    yield Finding(
        code="water-differs",
        severity="warn",
        stage="water",
        message=f"By {water.method} the original holds {water.measured_ml:.4g} ml, the mesh "
        f"{water.computed_ml:.4g} ml: {100 * water.difference_fraction:+.0f} %. Likely: "
        f"{'; '.join(water.causes)}.",
        do="Measure one length of the original and of the mesh before you pour anything; the plan "
        "weighs out by what you measured.",
    )


def _weigh(job, weigh):
    for cup in weigh.cups:
        if cup.ratio_error_fraction > cup.tolerance_fraction:
            yield Finding(
                code="scale-too-coarse",
                severity="warn",
                stage="weigh",
                message=f"{cup.name}: a step of {cup.step_g:g} g on {cup.b_g:.3g} g of part B can "
                f"put the ratio off by {100 * cup.ratio_error_fraction:.2g} %; this material takes "
                f"{100 * cup.tolerance_fraction:.2g} %.",
                do="Use a finer scale, or mix more at once and pour the rest as a test piece.",
            )
        if cup.mix_and_pour_min > cup.pour_by_min * (1 + 1e-9):
            yield Finding(
                code="no-time",
                severity="stop",
                stage="weigh",
                message=f"{cup.name}: mixing and pouring take about {cup.mix_and_pour_min:.2g} min"
                f", half the pot life is {cup.pour_by_min:.2g} min.",
                do="Take a slower grade, a cooler shop, or a smaller mould.",
            )
    largest = max((cup for cup in weigh.cups if cup.card == job.resin), key=lambda c: c.mass_g)
    if largest.mass_g > LARGE_CUP_G:
        yield Finding(
            code="large-cup",
            severity="note",
            stage="weigh",
            message=f"{largest.name} holds {largest.mass_g:.0f} g. Pot lives of resins are usually "
            "stated for 100 g (nilsmalmgren.com, glossary): a larger cup warms and sets sooner.",
            do="Pour it at once, keep it cool, and ask the data sheet for the pot life of this "
            "mass.",
        )
    for limit in weigh.limits:
        n = sum(cup.pour == limit.pour and not cup.is_brush_coat for cup in weigh.cups)
        if n > 1:
            yield Finding(
                code="batches",
                severity="warn",
                stage="weigh",
                message=f"{limit.pour} takes {n} cups: at most {limit.largest_g:.0f} g fit into "
                f"one, because {limit.reason}.",
                do="Have a second pair of hands: one mixes while the other pours, wet on wet.",
            )
    if job.pigment_fraction > MOST_PIGMENT_FRACTION:
        yield Finding(
            code="much-pigment",
            severity="warn",
            stage="weigh",
            message=f"{100 * job.pigment_fraction:.2g} % of pigment is more than the usual "
            f"{100 * MOST_PIGMENT_FRACTION:.0f} % (from memory): it softens the cast.",
            do="Follow the pigment's data sheet.",
        )


def _heat(heat):
    softens = heat.softens_c
    if heat.place_c is None:
        yield Finding(
            code="heat",
            severity="note",
            stage="heat",
            message=f"The cast softens from about {softens.value:.0f} C. Behind glass in the sun a "
            "cabin part can get hotter than that.",
            do="Say where the part will live with --place.",
        )
    else:
        hot_c = heat.place_c.value if heat.place_c.high is None else heat.place_c.high
        if hot_c >= softens.value:
            yield Finding(
                code="place-too-hot",
                severity="warn",
                stage="heat",
                message=f"Where it will live ({heat.place}) it gets up to {hot_c:.0f} C "
                f"({heat.place_c.source}); the cast softens from about {softens.value:.0f} C.",
                do="Choose a resin with a higher heat limit, or cure it warm as its data sheet "
                "says.",
            )
    if heat.limit_mm is not None and heat.thickest_mm > heat.limit_mm:
        yield Finding(
            code="too-thick",
            severity="warn",
            stage="heat",
            message=f"The part is up to {heat.thickest_mm:.0f} mm thick, "
            f"{100 * heat.over_limit_fraction:.0f} % of it more than the {heat.limit_mm:.0f} mm "
            "this resin takes in one pour.",
            do="Pour it in layers, hollow it, or take a slower resin.",
            where_mm=heat.thickest_at_mm,
        )
    if heat.peak_c is not None and heat.peak_c.value > SMOKES_C:
        yield Finding(
            code="hot-cup",
            severity="note",
            stage="heat",
            message=f"Without any loss of heat this resin reaches {heat.peak_c.low:.0f} to "
            f"{heat.peak_c.high:.0f} C. A full cup of {heat.largest_cup_g:.0f} g comes nearer to "
            "that than a thin cast.",
            do="Never leave mixed resin in the cup: pour what is left out thin on a tray.",
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
            message=f"{line.name}: the copy will measure {line.low_mm:.2f} to {line.high_mm:.2f} mm"
            f" instead of {line.original_mm:.2f} mm, allowed is {line.tolerance_mm:g} mm more or "
            "less.",
            do=f"Scale a printed original by {fit.print_scale.value:.4f}, or choose materials that "
            "shrink less.",
        )


def _buy(job, buy):
    if buy.n_moulds > 1:
        yield Finding(
            code="several-moulds",
            severity="warn",
            stage="buy",
            message=f"{buy.copies} copies take {buy.n_moulds} moulds at about "
            f"{buy.mould_life_casts.value:.0f} casts each.",
            do="Make the next mould from the original while it is out, not from a copy.",
        )
    elif job.copies >= MANY_CASTS:
        yield Finding(
            code="mould-wears",
            severity="note",
            stage="buy",
            message=f"{buy.copies} casts are near the life of one mould, about "
            f"{buy.mould_life_casts.value:.0f}.",
            do="Measure every fifth cast; keep silicone for a second mould.",
        )
    for line in buy.lines:
        if line.cost is None and any(pack.card == line.card for pack in job.shop.packs):
            kind = "silicone" if line.card == job.silicone else "resin"
            title = get_card(line.card, kind=kind).title
            yield Finding(
                code="packs-short",
                severity="warn",
                stage="buy",
                message=f"The packs given for {title} do not hold both parts in the amount needed, "
                f"{line.need_a_g:.0f} g A and {line.need_b_g:.0f} g B.",
                do="Add packs to the shop file, or allow more of them.",
            )
