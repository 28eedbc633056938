"""The original in water."""

from castplan.record import record
from castplan.texts.told import Told


@record
class WaterCheck:
    """The original's measured volume against the mesh's."""

    method: str  # "water" or "weight"
    measured_ml: float
    computed_ml: float
    difference_fraction: float
    causes: tuple[Told, ...]
