"""Heat of curing, thickness, and the place where the part will live."""

import numpy as np

from castplan._arrays import freeze
from castplan.record import Sourced, record


@record
class HeatResult:
    """How hot it can get, and how hot it may get.

    Thickness at a point of the part is the shortest of the solid lengths
    through it along 13 directions, so never less than the true one. `thickness_mm` holds, seen
    along the draw, the greatest thickness in each cell; 0 where no part is.
    """

    rise_c: Sourced | None  # adiabatic, a ceiling; None where the card gives no heat
    peak_c: Sourced | None  # of the thickest section, in its mould
    thin_c: Sourced | None  # the same of a wall of 3 mm
    cup_c: Sourced | None  # of the largest cup of resin, left standing
    cast_g: float  # the part in resin
    largest_cup_g: float
    limit_mm: float | None  # the card's greatest thickness
    limit_basis: str | None
    thickest_mm: float
    thickest_at_mm: tuple[float, float, float]  # part frame
    over_limit_fraction: float  # share of the part's volume thicker than the limit
    thickness_mm: np.ndarray  # (rows, columns)
    cell_mm: float
    low_mm: tuple[float, float]  # draw frame, corner of the first cell
    softens_c: Sourced
    place: str | None
    place_c: Sourced | None

    def __post_init__(self):
        freeze(self, "thickness_mm", shape=(None, None))
