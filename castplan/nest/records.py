"""How several parts lie in one box, and what one box saves."""

import numpy as np

from castplan._arrays import freeze
from castplan.record import record


@record
class Placed:
    """One part in the box.

    A point p of its file, in mm, stands at `rotation` @ p + `offset_mm` in the box's axes:
    z is the draw, 0 the common parting height; x and y are square to the box.
    """

    number: int  # from 1, as on paper
    name: str  # of its file, without folder and suffix
    copy: int  # which one of this file, from 1
    draw: tuple[float, float, float]  # its own file's axes: the way the upper half leaves
    turn_deg: float  # about the draw, from how it would lie in a box of its own
    rotation: np.ndarray  # (3, 3)
    offset_mm: tuple[float, float, float]
    label_mm: tuple[float, float, float]  # box's axes: where its number is written
    outline_mm: np.ndarray  # (k, 2) box's axes: seen along the draw, a pitch larger
    volume_ml: float
    casting_g: float
    alone_ml: float  # silicone of a box of its own
    openings: tuple[str, ...] = ()  # its gates and vents, once they are planned

    def __post_init__(self):
        freeze(self, "outline_mm", shape=(None, 2))
        freeze(self, "rotation", shape=(3, 3))


@record
class Shared:
    """One box against a box for each part. Times are those of this plan's own steps."""

    silicone_ml: float
    alone_ml: float
    hands_on_h: float  # boxes, mixes and pours that fall away
    cure_h: float  # waiting that falls away, had the boxes been poured one after the other


@record
class Nest:
    """Several parts in one box."""

    parts: tuple[Placed, ...]
    wall_mm: float  # silicone between two parts, at least
    gap_mm: float  # as laid: the least between two outlines along the draw
    filled_fraction: float  # of the rectangle that holds all outlines
    shared: Shared | None = None  # once it is planned
    differs: tuple[str, ...] = ()  # what was asked for and cannot hold for all: "show"
    could_be_open: tuple[int, ...] = ()  # parts that an open mould of their own would do for
