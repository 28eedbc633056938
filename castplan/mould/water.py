"""The original in water or on the scale: does the mesh hold what the part holds?"""

from dataclasses import replace

from castplan.job import Job
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
UNIT_FRACTION = 0.1  # a part built or scanned this far off still shows its unit


def check_water(mould: MouldResult, job: Job) -> WaterCheck | None:
    """Compare the measured original with the mesh.

    Parameters
    ----------
    mould : MouldResult
        Its `part_ml` is the mesh's solid, sealed voids included.
    job : Job
        `water_ml`, or `original_g` with `original_density_g_ml`.

    Returns
    -------
    WaterCheck or None
        None when nothing was measured. Water comes before weight.
    """
    if job.water_ml is not None:
        method, measured_ml = "water", job.water_ml
    elif job.original_g is not None and job.original_density_g_ml is not None:
        method, measured_ml = "weight", job.original_g / job.original_density_g_ml
    else:
        return None
    ratio = measured_ml / mould.part_ml
    return WaterCheck(
        method=method,
        measured_ml=measured_ml,
        computed_ml=mould.part_ml,
        difference_fraction=ratio - 1,
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
    return (
        tell("water_why.scale_large", percent=percent),
        tell("water_why.hollow_wet") if is_water else tell("water_why.hollow_light"),
        tell("water_why.closes"),
    )


def use_measured(mould: MouldResult, water: WaterCheck | None) -> MouldResult:
    """The mould with the measured volume in place of the mesh's.

    The two halves share the difference as they shared the part.

    Parameters
    ----------
    mould : MouldResult
    water : WaterCheck or None

    Returns
    -------
    MouldResult
        Box, halves and part still add up.
    """
    if water is None:
        return mould
    extra_ml = water.measured_ml - mould.part_ml
    void_ml = mould.lower_ml + mould.upper_ml
    # A unit mistaken: the measured part does not even fit the box.
    if extra_ml >= void_ml:
        return mould
    share = 1 - extra_ml / void_ml
    return replace(
        mould,
        part_ml=water.measured_ml,
        lower_ml=mould.lower_ml * share,
        upper_ml=mould.upper_ml * share,
    )
