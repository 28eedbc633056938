"""What the amounts ask of the shop, with what to do."""

from collections.abc import Iterator

from castplan.bench.records import AmountsResult
from castplan.job import Job
from castplan.materials.cards import get_card
from castplan.materials.wording import weight_text
from castplan.record import Finding, finding


def list_amount_findings(job: Job, amounts: AmountsResult) -> Iterator[Finding]:
    """Whether a mix is too small to be mixed by itself."""
    resin = get_card(job.resin, kind="resin")
    cast = amounts.mixes[-1]
    if resin.smallest_mix_g is not None and cast.mass_g < resin.smallest_mix_g.value:
        is_made_up = job.shop.least_mix == "card"
        yield finding(
            "small-mix",
            "warn",
            "amounts",
            "amount_finding.small_mix_made_up" if is_made_up else "amount_finding.small_mix",
            mass=weight_text(cast.mass_g),
            least=weight_text(resin.smallest_mix_g.value),
        )
