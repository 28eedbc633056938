"""The box round the part."""

import numpy as np

from castplan._arrays import freeze
from castplan.record import record
from castplan.texts.told import Told


@record
class BoxOption:
    """One shape of box round the part, with what it takes."""

    shape: str  # rectangle, round, outline
    size_mm: tuple[float, float, float]  # inside: x, y, height
    silicone_ml: float
    silicone_g: float
    cost: float | None  # at the price of the shop's packs, in its currency
    note: Told


@record
class BoxResult:
    """The inside of the box, draw frame, and the shapes it was chosen from.

    `outline_mm` is the inside seen along the draw, counter-clockwise;
    `added_mm` what the box grew along x and y so that keys have room.
    """

    shape: str
    is_asked_for: bool
    outline_mm: np.ndarray  # (k, 2)
    low_mm: tuple[float, float, float]
    high_mm: tuple[float, float, float]
    wall_mm: float
    added_mm: tuple[float, float]
    options: tuple[BoxOption, ...]
    recommended: str

    def __post_init__(self):
        freeze(self, "outline_mm", shape=(None, 2))
