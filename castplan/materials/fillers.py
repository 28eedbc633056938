"""Powders that a shop stirs into a resin, and what they make of its card.

Volumes add up: a powder that is wetted through takes the room of its own grains. By the
share of the volume that it takes (the rule of mixtures) the resin shrinks, warms and grows
less, as the powder does not cure. How much thicker it gets is Krieger and Dougherty's law.
"""

from dataclasses import replace

from castplan.errors import InputError
from castplan.job import Job
from castplan.materials.cards import Card, get_card
from castplan.materials.said import said_number
from castplan.record import Sourced, record
from castplan.texts.told import Told, tell

# Krieger and Dougherty (Trans. Soc. Rheol. 3 (1959) 137): 2.5 is Einstein's for spheres; of
# the densest packing grains of one size reach 0.63, flakes less, mixed sizes more (from memory).
INTRINSIC = 2.5
PACKINGS = {"value": 0.63, "low": 0.70, "high": 0.50}
# More of the volume than this no hand stirs in (assumed); it lies under the least packing.
MOST_VOLUME = 0.45


@record
class Filler:
    """A powder: what a millilitre of its grains weighs, and what warms it."""

    name: str
    density_g_ml: Sourced
    specific_heat_j_kg_k: float  # handbook, from memory


def _filler(name, heat, density, low, high):
    number = said_number(
        "filler.density", value=density, unit="g/ml", basis="from memory", low=low, high=high
    )
    return Filler(name=name, density_g_ml=number, specific_heat_j_kg_k=heat)


FILLERS = {
    each.name: each
    for each in (
        _filler("chalk", 840.0, 2.71, 2.6, 2.8),
        _filler("aluminium", 900.0, 2.70, 2.6, 2.75),
        _filler("aluminium-hydroxide", 1180.0, 2.42, 2.4, 2.45),
        _filler("quartz", 740.0, 2.65, 2.6, 2.66),
        _filler("hollow-glass", 840.0, 0.37, 0.15, 0.6),
    )
}


def volume_fraction(*, by_weight: float, filler_g_ml: float, resin_g_ml: float) -> float:
    """Share of the filled resin's volume that the filler takes.

    Parameters
    ----------
    by_weight : float
        Filler to the resin's A and B together.
    filler_g_ml, resin_g_ml : float

    Examples
    --------
    >>> round(volume_fraction(by_weight=1.0, filler_g_ml=2.0, resin_g_ml=1.0), 3)
    0.333
    """
    room = by_weight / filler_g_ml
    return room / (room + 1 / resin_g_ml)


def thickening(volume_share: float, *, packing: float) -> float:
    """How many times as thick a resin gets: (1 - v / p)^(-2.5 p), Krieger and Dougherty.

    Parameters
    ----------
    volume_share : float
        Of the filler.
    packing : float
        Greatest share that its grains can take.

    Examples
    --------
    >>> round(thickening(0.3, packing=0.63), 2)
    2.75
    """
    return (1 - volume_share / packing) ** (-INTRINSIC * packing)


def resin_of(job: Job) -> Card:
    """The card of a job's resin, with what the shop stirs into it.

    Parameters
    ----------
    job : Job

    Raises
    ------
    InputError
        The card is unknown, or so much filler cannot be stirred in.
    """
    return stir_in(get_card(job.resin, kind="resin"), job)


def stir_in(card: Card, job: Job) -> Card:
    """A resin's card with the filler of a job.

    Parameters
    ----------
    card : Card
    job : Job

    Raises
    ------
    InputError
        So much of it cannot be stirred in, or the material takes none.
    """
    if not job.filler_fraction:
        return card
    return fill_card(card, FILLERS[job.filler], by_weight=job.filler_fraction)


def fill_card(card: Card, filler: Filler, *, by_weight: float) -> Card:
    """A card as it is with a filler.

    Parameters
    ----------
    card : Card
    filler : Filler
    by_weight : float
        To A and B together.

    Raises
    ------
    InputError
        So much of it cannot be stirred in, or the material takes none.
    """
    if not card.is_cured:
        raise InputError(
            "filler",
            found=f"a filler for {card.card_id}",
            need="a resin",
            do="Leave the filler out: it is planned for resins that cure.",
        )
    of_resin, of_filler = card.density_g_ml.value, filler.density_g_ml.value
    densities = {"filler_g_ml": of_filler, "resin_g_ml": of_resin}
    share = volume_fraction(by_weight=by_weight, **densities)
    if share > MOST_VOLUME:
        most = MOST_VOLUME / (1 - MOST_VOLUME) * of_filler / of_resin
        raise InputError(
            "filler",
            found=f"{100 * by_weight:.0f} %, {100 * share:.0f} % of the volume",
            need=f"{100 * most:.0f} % of {filler.name} at most, {100 * MOST_VOLUME:.0f} % of the "
            "volume",
            do="Stir in less: more makes a paste that cannot be poured.",
        )
    rest = 1 - share
    per_g = 1 / (1 + by_weight)
    heat, warmth = card.reaction_heat_kj_kg, card.specific_heat_j_kg_k
    added = by_weight * filler.specific_heat_j_kg_k
    return replace(
        card,
        filler=filler.name,
        filler_fraction=by_weight,
        density_g_ml=_density(card, filler, by_weight),
        viscosity_mpa_s=_thicker(card.viscosity_mpa_s, share),
        shrinkage_fraction=_times(card.shrinkage_fraction, rest),
        expansion_per_k=_times(card.expansion_per_k, rest),
        reaction_heat_kj_kg=_times(heat, per_g),
        specific_heat_j_kg_k=_changed(warmth, lambda value: (value + added) * per_g),
    )


def _density(card, filler, by_weight):
    """The filled resin's own, lightest with the lightest powder."""

    def filled(of_resin, of_filler):
        return (1 + by_weight) / (1 / of_resin + by_weight / of_filler)

    resin, powder = card.density_g_ml, filler.density_g_ml
    low, high = (resin.value if end is None else end for end in (resin.low, resin.high))
    return Sourced(
        value=filled(resin.value, powder.value),
        low=filled(low, powder.low),
        high=filled(high, powder.high),
        unit=resin.unit,
        basis="computed",
        source=_source(resin),
    )


def _source(number) -> Told:
    return tell("filler.computed", source=number.source)


def _thicker(viscosity, share):
    ends = {"value": viscosity.value, "low": viscosity.low, "high": viscosity.high}
    return Sourced(
        **{
            name: (viscosity.value if end is None else end)
            * thickening(share, packing=PACKINGS[name])
            for name, end in ends.items()
        },
        unit=viscosity.unit,
        basis="computed",
        source=tell("filler.thicker", source=viscosity.source),
    )


def _times(number, factor):
    return _changed(number, lambda value: value * factor)


def _changed(number, change):
    if number is None:
        return None
    ends = {
        name: None if end is None else change(end)
        for name, end in (("value", number.value), ("low", number.low), ("high", number.high))
    }
    return replace(number, **ends, basis="computed", source=_source(number))
