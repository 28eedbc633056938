"""What a block that is cut open asks of the shop, and whether it lets the part go."""

from castplan.air.records import Air
from castplan.job import Job
from castplan.materials.wording import listed, volume_text
from castplan.mould.findings import WORTH_TELLING_G, list_wall_findings
from castplan.mould.opening_findings import list_opening_findings
from castplan.mould.pour_findings import list_pour_findings
from castplan.mould.records import HoldDown, Mould, Slit
from castplan.record import Finding, Frame, finding
from castplan.split.records import FlexResult, Split


def list_cut_findings(split: Split, air: Air, mould: Mould, job: Job) -> tuple[Finding, ...]:
    """Findings of a block that is cut open, in the order of the work."""
    frame = split.draw.frame
    return (
        *_held(split.flex),
        *_slit(frame, mould.slit),
        *list_wall_findings(split.box, mould),
        *_lift(mould.hold),
        *list_pour_findings(frame, air, mould, job),
        *list_opening_findings(frame, air.openings, mould, job),
    )


def _held(flex: FlexResult):
    """Undercuts that do not stretch out: there is no half to take apart further."""
    torn = [each.number for each in flex.pockets if each.verdict in ("may tear", "locked")]
    if torn:
        is_locked = any(each.verdict == "locked" for each in flex.pockets)
        yield finding(
            "cut-held",
            "stop" if is_locked else "warn",
            "mould",
            "cut_finding.held",
            n=len(torn),
            numbers=listed([str(number) for number in torn]),
        )


def _lift(hold: HoldDown):
    """Silicone is all round the part from the first: only the sticks hold it."""
    if hold.lift_g > WORTH_TELLING_G:
        yield finding("cut-lift", "warn", "mould", "cut_finding.lift", lift=f"{hold.lift_g:.0f}")


def _slit(frame: Frame, slit: Slit):
    side = slit.chosen
    told = {"strain": _percent(side.strain_fraction)}
    where_mm = frame.point_in_part(slit.seams_mm[0][0]) if slit.seams_mm else None
    if side.cap_mm3 > 0:
        volume = volume_text(side.cap_mm3 / 1000)
        yield finding("cut-cap", "stop", "mould", "cut_finding.cap", volume=volume)
    if side.verdict == "shut" and not side.cap_mm3:
        limit = _percent(slit.limit_fraction)
        yield finding("cut-shut", "stop", "mould", "cut_finding.shut", **told, limit=limit)
    elif side.verdict == "stiff":
        force = {"force": f"{side.force_n:.0f} N", "hand": f"{slit.hand_n:.0f} N"}
        yield finding("cut-stiff", "warn", "mould", "cut_finding.stiff", **force)
    if slit.holes:
        holes = listed([f"H{number}" for number in slit.holes])
        yield finding(
            "cut-hole", "stop", "mould", "cut_finding.hole", n=len(slit.holes), holes=holes
        )
    if side.n_across:
        yield finding("cut-stubs", "note", "mould", "cut_finding.across", n=side.n_across)
    if slit.is_opening:
        yield finding(
            "cut-seam",
            "note",
            "mould",
            "cut_finding.seam",
            seam=f"{side.seam_mm:.0f} mm",
            share=_percent(slit.outline_fraction),
            where_mm=where_mm,
        )


def _percent(fraction: float) -> str:
    return f"{100 * fraction:.0f} %"
