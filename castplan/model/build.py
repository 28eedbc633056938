"""The mould as a thing to build: box, keys, boards, what holds it and where it fits."""

import numpy as np

from castplan._arrays import freeze
from castplan.model.base import Sourced, record


@record
class BoxOption:
    """One shape of box round the part, with what it takes."""

    shape: str  # rectangle, round, outline
    size_mm: tuple[float, float, float]  # inside: x, y, height
    silicone_ml: float
    silicone_g: float
    cost: float | None  # at the job's price of silicone, in its currency
    note: str


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
    step_mm: float
    added_mm: tuple[float, float]
    options: tuple[BoxOption, ...]
    recommended: str

    def __post_init__(self):
        freeze(self, "outline_mm", shape=(None, 2))


@record
class KeysResult:
    """Half-round keys on the flange.

    `places_mm` lie on the parting. Sunk keys are pressed into clay and stand
    on the half poured first; raised ones stand on the bed. `misfit_mm` is how
    far the worst key misses its hole in the best wrong position of the halves;
    None where the box itself fits one way only, or there are no keys.
    """

    places_mm: np.ndarray  # (n, 3) draw frame
    diameter_mm: float
    depth_mm: float
    clearance_mm: float
    pitch_mm: float  # the least distance of two
    is_raised: bool
    misfit_mm: float | None

    def __post_init__(self):
        freeze(self, "places_mm", shape=(None, 3))


@record
class Board:
    """One flat piece to cut, seen on the face that lies up; `marks_mm` are engraved."""

    name: str
    count: int
    size_mm: tuple[float, float]
    outline_mm: np.ndarray  # (k, 2) finished size, counter-clockwise, first point not repeated
    marks_mm: tuple[np.ndarray, ...]  # closed lines

    def __post_init__(self):
        freeze(self, "outline_mm", shape=(None, 2))
        fixed = tuple(np.array(mark, dtype=float) for mark in self.marks_mm)
        for mark in fixed:
            mark.setflags(write=False)
        object.__setattr__(self, "marks_mm", fixed)


@record
class BoardsResult:
    """Boards of the box, and how far the silicone bends them out."""

    boards: tuple[Board, ...]
    thickness_mm: float
    kerf_mm: float
    rim_mm: float  # of board above the silicone
    pressure_kpa: float  # of the silicone on the bottom of the box
    bulge_mm: float  # of the worst board, three edges held, the upper one free
    bulge_board: str
    bulge_limit_mm: float
    modulus_mpa: Sourced
    first_pour_mm: float  # silicone over the lowest of the parting at the box wall
    second_pour_mm: float  # silicone over the half poured first, at its thinnest


@record
class HoldDown:
    """Whether the part floats in the silicone. Grams of force."""

    displaced_ml: float
    displaced_g: float  # of silicone: the lift on a part without weight
    part_g: float | None
    lift_g: float  # what must hold it down; without its weight known, all of `displaced_g`
    is_floating: bool | None
    weight_basis: str


@record
class Fit:
    """Whether the mould goes into one piece of equipment."""

    name: str
    inner_mm: tuple[float, float]  # diameter, height
    mould_mm: tuple[float, float, float]  # with its boards, draw frame
    is_fitting: bool
    stands_on: str  # which face, empty where it does not fit
    is_as_poured: bool  # that way up is the way of the pour
    need_mm: tuple[float, float]  # diameter and height of its best way


@record
class EquipmentResult:
    """What the mould weighs full, and what it goes into."""

    block_g: float  # silicone and resin
    boxed_g: float  # with the boards
    board_density_g_ml: Sourced
    fits: tuple[Fit, ...]
    heaviest_cup_g: float
    finest_part_g: float  # smallest amount that is weighed on its own
    is_scale_large_enough: bool | None
    scale_error_fraction: float | None  # of the finest part, by half a step


@record
class Section:
    """A cut through the assembly along the draw, x to the right, z up.

    Rings are closed (first point not repeated), holes included.
    """

    name: str  # "front" cuts along x, "side" along y
    at_mm: float
    part_mm: tuple[np.ndarray, ...]
    parting_mm: np.ndarray  # (k, 2) the surface across the box
    low_mm: tuple[float, float]
    high_mm: tuple[float, float]
    ports_mm: tuple[tuple[str, np.ndarray], ...]  # label, ring of the bore
    keys_mm: tuple[np.ndarray, ...]  # rings of the keys cut

    def __post_init__(self):
        freeze(self, "parting_mm", shape=(None, 2))


@record
class BuildResult:
    """Everything the shop builds besides the silicone itself."""

    box: BoxResult
    keys: KeysResult
    boards: BoardsResult
    hold: HoldDown
    equipment: EquipmentResult
    sections: tuple[Section, ...]
