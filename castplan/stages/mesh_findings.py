"""What the mesh itself makes doubtful, with what to do about it."""

from castplan.model import DoubtResult, Finding, Part, Sampling

# Sampled and exact volume further apart than this: the mesh crosses itself,
# or the pitch is too coarse for its walls.
VOLUME_TOLERANCE_FRACTION = 0.01


def list_mesh_findings(part: Part, sampling: Sampling, doubt: DoubtResult) -> tuple[Finding, ...]:
    """Say how far the mesh can be trusted.

    Parameters
    ----------
    part : Part
    sampling : Sampling
    doubt : DoubtResult

    Returns
    -------
    tuple of Finding
    """
    return (*_holes(part.check, doubt), *_surface(part.check), *_bodies(part.check, sampling))


def _holes(check, doubt):
    if check.is_watertight:
        return
    volume = f"{doubt.volume_low_mm3 / 1000:.3g} to {doubt.volume_high_mm3 / 1000:.3g} ml"
    spans = (
        f"volume {volume}, silicone {doubt.silicone_low_g:.3g} to {doubt.silicone_high_g:.3g} g, "
        f"resin {doubt.resin_low_g:.3g} to {doubt.resin_high_g:.3g} g"
    )
    touched = "".join(
        f" {name} {', '.join(map(str, numbers))} {'lie' if len(numbers) > 1 else 'lies'} there."
        for name, numbers in (("Pocket", doubt.pockets), ("High point", doubt.peaks))
        if numbers
    )
    if doubt.trapped_mm3 > 0:
        touched += f" Of the trapped rubber, {doubt.trapped_mm3 / 1000:.2g} ml is there."
    size = (
        f"The mesh is open: {check.n_holes} hole{'s' if check.n_holes != 1 else ''}, "
        f"{check.hole_mm2 / 100:.2g} cm2 in all. {100 * doubt.undecided_fraction:.2g} % of the "
        "columns along the draw were decided by the winding number of the surface around them."
    )
    if doubt.is_trusted:
        yield Finding(
            code="open-mesh",
            severity="warn",
            stage="check",
            message=f"{size} If the missing surface bulges or sinks there: {spans}.{touched}",
            do="Look at the holes. If one lies on a face that matters, fill it in the scan.",
        )
    else:
        yield Finding(
            code="open-mesh",
            severity="stop",
            stage="check",
            message=f"{size} The amounts, pockets and high points cannot be trusted: what is "
            f"missing may change the {spans}.{touched}",
            do="Scan the missing side. If it is flat say --close-to-plane, or fill it with "
            "castplan heal and look at the result.",
        )


def _surface(check):
    if not check.is_winding_consistent:
        yield Finding(
            code="mixed-winding",
            severity="warn",
            stage="check",
            message="Some facets face the wrong way, and turning them one by one did not help: "
            "the surface has only one side, or more than two facets share an edge.",
            do="Repair it in the program that made the mesh, or with castplan heal.",
        )
    for change in check.changes:
        yield Finding(
            code="changed",
            severity="note",
            stage="check",
            message=f"For the plan castplan {change}. The file is unchanged.",
            do="Nothing, if the pictures show the part as it is.",
        )


def _bodies(check, sampling):
    if check.n_bodies > 1:
        inner = (
            f" {check.n_inner_shells} of them lie inside solid and add nothing."
            if check.n_inner_shells
            else ""
        )
        yield Finding(
            code="several-bodies",
            severity="note",
            stage="check",
            message=f"The file holds {check.n_bodies} separate surfaces. Those that overlap were "
            f"planned as one.{inner}",
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
            f"of {sampling.pitch_mm:.2g} mm. The amounts follow the columns.",
            do="Weigh the original in water and trust that volume; try a finer --pitch.",
        )
