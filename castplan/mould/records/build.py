"""The mould as a thing to build: keys, boards, what holds the part, cuts through it all."""

import numpy as np

from castplan._arrays import freeze
from castplan.record import Sourced, record
from castplan.texts.told import Told


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

    @property
    def balls_mm(self) -> list[tuple[float, float, float, float]]:
        """Each key as x, y, z of its middle and its radius, draw frame."""
        return [(*place, 0.5 * self.diameter_mm) for place in self.places_mm]


@record
class Board:
    """One flat piece to cut, lower left corner at 0, 0.

    `cut_mm` is the line of the tool: half a kerf outside `outline_mm`.
    """

    name: str
    count: int
    size_mm: tuple[float, float]
    outline_mm: np.ndarray  # (k, 2) finished size, counter-clockwise, first point not repeated
    cut_mm: np.ndarray  # (k, 2)
    marks_mm: tuple[np.ndarray, ...]  # closed lines to engrave

    def __post_init__(self):
        for name in ("outline_mm", "cut_mm"):
            freeze(self, name, shape=(None, 2))
        fixed = tuple(np.array(mark, dtype=float) for mark in self.marks_mm)
        for mark in fixed:
            mark.setflags(write=False)
        object.__setattr__(self, "marks_mm", fixed)


@record
class BoardsResult:
    """Boards of the box, and how far the silicone bends them out.

    `bulge_mm` is for the longest board, loaded over its whole height, three
    edges held and the upper one free; None for a wall that is not flat.
    """

    boards: tuple[Board, ...]
    thickness_mm: float
    kerf_mm: float
    rim_mm: float  # of board above the silicone
    pressure_kpa: float  # of the silicone on the bottom of the box
    bulge_mm: float | None
    bulge_limit_mm: float
    modulus_mpa: Sourced
    first_pour_mm: float  # depth of silicone at the wall, upper half
    second_pour_mm: float  # and of the lower half, poured after turning over


@record
class HoldDown:
    """Whether the part floats in the silicone. Grams of force."""

    displaced_g: float  # of silicone: the lift on a part without weight
    part_g: float | None
    lift_g: float  # what must hold it down; without its weight known, all of `displaced_g`
    is_floating: bool | None
    weight_basis: Told


@record
class Section:
    """A cut through the assembly along the draw, x to the right, z up.

    Rings are closed (first point not repeated), holes included.
    """

    name: str  # "front" cuts along x, "side" along y
    at_mm: float
    part_mm: tuple[np.ndarray, ...]
    upper_mm: tuple[np.ndarray, ...]  # silicone of the upper half, keys and ports cut out
    lower_mm: tuple[np.ndarray, ...]
    parting_mm: np.ndarray  # (k, 2) the surface across the box
    low_corner_mm: tuple[float, float]  # of the box's inside in the cut
    high_corner_mm: tuple[float, float]
    ports_mm: tuple[tuple[str, np.ndarray], ...]  # label, ring of the bore
    keys_mm: tuple[np.ndarray, ...]  # rings of the keys cut
    loose_mm: tuple[tuple[str, np.ndarray], ...] = ()  # label, ring of the loose piece

    def __post_init__(self):
        freeze(self, "parting_mm", shape=(None, 2))
