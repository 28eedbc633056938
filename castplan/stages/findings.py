"""What materials ask of the shop, worst first, with what to do."""

from castplan.materials.cards import get_card
from castplan.model import (
    SEVERITIES,
    AmountsResult,
    Finding,
    Job,
)


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
            message=f"One copy takes {cast.mass_g:.0f} g of resin, less than the smallest sensible "
            f"mix of {resin.smallest_mix_g.value:.0f} g: the ratio drifts and little heat sets it.",
            do="Weigh to 0.1 g, or cast several moulds from one cup.",
        )
