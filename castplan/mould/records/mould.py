"""The box, its halves and its ports."""

import numpy as np

from castplan._arrays import freeze
from castplan.record import record


@record
class Port:
    """A gate or a vent: where it stands and how long it is.

    `from_corner_mm` is measured in the pour view from the datum corner, where
    the channel leaves the box. A riser is a gate that goes down beside the
    part and opens into it from below.
    """

    label: str  # "G", "1", "2", ...
    kind: str  # "gate" or "vent"
    place_mm: tuple[float, float, float]  # rest frame, on the cavity
    path_mm: np.ndarray  # (k, 3) draw frame, from there to the outside of the box
    from_corner_mm: tuple[float, float]
    height_mm: float  # of the place above the lowest point of the part
    length_mm: float  # through silicone to the outside of the box
    diameter_mm: float
    air_ml: float
    cup_mm: float  # across the mouth of its cup; 0 without one
    is_riser: bool
    is_blocked: bool  # part stands in the way

    def __post_init__(self):
        freeze(self, "path_mm", shape=(None, 3))


@record
class MouldResult:
    """The box and what fills it. `low_mm`, `high_mm` are the inside, draw frame."""

    low_mm: tuple[float, float, float]
    high_mm: tuple[float, float, float]
    wall_mm: float
    over_mm: float
    under_mm: float
    box_ml: float
    part_ml: float  # solid of the part, sealed voids included
    lower_ml: float  # silicone below the parting, closed
    upper_ml: float
    bounding_box_ml: float  # box less bounding box: the usual guess, for comparison
    sampling_fraction: float  # error of the two halves, from the column pitch
    ports: tuple[Port, ...]
    datum_mm: tuple[float, float]  # pour view, the corner ports are measured from
    box_view_mm: np.ndarray  # (k, 2) outline of the box in the pour view
    ports_ml: float  # resin in gate, its cup and vents

    def __post_init__(self):
        freeze(self, "box_view_mm", shape=(None, 2))
