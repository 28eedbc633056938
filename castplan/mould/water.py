"""The original in water or on the scale: does the mesh hold what the part holds?"""

from dataclasses import replace

from castplan.job import Job
from castplan.materials.originals import density_range
from castplan.mould.records import MouldResult, WaterCheck
from castplan.texts.told import Told, tell

# How far a careful displacement can be off: the meniscus in a jug and clinging
# bubbles (common practice, no source). More is a finding.
AGREE_FRACTION = 0.03
_UNITS = (
    (25.4, "water_why.inches_as_mm"),
    (1 / 25.4, "water_why.mm_as_inches"),
    (10.0, "water_why.cm_as_mm"),
    (0.1, "water_why.mm_as_cm"),
    (1000.0, "water_why.m_as_mm"),
    (0.001, "water_why.mm_as_m"),
)
# A weighed volume less sure than this, either way, says less than the mesh (assumed).
VAGUE_FRACTION = 0.1
UNIT_FRACTION = 0.1  # a part built or scanned this far off still shows its unit


def check_water(
    mould: MouldResult, job: Job, *, sealed_ml: float = 0.0, doubt_ml: float = 0.0
) -> WaterCheck | None:
    """Compare the measured original with the mesh.

    A volume has its uncertainty: that of a jug or of the density by which it
    was weighed, and what the mesh leaves open. Where the two contradict each
    other by more than both, neither is trusted to lower an amount.

    Parameters
    ----------
    mould : MouldResult
        Its `part_ml` is the mesh's solid, sealed voids included.
    job : Job
        `water_ml`, or `original_g` with `original_density_g_ml`.
    sealed_ml : float
        Voids of the mesh that no silicone reaches: they push water aside and
        are filled with resin, but do not weigh.
    doubt_ml : float
        What the mesh's holes leave open, either way.

    Returns
    -------
    WaterCheck or None
        None when nothing was measured. Water comes before weight.
    """
    if job.water_ml is not None:
        method, measured_ml = "water", job.water_ml
        ends_ml = (measured_ml, measured_ml)
    elif job.original_g is not None and job.original_density_g_ml is not None:
        method = "weight"
        measured_ml = job.original_g / job.original_density_g_ml + sealed_ml
        light, heavy = density_range(job.original_density_g_ml)
        ends_ml = (job.original_g / heavy + sealed_ml, job.original_g / light + sealed_ml)
    else:
        return None
    computed_ml = mould.part_ml
    ratio = measured_ml / computed_ml
    low_ml, high_ml = ends_ml[0] * (1 - AGREE_FRACTION), ends_ml[1] * (1 + AGREE_FRACTION)
    is_below, is_above = high_ml < computed_ml - doubt_ml, low_ml > computed_ml + doubt_ml
    # What is known better is weighed out by: a density from a wide range says
    # less than a closed mesh.
    is_vague = high_ml - low_ml > 2 * max(doubt_ml, VAGUE_FRACTION * computed_ml)
    uses = "measured"
    # A unit mistaken: the measured part does not even fit the box.
    is_too_large = measured_ml >= computed_ml + mould.lower_ml + mould.upper_ml
    if is_below or is_too_large or (is_vague and not is_above):
        uses = "mesh"
    return WaterCheck(
        method=method,
        measured_ml=measured_ml,
        low_ml=low_ml,
        high_ml=high_ml,
        computed_ml=computed_ml,
        difference_fraction=ratio - 1,
        is_contradicted=is_below or is_above,
        uses=uses,
        causes=_causes(method, ratio) if abs(ratio - 1) > AGREE_FRACTION else (),
    )


def _causes(method: str, ratio: float) -> tuple[Told, ...]:
    factor = ratio ** (1 / 3)
    for unit_factor, key in _UNITS:
        if abs(factor / unit_factor - 1) < UNIT_FRACTION:
            return (tell(key),)
    percent = f"{100 * abs(factor - 1):.1f}"
    is_water = method == "water"
    if ratio > 1:
        return (
            tell("water_why.scale_small", percent=percent),
            tell("water_why.bubbles") if is_water else tell("water_why.density"),
            tell("water_why.lacks"),
        )
    scale = tell("water_why.scale_large", percent=percent)
    if is_water:
        return (scale, tell("water_why.hollow_wet"), tell("water_why.closes"))
    return (tell("water_why.hollow_light"), scale, tell("water_why.material"))


def use_measured(mould: MouldResult, water: WaterCheck | None) -> MouldResult:
    """The mould with the measured volume in place of the mesh's, where that is the one to use.

    Where they agree, the two halves share the difference as they shared the
    part. Where they contradict each other no amount gets less: the resin fills
    the larger of the two, and the silicone is what the smaller leaves in the
    box where water says so. By weight a part that is lighter is mostly a
    hollow one, round which the silicone stays the same.

    Parameters
    ----------
    mould : MouldResult
    water : WaterCheck or None

    Returns
    -------
    MouldResult
        Box, halves and part add up unless mesh and measurement contradict
        each other.
    """
    if water is None:
        return mould
    extra_ml = water.measured_ml - mould.part_ml
    void_ml = mould.lower_ml + mould.upper_ml
    part_ml = water.measured_ml if water.uses == "measured" else mould.part_ml
    moved_ml = part_ml - mould.part_ml
    if water.is_contradicted:
        moved_ml = min(extra_ml, 0.0) if water.method == "water" else 0.0
    share = 1 - moved_ml / void_ml
    return replace(
        mould,
        part_ml=part_ml,
        lower_ml=mould.lower_ml * share,
        upper_ml=mould.upper_ml * share,
    )
