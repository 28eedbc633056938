"""What silicone and resin say to a job, whatever its part."""

from castplan import units
from castplan.job import Job
from castplan.materials.cards import get_card
from castplan.materials.chemistries import chemistry_of
from castplan.materials.wording import chemistry_text
from castplan.record import Finding, finding


def list_material_findings(job: Job) -> tuple[Finding, ...]:
    """More pigment than the resin takes, and a resin poured hotter than the silicone takes.

    Parameters
    ----------
    job : Job
    """
    silicone = get_card(job.silicone, kind="silicone")
    resin = get_card(job.resin, kind="resin")
    found = []
    most = chemistry_of(resin).most_pigment_fraction
    if most is not None and job.pigment_fraction > most.value:
        found.append(
            finding(
                "much-pigment",
                "warn",
                "weigh",
                "bench_finding.pigment",
                share=units.digits(100 * job.pigment_fraction, 2),
                usual=units.digits(100 * most.value, 2),
                chemistry=chemistry_text(resin.chemistry),
                source=most.source,
            )
        )
    if resin.pour_at_c is not None and resin.pour_at_c.value > silicone.heat_limit_c.value:
        found.append(
            finding(
                "hot-pour",
                "warn",
                "weigh",
                "bench_finding.hot_pour",
                hot=f"{resin.pour_at_c.value:g}",
                limit=f"{silicone.heat_limit_c.value:g}",
            )
        )
    return tuple(found)
