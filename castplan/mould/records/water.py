"""The original in water."""

from castplan.record import record
from castplan.texts.told import Told


@record
class WaterCheck:
    """The original's measured volume against the mesh's.

    `low_ml` and `high_ml` bound the measured one by its own uncertainty. `uses`
    says by which the resin is weighed out, "measured" or "mesh".
    """

    method: str  # "water" or "weight"
    measured_ml: float
    low_ml: float
    high_ml: float
    computed_ml: float
    difference_fraction: float
    is_contradicted: bool  # by more than both uncertainties
    uses: str
    causes: tuple[Told, ...]
