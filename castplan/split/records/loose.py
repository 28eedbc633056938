"""Loose pieces: what is pulled out of the side of the mould before it is opened."""

import numpy as np

from castplan._arrays import freeze, frozen_path
from castplan.record import Frame, record

PIECE_KINDS = ("rod", "slide")


@record
class LoosePiece:
    """One piece that fills what no half could leave, and is pulled first.

    All lengths stand in its own frame, whose +z is the way it is pulled. Over
    `section_mm` it goes from `low_mm` outward, as far as nothing of the part lies
    beyond; from `face_mm` on it widens evenly from `base_mm` to `mouth_mm` at
    `end_mm`, where all of it has left the box.
    """

    label: str  # "L1", "L2", ... in the order in which they are pulled
    kind: str  # one of `PIECE_KINDS`
    frame: Frame
    pitch_mm: float  # of the columns that tell where nothing lies beyond
    section_mm: tuple[np.ndarray, ...]  # (k, 2) rings, one a finger
    base_mm: np.ndarray  # (k, 2) convex, counter-clockwise
    mouth_mm: np.ndarray  # (k, 2) the same, as wide as it gets
    low_mm: float
    face_mm: float  # all of the part there lies further in
    end_mm: float
    diameter_mm: float | None  # of a rod
    seat_mm: float  # beyond a hole through the part; 0 where it stops in a pocket
    length_mm: float  # from its inner end to the side of the box, in the middle
    width_mm: float  # least across
    volume_ml: float
    upper_ml: float  # of it, what would have been silicone of the upper half
    side: str  # of the box, where it comes out: front, right, back, left
    out_mm: tuple[float, float, float]  # middle of its end on the side of the box, draw frame
    n_pockets: int  # that it frees, or its share of
    freed_mm3: float
    blocked_mm3: float  # of it, with part beyond, by columns of another pitch: the sampling

    def __post_init__(self):
        object.__setattr__(self, "section_mm", tuple(frozen_path(r) for r in self.section_mm))
        freeze(self, "base_mm", shape=(None, 2))
        freeze(self, "mouth_mm", shape=(None, 2))

    @property
    def is_through(self) -> bool:
        """Whether it reaches through the part into a seat beyond."""
        return self.seat_mm > 0

    @property
    def direction(self) -> np.ndarray:
        """The way it is pulled, part frame, (3,)."""
        return self.frame.up

    @property
    def lower_ml(self) -> float:
        """Of it, what would have been silicone of the lower half."""
        return self.volume_ml - self.upper_ml


@record
class ThinPiece:
    """A piece that would be too thin to hold together, so that none is planned."""

    width_mm: float
    least_mm: float
    where_mm: tuple[float, float, float]  # part frame


@record
class LooseResult:
    """The loose pieces in the order in which they are pulled, and what came of looking."""

    made: str  # slides: "poured" of silicone or "printed"; rods are bought
    pieces: tuple[LoosePiece, ...]
    thin: tuple[ThinPiece, ...]
    n_held: int  # pockets that no parting releases and no stretch frees, before
    held_mm3: float
    left_mm3: float  # of it, what is still held after the pieces

    @property
    def kind(self) -> str:
        """Of the mould: without a piece it is one in two halves."""
        return "loose" if self.pieces else "two-part"

    @property
    def upper_ml(self) -> float:
        """What the pieces take of the upper half."""
        return sum(piece.upper_ml for piece in self.pieces)

    @property
    def lower_ml(self) -> float:
        """What they take of the lower half."""
        return sum(piece.lower_ml for piece in self.pieces)

    @property
    def poured_ml(self) -> float:
        """Silicone of the pieces that are poured."""
        if self.made != "poured":
            return 0.0
        return sum(piece.volume_ml for piece in self.pieces if piece.kind == "slide")
