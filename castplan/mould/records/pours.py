"""Air in the silicone: where each pour catches it under the part."""

import numpy as np

from castplan._arrays import freeze
from castplan.record import record


@record
class CaughtAir:
    """One place under the part where silicone leaves air."""

    place_mm: tuple[float, float, float]  # draw frame, its highest point
    volume_mm3: float
    area_mm2: float  # seen along the draw
    height_mm: float
    ring_mm: np.ndarray  # (k, 2) its outline seen along the draw

    def __post_init__(self):
        freeze(self, "ring_mm", shape=(None, 2))


@record
class SiliconePour:
    """One half's pour: which way it stands, what it catches, what frees it."""

    half: str  # "upper", "lower", or "whole" of a block that is cut open
    up: tuple[float, float, float]  # part frame
    caught: tuple[CaughtAir, ...]  # above the job's limit, largest first
    caught_mm3: float  # all of it
    n_small: int
    small_mm3: float
    tilt_deg: float  # of the best tilt; 0 where none does better
    toward_deg: float  # in the draw frame, from x counter-clockwise
    tilted_mm3: float  # caught at that tilt


@record
class PoursResult:
    """Both silicone pours in the order they are made."""

    pours: tuple[SiliconePour, ...]
