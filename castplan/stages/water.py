"""The original in water or on the scale: does the mesh hold what the part holds?"""

from dataclasses import replace

from castplan.model import Job, MouldResult, WaterCheck

# How far a careful displacement can be off: the meniscus in a jug and clinging
# bubbles (common practice, no source). More is a finding.
AGREE_FRACTION = 0.03
_UNITS = (
    (25.4, "the mesh is in inches and was read as millimetres"),
    (1 / 25.4, "the mesh is in millimetres and was read as inches"),
    (10.0, "the mesh is in centimetres and was read as millimetres"),
    (0.1, "the mesh is in millimetres and was read as centimetres"),
    (1000.0, "the mesh is in metres and was read as millimetres"),
    (0.001, "the mesh is in millimetres and was read as metres"),
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
        length_factor=ratio ** (1 / 3),
        causes=_causes(method, ratio) if abs(ratio - 1) > AGREE_FRACTION else (),
    )


def _causes(method: str, ratio: float) -> tuple[str, ...]:
    factor = ratio ** (1 / 3)
    for unit_factor, words in _UNITS:
        if abs(factor / unit_factor - 1) < UNIT_FRACTION:
            return (words,)
    scale = f"the scan's scale: every length would be {100 * abs(factor - 1):.1f} % too "
    if ratio > 1:
        causes = [scale + "small"]
        causes.append(
            "bubbles clinging to the part, or water spilt"
            if method == "water"
            else "a density other than the one given, or metal inside"
        )
        causes.append("the mesh lacks a piece that the original has")
    else:
        causes = [scale + "large"]
        causes.append(
            "the original is hollow and water ran into it"
            if method == "water"
            else "the original is hollow, or lighter than the density given"
        )
        causes.append("the mesh closes a hole or a hollow that the original has")
    return tuple(causes)


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
