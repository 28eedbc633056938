"""The original in water."""

from castplan.record import record


@record
class WaterCheck:
    """The original's measured volume against the mesh's.

    `length_factor` is the cube root of their ratio: how far every length of
    the mesh would be off if scale alone were the cause.
    """

    method: str  # "water" or "weight"
    measured_ml: float
    computed_ml: float
    difference_fraction: float
    length_factor: float
    causes: tuple[str, ...]
