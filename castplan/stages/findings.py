"""What the shop should know before the first clay, worst first, with what to do."""

import numpy as np

from castplan.materials.cards import get_card
from castplan.model import (
    SEVERITIES,
    AirResult,
    AmountsResult,
    DrawResult,
    Finding,
    Job,
    MouldResult,
    Part,
    PartingResult,
    Sampling,
    UndercutResult,
)

# A level roof longer than this keeps air away from its vent (vents about
# every 25 mm along a flat edge: mould makers' public pages).
WIDE_ROOF_MM2 = 25.0**2 / 4
MANY_VENTS = 8
# Sampled and exact volume further apart than this: the mesh crosses itself,
# or the pitch is too coarse for its walls.
VOLUME_TOLERANCE_FRACTION = 0.01
# Rubber under this volume, a cube of 3.7 mm, flexes off an edge (assumed).
WORTH_TELLING_MM3 = 50.0


def list_findings(
    part: Part,
    job: Job,
    sampling: Sampling,
    draw: DrawResult,
    undercuts: UndercutResult,
    parting: PartingResult,
    air: AirResult,
    mould: MouldResult,
    amounts: AmountsResult,
    *,
    tie_mm3: float,
) -> tuple[Finding, ...]:
    """Read all results and say what matters.

    Parameters
    ----------
    part, job, sampling, draw, undercuts, parting, air, mould, amounts : records
    tie_mm3 : float
        Trapped volumes up to this count as nothing.

    Returns
    -------
    tuple of Finding
        Stops, then warnings, then notes; in the order of the work within each.
    """
    found = [
        *_mesh(part, sampling),
        *_undercuts(draw, undercuts),
        *_parting(parting, tie_mm3),
        *_air(air, mould),
        *_materials(job, amounts),
    ]
    return tuple(sorted(found, key=lambda f: SEVERITIES.index(f.severity)))


def _mesh(part, sampling):
    check = part.check
    if not check.is_watertight:
        share = sampling.n_decided / max(sampling.n_columns, 1)
        yield Finding(
            code="open-mesh",
            severity="warn",
            stage="check",
            message=f"The mesh is open: {check.n_holes} holes, {check.n_open_edges} open edges. "
            f"{100 * share:.2g} % of the columns through the part were decided by the winding "
            "number of the surface around them.",
            do="Look at the holes. If one lies on a face that matters, fill it in the scan.",
        )
    if not check.is_winding_consistent:
        yield Finding(
            code="mixed-winding",
            severity="warn",
            stage="check",
            message="Some facets face the wrong way or share an edge with more than two others.",
            do="Repair the normals in the program that made the mesh, then plan again.",
        )
    if check.is_inverted:
        yield Finding(
            code="inside-out",
            severity="note",
            stage="check",
            message="The mesh was inside out; it was turned for the plan. The file is unchanged.",
            do="Nothing, unless the picture shows a hole where the part should be.",
        )
    if check.n_bodies > 1:
        yield Finding(
            code="several-bodies",
            severity="note",
            stage="check",
            message=f"The file holds {check.n_bodies} separate surfaces. Those that overlap were "
            "planned as one.",
            do="Delete loose specks from a scan before you plan.",
        )
    off = sampling.volume_difference_fraction
    if off is not None and abs(off) > VOLUME_TOLERANCE_FRACTION:
        yield Finding(
            code="volume-differs",
            severity="warn",
            stage="check",
            message=f"The volume by columns differs from the mesh's own by {100 * off:.1f} %: "
            "bodies overlap, the surface crosses itself, or walls are thinner than the pitch "
            f"of {sampling.pitch_mm:.2g} mm.",
            do="Weigh the original in water and trust that volume; try a finer --pitch.",
        )


def _undercuts(draw, undercuts):
    for pocket in undercuts.pockets:
        where = tuple(float(v) for v in draw.frame.to_part(np.asarray(pocket.centre_mm)))
        size = f"{pocket.volume_mm3 / 1000:.2g} ml, {pocket.depth_mm:.1f} mm deep sideways"
        if pocket.kind == "sealed":
            yield Finding(
                code="sealed-void",
                severity="warn",
                stage="undercuts",
                message=f"Void {pocket.number} ({pocket.volume_mm3 / 1000:.2g} ml) is closed all "
                "round. Silicone cannot reach it: the copy will be solid there and heavier. A "
                "hollow original can float or crush.",
                do="Check that the void is real and not a fault of the mesh. Hold the part down.",
                where_mm=where,
            )
        elif pocket.kind == "bridge":
            yield Finding(
                code="bridge",
                severity="warn",
                stage="undercuts",
                message=f"Pocket {pocket.number} ({size}) is a hole across the draw: the silicone "
                "in it is a pin held at both ends and must be cut or torn.",
                do="Plug it with clay and drill the copy, or pull along the hole instead.",
                where_mm=where,
            )
        else:
            half = {"both": "both halves"}.get(pocket.held_by, f"the {pocket.held_by} half")
            yield Finding(
                code="pocket",
                severity="warn",
                stage="undercuts",
                message=f"Pocket {pocket.number} ({size}) holds {half}: the rubber must flex out "
                "of it.",
                do="Choose a softer silicone, fill it with clay and cut it in the copy, or make a "
                "loose piece.",
                where_mm=where,
            )
    if undercuts.n_small:
        yield Finding(
            code="small-pockets",
            severity="note",
            stage="undercuts",
            message=f"{undercuts.n_small} smaller pockets, each under "
            f"{undercuts.min_volume_mm3:.2g} mm3 and {undercuts.small_mm3 / 1000:.2g} ml together, "
            "are taken as texture.",
            do="Nothing: rubber this thin flexes.",
        )


def _parting(parting, tie_mm3):
    extra_mm3 = parting.trapped_at_mm3 - parting.locked_mm3
    if extra_mm3 > max(tie_mm3, WORTH_TELLING_MM3):
        yield Finding(
            code="level-split-holds",
            severity="warn",
            stage="parting",
            message=f"A level split holds {extra_mm3 / 1000:.2g} ml that a line following the "
            "part would free.",
            do="Raise or lower the clay along the outline so that it meets the part at its widest.",
        )


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
    yield Finding(
        code="heat",
        severity="note",
        stage="amounts",
        message=f"The cast softens from about {resin.heat_limit_c.value:.0f} C. Behind glass in "
        "the sun a cabin part can get hotter than that.",
        do="Ask where the part will live before you choose the resin.",
    )
