"""What the mesh itself makes doubtful, with what to do about it."""

from castplan import units
from castplan.bench.records import DoubtResult
from castplan.part.records import Part, Sampling
from castplan.record import Finding, finding
from castplan.texts.told import tell, together

# Less of the trapped silicone than a drop is not told (assumed).
LEAST_TOLD_MM3 = 50.0


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
    size = tell(
        "mesh_finding.open",
        n=check.n_holes,
        area=units.digits(check.hole_mm2 / 100, 2),
        undecided=units.digits(100 * doubt.undecided_fraction, 2),
    )
    spans = {
        "volume_low": units.digits(doubt.volume_low_mm3 / 1000, 3),
        "volume_high": units.digits(doubt.volume_high_mm3 / 1000, 3),
        "silicone_low": units.digits(doubt.silicone_low_g, 3),
        "silicone_high": units.digits(doubt.silicone_high_g, 3),
        "resin_low": units.digits(doubt.resin_low_g, 3),
        "resin_high": units.digits(doubt.resin_high_g, 3),
    }
    if doubt.is_trusted:
        yield Finding(
            code="open-mesh",
            severity="warn",
            stage="check",
            message=together([size, tell("mesh_finding.open_spans", **spans), *_touched(doubt)]),
            do=tell("mesh_finding.open_do"),
        )
    else:
        yield Finding(
            code="open-mesh",
            severity="stop",
            stage="check",
            message=together([size, tell("mesh_finding.stop_spans", **spans), *_touched(doubt)]),
            do=tell("mesh_finding.stop_do"),
        )


def _touched(doubt):
    """What of the plan lies over holes or beside them, a sentence each."""
    if doubt.pockets:
        numbers = ", ".join(map(str, doubt.pockets))
        yield tell("mesh_finding.open_pockets", n=len(doubt.pockets), numbers=numbers)
    if doubt.peaks:
        numbers = ", ".join(map(str, doubt.peaks))
        yield tell("mesh_finding.open_peaks", n=len(doubt.peaks), numbers=numbers)
    if doubt.trapped_mm3 >= LEAST_TOLD_MM3:
        yield tell("mesh_finding.open_trapped", volume=units.digits(doubt.trapped_mm3 / 1000, 2))


def _surface(check):
    if not check.is_winding_consistent:
        yield finding("mixed-winding", "warn", "check", "mesh_finding.winding")
    for change in check.changes:
        yield finding("changed", "note", "check", "mesh_finding.changed", change=change)


def _bodies(check, sampling):
    if check.n_bodies > check.n_parts:
        message = tell("mesh_finding.bodies", bodies=check.n_bodies)
        if check.n_inner_shells:
            inner = tell("mesh_finding.bodies_inner", n=check.n_inner_shells)
            message = together([message, inner])
        yield Finding(
            code="several-bodies",
            severity="note",
            stage="check",
            message=message,
            do=tell("mesh_finding.bodies_do"),
        )
    off = sampling.volume_difference_fraction
    if sampling.bodies_overlap:
        yield finding(
            "volume-differs",
            "warn",
            "check",
            "mesh_finding.volume",
            off=f"{100 * off:.1f}",
            pitch=units.digits(sampling.pitch_mm, 2),
        )
