"""An insert set into the copy: where it breaks through, and what wall is left."""

import numpy as np

from castplan._arrays import freeze
from castplan.record import record


@record
class Breakthrough:
    """One piece of the insert that stands out of the copy."""

    place_mm: tuple[float, float, float]  # part frame, its point farthest out
    out_mm: float  # that far from the copy's surface
    volume_ml: float
    mouth_mm2: float  # of the copy's surface that it takes


@record
class KeepOut:
    """A region that the insert must leave alone: a box along the file's axes.

    `away_mm` is the least distance to the insert, 0 where they overlap.
    """

    name: str
    low_mm: tuple[float, float, float]
    high_mm: tuple[float, float, float]
    overlap_ml: float
    away_mm: float
    is_touched: bool


@record
class Clearance:
    """What setting an insert does to the copy; part frame.

    `least_wall_mm` is from the insert to the outside, its bed not counted;
    None where no wall is left to measure. `wall` says what is left of it beyond the
    bed: ``none``, ``cut-through``, ``too-thin``, ``thin`` or ``good``. `walls_mm` map it
    over the insert's surface inside the copy.
    """

    name: str
    at_mm: tuple[float, float, float]
    turn_deg: tuple[float, float, float]  # about x, then y, then z
    insert_ml: float
    inside_ml: float
    breaks: tuple[Breakthrough, ...]
    flush_mm2: float  # of the insert that lies in the copy's surface
    least_wall_mm: float | None
    wall: str
    wall_at_mm: tuple[float, float, float] | None
    points_mm: np.ndarray  # (n, 3)
    walls_mm: np.ndarray  # (n,)
    bed_mm: float  # gap round the insert
    bed_ml: float  # of resin or filler in it, inside the copy
    bed_g: float  # by the plan's resin
    keeps: tuple[KeepOut, ...]
    outline_mm: np.ndarray  # (k, 2, 3) edges of the insert as it is set

    def __post_init__(self):
        freeze(self, "points_mm", shape=(None, 3))
        freeze(self, "walls_mm", shape=(None,))
        freeze(self, "outline_mm", shape=(None, 2, 3))
