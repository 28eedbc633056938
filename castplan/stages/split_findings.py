"""What the split asks of the shop: pockets, thin places, the line."""

import numpy as np

from castplan.model import (
    DrawResult,
    Finding,
    FlexResult,
    PartingLine,
    Remedy,
    SeamResult,
    UndercutResult,
)

# Rubber under this volume, a cube of 3.7 mm, flexes off an edge (assumed).
WORTH_TELLING_MM3 = 50.0
SEVERITY_OF = {"leaves freely": "note", "flexes out": "note", "may tear": "warn"}


def list_split_findings(
    draw: DrawResult,
    undercuts: UndercutResult,
    line: PartingLine,
    seam: SeamResult,
    flex: FlexResult,
    remedies: tuple[Remedy, ...],
    *,
    tie_mm3: float,
) -> tuple[Finding, ...]:
    """Say what holds, what to do about it, and where the split is thin or odd.

    Parameters
    ----------
    draw, undercuts, line, seam, flex, remedies : records
    tie_mm3 : float
        Trapped volumes up to this count as nothing.

    Returns
    -------
    tuple of Finding
    """
    return (
        *_pockets(draw, undercuts, flex, remedies),
        *_line(line, tie_mm3),
        *_thin(draw, flex),
        *_seam(seam, undercuts),
    )


def _place(draw, point_mm):
    return tuple(float(v) for v in draw.frame.to_part(np.asarray(point_mm)))


def _pockets(draw, undercuts, flex, remedies):
    judged = {f.number: f for f in flex.pockets}
    for pocket in undercuts.pockets:
        verdict = judged[pocket.number]
        where = _place(draw, pocket.centre_mm)
        ml = f"{pocket.volume_mm3 / 1000:.2g} ml"
        if pocket.kind == "sealed":
            yield Finding(
                code="sealed-void",
                severity="warn",
                stage="undercuts",
                message=f"Void {pocket.number} ({ml}) is closed all round. Silicone cannot reach "
                "it: the copy will be solid there and heavier. A hollow original can float or "
                "crush.",
                do="Check that the void is real and not a fault of the mesh. Hold the part down.",
                where_mm=where,
            )
            continue
        severity = SEVERITY_OF.get(verdict.verdict)
        if severity is None:
            is_worth_it = pocket.volume_mm3 >= WORTH_TELLING_MM3
            severity = "stop" if is_worth_it else "warn"
        size = f"{ml}, {pocket.depth_mm:.1f} +- {flex.depth_error_mm:.1f} mm deep sideways"
        if pocket.kind == "bridge":
            what = "is a hole across the draw: the rubber in it is a pin held at both ends"
        else:
            half = {"both": "both halves"}.get(pocket.held_by, f"the {pocket.held_by} half")
            what = f"holds {half}; it {_will(verdict.verdict)}: {verdict.why}"
        options = [r.text for r in remedies if r.pocket == pocket.number]
        yield Finding(
            code=pocket.kind,
            severity=severity,
            stage="undercuts",
            message=f"Pocket {pocket.number} ({size}) {what}.",
            do=" Or: ".join(options[:2]) if options else "Peel that side off first, slowly.",
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


def _will(verdict):
    return {"may tear": "may tear", "locked": "is locked"}.get(verdict, verdict)


def _line(line, tie_mm3):
    locked_mm3 = min(option.trapped_mm3 for option in line.options)
    extra_mm3 = line.trapped_mm3 - locked_mm3
    if extra_mm3 > max(tie_mm3, WORTH_TELLING_MM3):
        best = min(line.options, key=lambda option: option.trapped_mm3)
        yield Finding(
            code="line-holds",
            severity="warn",
            stage="parting",
            message=f"This {line.kind} split holds {extra_mm3 / 1000:.2g} ml that a {best.kind} "
            "one would free.",
            do=f"Plan with --parting {best.kind}, or leave --parting out.",
        )
    elif line.kind != "level":
        level = line.options[0]
        note = next(o.note for o in line.options if o.kind == line.kind)
        yield Finding(
            code="line-not-level",
            severity="note",
            stage="parting",
            message=f"A level split would hold {(level.trapped_mm3 - locked_mm3) / 1000:.2g} ml, "
            f"so the split is {line.kind}: {note}.",
            do="Cut out the clay strip and bring the clay up to it.",
        )
    for plug in line.plugs:
        if plug.is_following:
            yield Finding(
                code="plug-follows",
                severity="note",
                stage="parting",
                message=f"The rim of hole H{plug.number} climbs: a level plug would hold "
                f"{plug.trapped_mm3 / 1000:.2g} ml.",
                do="Model the top of the clay plug to its strip, from rim to rim.",
            )


def _thin(draw, flex):
    words = {
        "rubber": (
            "thin-rubber",
            "of rubber stands thin against its spread and may tear",
            "Fill the slot with clay, or plan for few copies.",
        ),
        "part": (
            "thin-part",
            "of the part is thin: the original may break and the copy may not fill",
            "Support the original there; warm the mould, use thin resin or a pressure pot.",
        ),
    }
    for kind, (code, what, do) in words.items():
        places = [place for place in flex.thin if place.kind == kind]
        if not places:
            continue
        first = places[0]
        count = "One place" if len(places) == 1 else f"{len(places)} places"
        yield Finding(
            code=code,
            severity="warn",
            stage="undercuts",
            message=f"{count} {what}; the thinnest is {first.thickness_mm:.1f} mm over "
            f"{first.area_mm2:.0f} mm2.",
            do=do,
            where_mm=_place(draw, first.centre_mm),
        )


def _seam(seam, undercuts):
    if seam.n_expected is None or undercuts.pockets:
        return
    if len(seam.loops_mm) != seam.n_expected:
        yield Finding(
            code="seam-loops",
            severity="note",
            stage="parting",
            message=f"The seam on the mesh has {len(seam.loops_mm)} loops where a clean split of "
            f"this body has {seam.n_expected}.",
            do="Look at the seam in the pictures before you mark it on the part.",
        )
