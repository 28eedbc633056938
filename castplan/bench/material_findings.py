"""What silicone and resin say to a job, whatever its part."""

from castplan import units
from castplan.job import Job
from castplan.materials.cards import get_card
from castplan.materials.chemistries import chemistry_of
from castplan.materials.fillers import (
    FILLERS,
    PACKINGS,
    resin_of,
    thickening,
    volume_fraction,
)
from castplan.materials.wording import chemistry_text
from castplan.record import Finding, finding
from castplan.texts.names import filler_name

# A resin thickened beyond this keeps the bubbles that it would have let go (assumed).
MUCH_THICKER = 3.0


def list_material_findings(job: Job) -> tuple[Finding, ...]:
    """Filler, too much pigment, and a resin poured hotter than the silicone takes.

    Parameters
    ----------
    job : Job
    """
    silicone = get_card(job.silicone, kind="silicone")
    resin = resin_of(job)
    found = list(_thickened(job))
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


def _thickened(job):
    """What a filler makes of weight and flow."""
    if not job.filler_fraction:
        return
    plain, filled = get_card(job.resin, kind="resin"), resin_of(job)
    filler = FILLERS[job.filler]
    volume = volume_fraction(
        by_weight=job.filler_fraction,
        filler_g_ml=filler.density_g_ml.value,
        resin_g_ml=plain.density_g_ml.value,
    )
    times, low, high = (thickening(volume, packing=PACKINGS[end]) for end in PACKINGS)
    yield finding(
        "filled-resin",
        "warn" if times > MUCH_THICKER else "note",
        "weigh",
        "filler.thick",
        share=units.digits(100 * job.filler_fraction, 3),
        kind=filler_name(job.filler),
        volume=f"{100 * volume:.0f}",
        density=f"{filled.density_g_ml.value:.2f}",
        times=units.digits(times, 2),
        low=units.digits(low, 2),
        high=units.digits(high, 2),
    )
