"""The choices of the shop."""

from castplan.model.base import record


@record
class Job:
    """Every choice the shop can make, with its default.

    None means: castplan chooses and says what it chose.
    """

    draw: tuple[float, float, float] | None = None
    up: tuple[float, float, float] | None = None
    n_directions: int = 256
    pitch_mm: float | None = None
    memory_mb: float = 400.0
    wall_mm: float | None = None
    over_mm: float = 12.0
    under_mm: float = 12.0
    gate_mm: float = 8.0
    vent_mm: float = 2.5
    vent_min_height_mm: float = 0.5
    vent_min_air_ml: float = 0.02
    silicone: str = "silicone-tin-25a"
    resin: str = "polyurethane-fast-70d"
    copies: int = 1
    shop_temperature_c: float = 23.0
    paper: str = "A4"
