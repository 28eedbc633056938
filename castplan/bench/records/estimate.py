"""Amounts without a mesh."""

from castplan.record import Sourced, record


@record
class EstimateResult:
    """What a mould of a part of this size would take; every number with its range.

    `box_mm` is the inside of the box.
    """

    box_mm: tuple[float, float, float]
    wall_mm: float
    part_ml: Sourced
    silicone_g: Sourced
    resin_g: Sourced  # one copy
    bounding_box_g: float  # silicone by the usual guess, box less bounding box
    assumptions: tuple[Sourced, ...]
