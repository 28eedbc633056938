"""What air and materials ask of the shop, worst first, with what to do."""

from castplan.materials.cards import get_card
from castplan.model import (
    SEVERITIES,
    AirResult,
    AmountsResult,
    Finding,
    Job,
    MouldResult,
)

# A level roof longer than this keeps air away from its vent (vents about
# every 25 mm along a flat edge: mould makers' public pages).
WIDE_ROOF_MM2 = 25.0**2 / 4
MANY_VENTS = 8


def list_findings(
    job: Job,
    air: AirResult,
    mould: MouldResult,
    amounts: AmountsResult,
) -> tuple[Finding, ...]:
    """Read all results and say what matters.

    Parameters
    ----------
    job, air, mould, amounts : records

    Returns
    -------
    tuple of Finding
        Stops, then warnings, then notes; in the order of the work within each.
    """
    found = [
        *_air(air, mould),
        *_materials(job, amounts),
    ]
    return tuple(sorted(found, key=lambda f: SEVERITIES.index(f.severity)))


def _air(air, mould):
    for port in mould.ports:
        if port.is_blocked:
            name = "the gate" if port.kind == "gate" else f"vent {port.label}"
            yield Finding(
                code="blocked-port",
                severity="warn",
                stage="air",
                message=f"Straight up from {name} the part itself stands in the way.",
                do="Lead it out sideways along the parting line, or pour with another side up.",
            )
    gate = air.peaks[air.gate]
    if gate.roof_mm2 > WIDE_ROOF_MM2:
        yield Finding(
            code="level-roof",
            severity="warn",
            stage="air",
            message=f"The cavity ends in a level roof of {gate.roof_mm2 / 100:.0f} cm2: air "
            "spreads under it and need not find the vent.",
            do="Tilt the mould 15 to 30 degrees with the gate at the low side and the vent at the "
            "highest corner.",
        )
    n_vents = sum(port.kind == "vent" for port in mould.ports)
    if n_vents > MANY_VENTS:
        yield Finding(
            code="many-vents",
            severity="warn",
            stage="air",
            message=f"This way up the cavity has {n_vents} high points that need a vent.",
            do="Try another side up with --up, such as the other way round.",
        )
    if air.extra_vents_mm:
        yield Finding(
            code="vent-beside-gate",
            severity="note",
            stage="air",
            message="The highest point takes the gate. One opening cannot let resin in and air "
            "out, so one more vent stands on the same roof.",
            do="Pour slowly, so that the vent stays open to the end.",
        )
    elif not air.vents:
        yield Finding(
            code="gate-alone",
            severity="warn",
            stage="air",
            message="The gate is the only opening: the part is too small for a vent beside it.",
            do="Pour down one side of a wide gate, or fill the cavity and rock it before closing.",
        )
    if air.n_small:
        yield Finding(
            code="small-peaks",
            severity="note",
            stage="air",
            message=f"{air.n_small} smaller high points (rising under {air.min_height_mm:.2g} mm "
            f"or keeping under {air.min_air_mm3 / 1000:.2g} ml) have no vent; together they can "
            f"keep {air.small_mm3 / 1000:.2g} ml of air.",
            do="Brush resin into the detail before closing, or use a pressure pot.",
        )


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
