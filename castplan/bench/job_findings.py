"""What the amounts ask of the shop, with what to do."""

from collections.abc import Iterator

from castplan import units
from castplan.bench.records import AmountsResult
from castplan.job import Job
from castplan.materials.cards import get_card
from castplan.materials.fillers import resin_of
from castplan.materials.wording import weight_text
from castplan.record import Finding, finding

# What is weighed beyond the mould's volume makes up for no more than this (assumed: the
# least that stays in cups is 5 %).
OPEN_FRACTION = 0.05


def list_amount_findings(job: Job, amounts: AmountsResult) -> Iterator[Finding]:
    """Whether a mix is too small to be mixed by itself, and what a density leaves open."""
    yield from _open_densities(job, amounts)
    resin = get_card(job.resin, kind="resin")
    cast = amounts.mixes[-1]
    least = resin.smallest_mix_g
    if least is not None and cast.a_g + cast.b_g < least.value:
        filled = cast.mass_g / (cast.a_g + cast.b_g)
        is_made_up = job.shop.least_mix == "card"
        yield finding(
            "small-mix",
            "warn",
            "amounts",
            "amount_finding.small_mix_made_up" if is_made_up else "amount_finding.small_mix",
            mass=weight_text(cast.mass_g),
            least=weight_text(filled * least.value),
        )


def _open_densities(job, amounts):
    """Materials of which a volume may weigh more than is weighed out for it."""
    silicone = get_card(job.silicone, kind="silicone")
    for card, mass_g in ((silicone, amounts.silicone_g), (resin_of(job), amounts.resin_g)):
        density = card.density_g_ml
        if density.high is None or density.high / density.value - 1 <= OPEN_FRACTION:
            continue
        low_g, high_g = (mass_g * end / density.value for end in (density.low, density.high))
        yield finding(
            "density-open",
            "warn",
            "amounts",
            "amount_finding.density_open",
            material=card.title,
            low=units.digits(density.low, 3),
            high=units.digits(density.high, 3),
            value=units.digits(density.value, 3),
            source=density.source,
            mass=weight_text(mass_g),
            least=weight_text(low_g),
            most=weight_text(high_g),
            more=weight_text(high_g - mass_g),
        )
