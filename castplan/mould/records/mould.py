"""The box, its halves and its ports."""

import numpy as np

from castplan._arrays import freeze
from castplan.record import record

BEDDINGS = ("flat-back", "clay", "printed-bed", "sticks")


@record
class Port:
    """A gate or a vent: where it stands and how long it is.

    A riser is a gate that goes down beside the
    part and opens into it from below.
    """

    label: str  # "G", "1", "2", ...
    kind: str  # "gate" or "vent"
    place_mm: tuple[float, float, float]  # rest frame, on the cavity
    path_mm: np.ndarray  # (k, 3) draw frame, from there to the outside of the box
    height_mm: float  # of the place above the lowest point of the part
    length_mm: float  # through silicone to the outside of the box
    diameter_mm: float
    cup_mm: float  # across the mouth of its cup; 0 without one
    is_riser: bool
    is_blocked: bool  # part stands in the way
    cavity: int = 1  # that it opens; resin does not run from one to another

    def __post_init__(self):
        freeze(self, "path_mm", shape=(None, 3))


@record
class Bedding:
    """What the part lies in for the first pour of silicone: decided here for all that tell of it.

    A flat back is stuck to the base board and needs no bed; on the sticks of gate and
    vents it stands clear of the board. A printed bed holds
    the part up even where it could lie on the board, and brings its keys and
    plugs with it. `clay_holes` and `shut_holes` are numbers of `HolePlug`; what
    is in neither is plugged by the printed bed.
    """

    kind: str  # one of `BEDDINGS`
    board_mm: float  # draw frame: the board from which heights are told
    height_mm: float  # of the bed over that board, at the walls of the box
    mark_mm: float  # how high the first pour stands over that board
    clay_holes: tuple[int, ...]  # to be filled with clay by hand
    shut_holes: tuple[int, ...]  # that the base board shuts by itself


@record
class MouldResult:
    """The box and what fills it. `low_mm`, `high_mm` are the inside, draw frame."""

    is_open: bool  # one pour over a flat back is all of it
    is_cut: bool = False  # one pour round the whole part, upside down, is cut open
    low_mm: tuple[float, float, float]
    high_mm: tuple[float, float, float]
    wall_mm: float
    over_mm: float
    under_mm: float
    box_ml: float
    part_ml: float  # solid of the part, sealed voids included
    lower_ml: float  # silicone below the parting, closed; loose pieces are in neither half
    upper_ml: float
    bounding_box_ml: float  # box less bounding box: the usual guess, for comparison
    sampling_fraction: float  # error of the two halves, from the column pitch
    bedding: Bedding
    ports: tuple[Port, ...]
    datum_mm: tuple[float, float]  # pour view, the corner that mouths are measured from
    box_view_mm: np.ndarray  # (k, 2) outline of the box in the pour view
    ports_ml: float  # resin in gate, its cup and vents
    piece_labels: tuple[str, ...] = ()  # loose pieces, in the order in which they are pulled
    loose_ml: float = 0.0  # silicone poured for them, in neither half

    def __post_init__(self):
        freeze(self, "box_view_mm", shape=(None, 2))

    @property
    def inside_mm(self) -> tuple[float, float]:
        """Inside length and width of the box as it stands for the first pour."""
        if self.is_cut:  # it may stand on what is a side of it along the draw
            return tuple(float(side) for side in np.ptp(self.box_view_mm, axis=0))
        return tuple(self.high_mm[k] - self.low_mm[k] for k in (0, 1))

    @property
    def is_one_pour(self) -> bool:
        """Whether all of the silicone is poured at once."""
        return self.is_open or self.is_cut

    @property
    def pour_order(self) -> tuple[str, ...]:
        """The halves that hold silicone, in the order they are poured.

        The part lies in its bed up to the parting, so what stands above is poured first.
        """
        halves = (("upper", self.upper_ml), ("lower", self.lower_ml))
        return tuple(half for half, volume_ml in halves if volume_ml > 0)
