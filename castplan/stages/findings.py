"""What materials ask of the shop, worst first, with what to do."""

from castplan.materials.cards import get_card
from castplan.model import (
    SEVERITIES,
    AmountsResult,
    Finding,
    Job,
)
from castplan.texts import say


def list_findings(
    job: Job,
    amounts: AmountsResult,
) -> tuple[Finding, ...]:
    """Read all results and say what matters.

    Parameters
    ----------
    job, amounts : records

    Returns
    -------
    tuple of Finding
        Stops, then warnings, then notes; in the order of the work within each.
    """
    found = [
        *_materials(job, amounts),
    ]
    return tuple(sorted(found, key=lambda f: SEVERITIES.index(f.severity)))


def _materials(job, amounts):
    resin = get_card(job.resin, kind="resin")
    cast = amounts.mixes[-1]
    if resin.smallest_mix_g is not None and cast.mass_g < resin.smallest_mix_g.value:
        yield Finding(
            code="small-mix",
            severity="warn",
            stage="amounts",
            message=say(
                "amount_finding.small_mix",
                mass=f"{cast.mass_g:.0f}",
                least=f"{resin.smallest_mix_g.value:.0f}",
            ),
            do=say("amount_finding.small_mix_do"),
        )
