"""Amounts from a tape measure and a jug, before there is a mesh: with how wide the answer is."""

import math
from dataclasses import replace

from castplan.bench.records import EstimateResult
from castplan.bench.weigh import least_mix_g
from castplan.errors import InputError
from castplan.geometry import frames
from castplan.job import Job
from castplan.materials.cards import get_card
from castplan.materials.gate import reservoir
from castplan.materials.said import said_number
from castplan.materials.waste import resin_waste, silicone_waste
from castplan.record import Sourced
from castplan.texts.told import tell

TAPE_MM = 1.0
WATER_ERROR_FRACTION = 0.03
WEIGHT_ERROR_FRACTION = 0.08


def _fill():
    # Thin shells lie at one end, solid blocks at the other.
    return said_number("bench_number.fill", value=0.4, unit="1", low=0.1, high=1.0)


def _ports():
    # Of 120 generated parts of 0.5 to 680 ml the plans' ports took 0.8 to 1.7 ml (measured
    # by tests/estimate_trial.py); a wide gate through a thick box takes more.
    return said_number("bench_number.ports", value=1.2, unit="ml", low=0.6, high=4.0)


def estimate(*, length_mm: float, width_mm: float, height_mm: float, job: Job) -> EstimateResult:
    """Silicone and resin from three sides, and what the part weighs or pushes aside.

    Parameters
    ----------
    length_mm, width_mm, height_mm : float
        Outer sides of the part [mm], height along the draw.
    job : Job
        `water_ml`, or `original_g` with its density; cards and walls.

    Returns
    -------
    EstimateResult
        Each range takes the worst of all its errors together.

    Raises
    ------
    InputError
        A card is unknown, or the part is larger than its own bounding box.
    """
    silicone = get_card(job.silicone, kind="silicone")
    resin = get_card(job.resin, kind="resin")
    sides_mm = (length_mm, width_mm, height_mm)
    solid_ml = math.prod(sides_mm) / 1000
    part = _part(job, solid_ml)
    if part.low > solid_ml * 1.001:
        raise InputError(
            "the part's volume",
            found=f"{part.value:.4g} ml",
            need=f"less than its bounding box, {solid_ml:.4g} ml",
            do="Measure sides and water again, and look at the units.",
        )
    wall_mm = frames.wall_for(job, longest_mm=max(sides_mm))
    more_mm = (2 * wall_mm, 2 * wall_mm, job.over_mm + job.under_mm)

    def box_ml(error_mm):
        return math.prod(s + m + error_mm for s, m in zip(sides_mm, more_mm, strict=True)) / 1000

    low_ml, high_ml = box_ml(-TAPE_MM), box_ml(TAPE_MM)
    ports, wasted = _ports(), (silicone_waste(), resin_waste())
    void = (box_ml(0) - part.value, low_ml - part.high, high_ml - part.low)
    kept = 1 + reservoir().value
    filled = tuple(
        (volume + more) * kept for volume, more in zip(_ends(part), _ends(ports), strict=True)
    )
    guess_ml = (box_ml(0) - solid_ml) * (1 + wasted[0].value)
    return EstimateResult(
        box_mm=tuple(side + more for side, more in zip(sides_mm, more_mm, strict=True)),
        wall_mm=wall_mm,
        part_ml=part,
        silicone_g=_mass(void, silicone, wasted[0]),
        resin_g=_made_up(_mass(filled, resin, wasted[1]), least_g=least_mix_g(resin, job)),
        bounding_box_g=guess_ml * silicone.density_g_ml.value,
        assumptions=(
            said_number("bench_number.tape", value=TAPE_MM, unit="mm"),
            _volume_error(job),
            ports,
            reservoir(),
            *wasted,
            *filter(None, [_smallest(resin, job)]),
        ),
    )


def _is_weighed(job):
    return job.original_g is not None and job.original_density_g_ml is not None


def _volume_error(job):
    """What the part's volume can be off by; without a measure, what it fills."""
    if job.water_ml is not None:
        return said_number(
            "bench_number.water_error",
            value=WATER_ERROR_FRACTION,
            unit="1",
            basis="common practice",
        )
    if _is_weighed(job):
        return said_number("bench_number.weight_error", value=WEIGHT_ERROR_FRACTION, unit="1")
    return _fill()


def _part(job, solid_ml):
    error = _volume_error(job)
    if job.water_ml is not None:
        measured_ml, how = job.water_ml, tell("estimate.by_water")
    elif _is_weighed(job):
        measured_ml = job.original_g / job.original_density_g_ml
        how = tell("estimate.by_weight")
    else:
        return Sourced(
            value=solid_ml * error.value,
            low=solid_ml * error.low,
            high=solid_ml * error.high,
            unit="ml",
            basis="assumed",
            source=error.source,
        )
    return Sourced(
        value=measured_ml,
        low=measured_ml * (1 - error.value),
        high=measured_ml * (1 + error.value),
        unit="ml",
        basis="measured",
        source=how,
    )


def _smallest(card, job):
    """The least mix of a card, as the estimate tells of it; None without one."""
    least = card.smallest_mix_g
    if least is None or job.shop.least_mix != "card":
        return None
    source = tell("estimate.smallest_mix", card=card.card_id, source=least.source)
    return replace(least, source=source)


def _made_up(mass, *, least_g):
    """What is mixed for it: no end is less than what a small cup is made up to."""
    ends = {name: max(getattr(mass, name), least_g) for name in ("value", "low", "high")}
    return replace(mass, **ends)


def _ends(number):
    return number.value, number.low, number.high


def _mass(volumes_ml, card, wasted):
    """Grams to mix, with waste: value, low, high."""
    density = card.density_g_ml
    densities = (density.value, density.low or density.value, density.high or density.value)
    value, low, high = (
        volume * (1 + more) * each
        for volume, more, each in zip(volumes_ml, _ends(wasted), densities, strict=True)
    )
    return said_number(
        "estimate.each_at_its_end", value=value, unit="g", basis="computed", low=low, high=high
    )
