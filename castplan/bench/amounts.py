"""How much to weigh out: silicone for each half, resin for each copy.

Net volume from the mould, plus waste, times density, split by weight.
"""

import math

from castplan.air.records import GateResult
from castplan.bench.records import AmountsResult, Mix
from castplan.job import Job
from castplan.materials.cards import (
    Card,
    demould_at,
    get_card,
    pot_life_at,
    pot_life_factor,
    split_by_weight,
)
from castplan.materials.fillers import resin_of
from castplan.materials.flow import POUR_RATE_ML_MIN
from castplan.materials.said import said_number
from castplan.materials.waste import resin_waste, silicone_waste
from castplan.mould.records import MouldResult
from castplan.record import Sourced, record
from castplan.texts.told import tell

# Codes: `castplan.texts.names` has the words for them.
SILICONE_POURS = ("First half", "Second half")
ONE_POUR = ("Mould",)
LOOSE_POUR = "Loose pieces"
RESIN_POUR = "Resin, one copy"
# Where a pot takes longer to close than the resin gives, a finding says so; amounts are
# told all the same (assumed).
LEAST_POUR_FRACTION = 0.1


def pour_within() -> Sourced:
    """Share of the pot life within which a cup has to be poured."""
    return said_number("bench_number.pour_within", value=0.5, unit="1", basis="common practice")


def is_pot_late(mix: Mix) -> bool:
    """Whether the pressure pot leaves less time to pour than a cup has anyhow."""
    usual_min = pour_within().value * mix.pot_life_min
    return mix.pot_life_min - mix.closing_min < usual_min - 1e-9


def pot_closing() -> Sourced:
    """Time to set the mould into the pressure pot, close it and bring it to pressure."""
    return said_number("bench_number.pot_closing", value=1.5, unit="min", low=1.0, high=3.0)


def weigh_out(mould: MouldResult, job: Job, *, gate: GateResult | None = None) -> AmountsResult:
    """Size every cup of the job.

    Parameters
    ----------
    mould : MouldResult
        Volumes of the halves, the part, gate and vents.
    job : Job
        The cards, the copies, the shop's temperature, and whether it has a pressure pot.
    gate : GateResult, optional
        With the resin that stays in its cup, and how fast it fills.

    Returns
    -------
    AmountsResult
        A half whose volume is zero has no mix.

    Raises
    ------
    InputError
        A card id is unknown, or the shop is too cold or too hot to plan for.
    """
    silicone = get_card(job.silicone, kind="silicone")
    resin = resin_of(job)
    silicone_more = silicone.waste_fraction or silicone_waste()
    resin_more = resin.waste_fraction or resin_waste()
    pours = ONE_POUR if mould.is_one_pour else SILICONE_POURS
    volumes_ml = {"upper": mould.upper_ml, "lower": mould.lower_ml}
    mixes = [
        size_mix(
            silicone,
            Pour(
                name=name,
                net_ml=volumes_ml[half],
                waste_fraction=silicone_more.value,
                half="open" if mould.is_open else "whole" if mould.is_cut else half,
            ),
            temperature_c=job.shop_temperature_c,
        )
        for name, half in zip(pours, mould.pour_order, strict=False)
    ]
    if mould.loose_ml > 0:
        pieces = Pour(
            name=LOOSE_POUR,
            net_ml=mould.loose_ml,
            waste_fraction=silicone_more.value,
            half="loose",
        )
        mixes.insert(0, size_mix(silicone, pieces, temperature_c=job.shop_temperature_c))
    copies = Pour(
        name=RESIN_POUR,
        net_ml=mould.part_ml + mould.ports_ml + (gate.reservoir_ml if gate else 0.0),
        waste_fraction=resin_more.value,
        times=job.copies,
        most_ml_min=_through_ml_min(mould, gate),
        closing_min=0.0 if job.pot_mm is None else pot_closing().value,
    )
    cast = size_mix(resin, copies, temperature_c=job.shop_temperature_c)
    guess_ml = mould.bounding_box_ml * (1 + silicone_more.value)
    return AmountsResult(
        mixes=(*mixes, cast),
        silicone_g=sum(mix.mass_g for mix in mixes),
        resin_g=cast.mass_g * cast.times,
        bounding_box_g=guess_ml * silicone.density_g_ml.value,
        assumptions=(
            silicone_more,
            resin_more,
            pour_within(),
            *([] if job.pot_mm is None else [pot_closing()]),
            pot_life_factor(),
            *_from_card(silicone, temperature_c=job.shop_temperature_c),
            *_from_card(resin, temperature_c=job.shop_temperature_c),
        ),
    )


def _through_ml_min(mould, gate):
    """What runs through the gate, at the thick end of the viscosity."""
    if gate is None or not 0 < gate.fill_high_s < math.inf:
        return math.inf
    return float(60 * mould.part_ml / gate.fill_high_s)


@record
class Pour:
    """What one pour has to fill."""

    name: str  # a code, or as the shop calls it
    net_ml: float
    waste_fraction: float  # added on top
    times: int = 1  # how often it is mixed
    half: str | None = None  # which half of the mould a silicone cup makes
    most_ml_min: float = math.inf  # that runs in, however fast it is poured
    closing_min: float = 0.0  # of a pressure pot, before it sets


def size_mix(card: Card, pour: Pour, *, temperature_c: float) -> Mix:
    """One cup, from the volume it has to fill.

    Parameters
    ----------
    card : Card
    pour : Pour
    temperature_c : float
        Of the shop [C], 10 to 35.

    Returns
    -------
    Mix
        Poured within half of the pot life, and in time to close the pot.

    Raises
    ------
    InputError
        The temperature lies outside 10 to 35 C.
    """
    volume_ml = pour.net_ml * (1 + pour.waste_fraction)
    mass_g = volume_ml * card.density_g_ml.value
    resin_g = mass_g / (1 + card.filler_fraction)
    a_g, b_g = split_by_weight(resin_g, ratio_a=card.ratio_a.value, ratio_b=card.ratio_b.value)
    pot_life_min, _, _ = pot_life_at(card, temperature_c=temperature_c)
    return Mix(
        name=pour.name,
        card=card.card_id,
        net_ml=pour.net_ml,
        waste_fraction=pour.waste_fraction,
        volume_ml=volume_ml,
        mass_g=mass_g,
        a_g=a_g,
        b_g=b_g,
        filler_g=mass_g - resin_g,
        density_g_ml=card.density_g_ml.value,
        pot_life_min=pot_life_min,
        pour_by_min=max(
            min(pot_life_min * pour_within().value, pot_life_min - pour.closing_min),
            LEAST_POUR_FRACTION * pot_life_min,
        ),
        pour_ml_min=min(POUR_RATE_ML_MIN[card.kind], pour.most_ml_min),
        closing_min=pour.closing_min,
        demould_h=demould_at(card, temperature_c=temperature_c)[0],
        times=pour.times,
        half=pour.half,
    )


def _from_card(card: Card, *, temperature_c: float) -> tuple[Sourced, ...]:
    named = (
        ("bench_number.density", card.density_g_ml),
        ("bench_number.part_a", card.ratio_a),
        ("bench_number.part_b", card.ratio_b),
        ("bench_number.demould", card.demould_h),
    )
    nominal_min, low_min, high_min = pot_life_at(card, temperature_c=temperature_c)
    life = card.pot_life_min
    return (
        *(
            Sourced(
                value=number.value,
                low=number.low,
                high=number.high,
                unit=number.unit,
                basis=number.basis,
                source=tell(what, card=card.card_id, source=number.source),
            )
            for what, number in named
        ),
        Sourced(
            value=nominal_min,
            low=low_min,
            high=high_min,
            unit="min",
            basis=life.basis,
            source=tell(
                "bench_number.pot_life",
                card=card.card_id,
                temperature=f"{temperature_c:g}",
                card_minutes=f"{life.value:g}",
                card_temperature=f"{card.pot_life_at_c.value:g}",
                source=life.source,
            ),
        ),
    )
