"""Each cup at the scale: batches, brush coat, pigment, readings, and the error of the ratio."""

import math
from dataclasses import replace

import numpy as np

from castplan import units
from castplan.bench.records import AmountsResult, Cup, Limit, Mix, WeighResult
from castplan.geometry.boxes import ON_BOARD_MM
from castplan.job import Job
from castplan.materials.cards import Card, get_card, split_by_weight
from castplan.materials.flow import POUR_RATE_ML_MIN
from castplan.materials.said import said_number
from castplan.materials.wording import scale_step_g
from castplan.memory import remembered
from castplan.part.records import Part
from castplan.record import Sourced
from castplan.split.records import Split
from castplan.texts.names import pour_name
from castplan.texts.told import Told, tell

# Half of the time to pour goes into mixing, but no more than this (assumed).
MIX_SHARE = 0.5
LONGEST_MIX_MIN = 10.0
SILICONE_MIX_MIN = 3.0
# Of the time to pour, what mixing and degassing leave of it at least (assumed).
LEFT_SHARE = 1 / 3
BRUSH_MM = 1.0  # assumed
# Error of the ratio that a material takes where its card does not say (assumed).
# Cups come in such steps (assumed); one number for all that tells of them.
CUP_STEP_ML = 50.0
TOLERANCE_FRACTION = 0.05
# More than this nobody mixes by hand for one pour (assumed); the rest of the
# pour then stands in cups too large, and a finding says so.
MOST_CUPS = 100
# Less than this is no cup: a milligram.
LEAST_G = 1e-3


def rise() -> Sourced:
    """How far silicone rises while it is degassed."""
    return said_number(
        "bench_number.rise",
        value=5.0,
        unit="times the mix",
        basis="data sheet",
        low=3.0,
        high=5.0,
    )


def degassing() -> Sourced:
    """How long silicone stays under vacuum."""
    return said_number(
        "bench_number.degas", value=7.5, unit="min", basis="from memory", low=5.0, high=10.0
    )


def _pot_life_mass():
    return said_number("bench_number.pot_life_mass", value=100.0, unit="g", basis="common practice")


def _assumptions(kinds):
    """What sizes the cups, with what materials of these kinds take."""
    rates = {
        kind: said_number(
            f"bench_number.{kind}_rate", value=value, unit="ml/min", basis="common practice"
        )
        for kind, value in POUR_RATE_ML_MIN.items()
    }
    return (
        rise(),
        said_number(
            "bench_number.silicone_mix",
            value=SILICONE_MIX_MIN,
            unit="min",
            basis="common practice",
        ),
        degassing(),
        said_number("bench_number.mix_share", value=MIX_SHARE, unit="1", basis="common practice"),
        said_number(
            "bench_number.longest_mix",
            value=LONGEST_MIX_MIN,
            unit="min",
            basis="common practice",
        ),
        *(rates[kind] for kind in sorted(kinds)),
        _pot_life_mass(),
        said_number("bench_number.brush", value=BRUSH_MM, unit="mm", basis="common practice"),
    )


def _cup_ml(volume_ml):
    """The cup in which so much silicone can be degassed, as cups are sold."""
    return CUP_STEP_ML * math.ceil(volume_ml * rise().value / CUP_STEP_ML - 1e-9)


def ratio_error(*, a_g: float, b_g: float, step_g: float) -> float:
    """Worst error of a ratio weighed as a running total, as a fraction.

    Part A is one reading, off by half a step at most; part B is the difference
    of two readings, off by a whole step at most. The errors add up.

    Parameters
    ----------
    a_g, b_g : float
        What is weighed [g]; A goes in first.
    step_g : float
        Of the scale [g].

    Examples
    --------
    >>> round(ratio_error(a_g=15, b_g=0.75, step_g=0.1), 3)
    0.137
    """
    return step_g / 2 / a_g + step_g / b_g


def least_weighable_g(card: Card, *, step_g: float) -> float:
    """The least mix of a card that a scale weighs within the ratio's tolerance [g].

    From `ratio_error`: each part is so much of the mix.

    Examples
    --------
    >>> card = get_card("polyurethane-fast-70d", kind="resin")
    >>> round(least_weighable_g(card, step_g=0.1), 1)
    15.3
    """
    stated = card.ratio_tolerance_fraction
    tolerance = TOLERANCE_FRACTION if stated is None else stated.value
    a_share, b_share = split_by_weight(1.0, ratio_a=card.ratio_a.value, ratio_b=card.ratio_b.value)
    return ratio_error(a_g=a_share, b_g=b_share, step_g=step_g) / tolerance


def least_mix_g(card: Card, job: Job) -> float:
    """What a cup of a material is made up to, by the shop's choice [g].

    Parameters
    ----------
    card : Card
    job : Job
        `shop.least_mix`; without the step of the shop's scale any mix can be weighed.
    """
    if job.shop.least_mix == "none" or card.smallest_mix_g is None:
        return 0.0
    if job.shop.least_mix == "card":
        return card.smallest_mix_g.value
    step_g = job.shop.scale_step_g
    return 0.0 if step_g is None else least_weighable_g(card, step_g=step_g)


def size_cups(amounts: AmountsResult, part: Part, split: Split, job: Job) -> WeighResult:
    """Share each pour out into cups that can be mixed and poured in time.

    Parameters
    ----------
    amounts, part, split : records
    job : Job
        Scale, tare, chamber, pigment and brush coat.

    Returns
    -------
    WeighResult
        The cups of a pour add up to it, but for what `made_up_g` adds.

    Raises
    ------
    InputError
        A card id is unknown.
    """
    areas_mm2 = _areas(part, split)
    cups, limits, brushed = [], [], []
    for mix in amounts.mixes:
        kind = "silicone" if mix.half else "resin"
        card = get_card(mix.card, kind=kind)
        limit = largest_cup(mix, card, job)
        limits.append(limit)
        pour_g, coat_g = mix.mass_g, 0.0
        if mix.half in areas_mm2:  # loose pieces are filled without a coat
            layer_mm = job.brush_mm or BRUSH_MM
            coat_ml = areas_mm2[mix.half] * layer_mm / 1000 * (1 + mix.waste_fraction)
            brushed.append((mix.name, min(coat_ml * mix.density_g_ml, mix.mass_g)))
            coat_g = brushed[-1][1] if job.brush_mm else 0.0
        if coat_g > LEAST_G:
            name = tell("bench.brush_coat", name=pour_name(mix.name))
            cups.append(_fill_cup(mix, card, job, mass_g=coat_g, name=name, is_brush_coat=True))
            pour_g -= coat_g
        cups += _cups(mix, card, job, limit, pour_g=pour_g)
    kinds = {"silicone" if mix.half else "resin" for mix in amounts.mixes}
    return WeighResult(
        cups=_on_one_scale(cups),
        limits=tuple(limits),
        brush_g=tuple(brushed),
        assumptions=_assumptions(kinds),
    )


def _on_one_scale(cups):
    """All cups read off the same scale: the finest that one of them needs."""
    step_g = min((cup.step_g for cup in cups), default=0.0)
    return tuple(
        replace(
            cup,
            step_g=step_g,
            ratio_error_fraction=ratio_error(a_g=cup.a_g, b_g=cup.b_g, step_g=step_g),
        )
        for cup in cups
    )


def share_out(mix: Mix, card: Card, job: Job) -> tuple[list[Cup], Limit]:
    """A mix on its own in as few cups as can be poured in time.

    Parameters
    ----------
    mix : Mix
    card : Card
    job : Job

    Returns
    -------
    cups : list of Cup
    limit : Limit
    """
    limit = largest_cup(mix, card, job)
    return _cups(mix, card, job, limit, pour_g=mix.mass_g), limit


def _cups(mix, card, job, limit, *, pour_g):
    if pour_g <= LEAST_G:
        return []
    n_cups = min(max(1, math.ceil(pour_g / limit.largest_g - 1e-9)), MOST_CUPS)
    pour = pour_name(mix.name)
    names = [
        tell("bench.cup_of", pour=pour, number=number, cups=n_cups) if n_cups > 1 else pour
        for number in range(1, n_cups + 1)
    ]
    return [_fill_cup(mix, card, job, mass_g=pour_g / n_cups, name=name) for name in names]


def degas_min(pour_by_min: float) -> float:
    """Time under vacuum out of the time to pour a silicone [min]; 0 where none is left for it.

    Examples
    --------
    >>> degas_min(20.0), degas_min(12.0), degas_min(10.0)
    (7.5, 5.0, 0.0)
    """
    degas = degassing()
    left_min = (1 - LEFT_SHARE) * pour_by_min - SILICONE_MIX_MIN
    return 0.0 if left_min < degas.low - 1e-9 else min(degas.value, left_min)


def mixing_min(kind: str, *, pour_by_min: float) -> float:
    """Time for mixing out of the time to pour, and for degassing silicone [min]."""
    share_min = MIX_SHARE * pour_by_min
    if kind == "silicone":
        return min(SILICONE_MIX_MIN, share_min) + degas_min(pour_by_min)
    return min(LONGEST_MIX_MIN, share_min)


def largest_cup(mix: Mix, card: Card, job: Job) -> Limit:
    """The largest cup that pot life, heat and the chamber allow for one pour.

    Parameters
    ----------
    mix : Mix
    card : Card
    job : Job

    Returns
    -------
    Limit
    """
    left_min = mix.pour_by_min - mixing_min(card.kind, pour_by_min=mix.pour_by_min)
    pourable_ml = left_min * mix.pour_ml_min
    limits = [
        (
            pourable_ml * mix.density_g_ml,
            tell("cup_limit.time", minutes=units.digits(left_min, 2)),
        )
    ]
    if card.largest_mix_g is not None:
        limits.append((card.largest_mix_g.value, tell("cup_limit.heat")))
    if job.shop.largest_cup_ml is not None and card.kind == "silicone":
        fits_ml = job.shop.largest_cup_ml / rise().value
        limits.append((fits_ml * mix.density_g_ml, tell("cup_limit.rise")))
    largest_g, reason = min(limits, key=lambda limit: limit[0])
    return Limit(pour=mix.name, largest_g=largest_g, reason=reason)


def _fill_cup(
    mix: Mix, card: Card, job: Job, *, mass_g: float, name: Told, is_brush_coat: bool = False
) -> Cup:
    """One cup of a pour at the scale, of so much A and B before it is made up to the least."""
    # The least is of what cures and warms: a filler does neither.
    share = 1 - mix.filler_g / mix.mass_g
    made_up_g = max(0.0, least_mix_g(card, job) / share - mass_g)
    mass_g += made_up_g
    resin_g = mass_g * share
    a_g, b_g = split_by_weight(resin_g, ratio_a=mix.a_g, ratio_b=mix.b_g)
    filler_g = mass_g - resin_g
    pigment_g = 0.0 if mix.half else resin_g * job.pigment_fraction
    step_g = job.shop.scale_step_g or min(scale_step_g(a_g), scale_step_g(b_g))
    tare_g = job.shop.tare_g
    volume_ml = mass_g / mix.density_g_ml
    stated = card.ratio_tolerance_fraction
    return Cup(
        name=name,
        pour=mix.name,
        card=card.card_id,
        is_brush_coat=is_brush_coat,
        times=mix.times,
        volume_ml=volume_ml,
        mass_g=mass_g,
        made_up_g=made_up_g,
        a_g=a_g,
        b_g=b_g,
        filler_g=filler_g,
        pigment_g=pigment_g,
        tare_g=tare_g,
        reading_a_g=tare_g + a_g,
        reading_filler_g=tare_g + a_g + filler_g,
        reading_b_g=tare_g + mass_g,
        reading_pigment_g=tare_g + mass_g + pigment_g,
        step_g=step_g,
        ratio_error_fraction=ratio_error(a_g=a_g, b_g=b_g, step_g=step_g),
        tolerance_fraction=TOLERANCE_FRACTION if stated is None else stated.value,
        vacuum_cup_ml=_cup_ml(volume_ml) if card.kind == "silicone" else 0.0,
        # What only makes the cup up need not be poured in time.
        mix_and_pour_min=mixing_min(card.kind, pour_by_min=mix.pour_by_min)
        + (mass_g - made_up_g) / mix.density_g_ml / mix.pour_ml_min,
        pour_by_min=mix.pour_by_min,
    )


@remembered
def _areas(part: Part, split: Split) -> dict[str, float]:
    """Surface of the part in each half, by the middles of its facets [mm2]."""
    corners = part.vertices_mm[part.faces]
    doubled = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    area_mm2 = 0.5 * np.linalg.norm(doubled, axis=1)
    height_mm = corners.mean(axis=1) @ split.draw.frame.up
    if split.is_open:
        # All but the back, which lies on the board.
        return {"open": float(area_mm2[height_mm > split.line.box_height_mm + ON_BOARD_MM].sum())}
    if split.is_cut:
        return {"whole": float(area_mm2.sum())}
    is_upper = height_mm > split.parting.height_mm
    return {"upper": float(area_mm2[is_upper].sum()), "lower": float(area_mm2[~is_upper].sum())}
