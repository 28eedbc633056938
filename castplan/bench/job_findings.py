"""What materials and the face that shows ask of the shop, worst first, with what to do."""

from castplan.bench.records import AmountsResult
from castplan.job import Job
from castplan.materials.cards import get_card
from castplan.materials.wording import axis_text
from castplan.part.records import ShowFace
from castplan.record import SEVERITIES, Finding
from castplan.texts.told import tell


def list_findings(
    job: Job,
    amounts: AmountsResult,
    show: ShowFace,
) -> tuple[Finding, ...]:
    """Read all results and say what matters.

    Parameters
    ----------
    job, amounts, show : records

    Returns
    -------
    tuple of Finding
        Stops, then warnings, then notes; in the order of the work within each.
    """
    found = [
        *_show_face(show),
        *_materials(job, amounts),
    ]
    return tuple(sorted(found, key=lambda f: SEVERITIES.index(f.severity)))


def _show_face(show):
    if show.basis == "guessed":
        side = tell(f"show_face.{show.why}")
        message = tell("show_finding.guessed", side=side, axis=axis_text(show.direction))
        do = tell("show_finding.guessed_do")
    elif show.basis == "unknown":
        message, do = tell(f"show_finding.{show.why}"), tell("show_finding.unknown_do")
    else:
        return
    yield Finding(
        code=f"show-face-{show.basis}", severity="note", stage="check", message=message, do=do
    )


def _materials(job, amounts):
    resin = get_card(job.resin, kind="resin")
    cast = amounts.mixes[-1]
    if resin.smallest_mix_g is not None and cast.mass_g < resin.smallest_mix_g.value:
        yield Finding(
            code="small-mix",
            severity="warn",
            stage="amounts",
            message=tell(
                "amount_finding.small_mix",
                mass=f"{cast.mass_g:.0f}",
                least=f"{resin.smallest_mix_g.value:.0f}",
            ),
            do=tell("amount_finding.small_mix_do"),
        )
