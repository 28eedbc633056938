"""Draw, parting and undercuts."""

import numpy as np

from castplan._arrays import freeze
from castplan.record import Frame, record
from castplan.texts.told import Told


@record
class DrawCandidate:
    """One way to pull the halves, with what it costs in the terms of `DrawWeights`."""

    direction: tuple[float, float, float]  # part frame, unit length
    origin: str  # what proposed it: file_x, flat_face, main_axis, search, asked_for, ...
    n_alike: int  # further directions that come to the same by symmetry
    trapped_mm3: float  # at its best level split
    locked_mm3: float  # between surfaces of the part: no split along it frees this
    n_pockets: int  # that hold, open on one side
    n_bridges: int  # holes across the draw
    depth_mm: float  # deepest sideways way to the open
    mould_height_mm: float
    silicone_ml: float
    line_climb_mm: float  # what a line that traps nothing must climb
    seam_mm: float  # round the part, seen along the draw
    seam_on_face_mm: float  # of it, where the line crosses a face or a flat and no edge hides it
    seam_on_show_mm: float | None  # length of seam that looks the show face's way
    is_stable: bool  # lies on its lowest face
    cost_min: float  # all of it in minutes of the shop's time, assumed weights
    why: Told


# A part that stands higher than this many times the lesser side of its footprint is rather
# laid in two halves than stood on end: its block is pulled off a long way, and resin and
# air pass each other in a deep slot (from memory, no source).
DEEP_RATIO = 2.0


@record
class OpenBack:
    """A side on which the part can lie in an open mould."""

    direction: tuple[float, float, float]  # part frame, the way the silicone leaves
    height_ratio: float  # of the part as it lies, over the lesser side of its footprint
    back_fraction: float  # of the part seen from below that lies on the board
    hollow_ml: float  # between part and board, shut all round: the copy is solid there
    trapped_ml: float  # silicone held over the board
    is_free: bool  # nothing is held beyond the sampling

    @property
    def is_deep(self) -> bool:
        """Whether the part would stand on end on it."""
        return self.height_ratio > DEEP_RATIO


EVEN_MIN = 0.5  # costs that differ by less are told as the same minutes


@record
class DrawResult:
    """The draw, the best directions it was chosen from (best first), and the map.

    `map_trapped_mm3` is what the best level split traps along each of
    `map_directions`, on the stand-in at the search's pitch.
    """

    frame: Frame
    direction: tuple[float, float, float]
    candidates: tuple[DrawCandidate, ...]
    n_directions: int
    search_pitch_mm: float
    is_asked_for: bool
    map_directions: np.ndarray  # (k, 3)
    map_trapped_mm3: np.ndarray  # (k,)

    def __post_init__(self):
        freeze(self, "map_directions", shape=(None, 3))
        freeze(self, "map_trapped_mm3", shape=(None,))

    @property
    def speaks_for_it(self) -> str:
        """Why it was taken.

        ``asked``; ``pair``, where another costs less by itself, but not with its
        way to stand the mould; ``work``, where another traps less and costs more;
        ``least``, where none traps less.
        """
        best, *others = self.candidates
        if self.is_asked_for:
            return "asked"
        if any(other.cost_min < best.cost_min - EVEN_MIN for other in others):
            return "pair"
        if any(other.trapped_mm3 < best.trapped_mm3 for other in others):
            return "work"
        return "least"


@record
class PartingResult:
    """The level split that traps least, and how every other height compares.

    Heights are in the draw frame, z of the part's own coordinates.
    """

    heights_mm: np.ndarray  # (k,) ascending
    trapped_mm3: np.ndarray  # (k,) silicone trapped by a level split there
    height_mm: float
    free_low_mm: float  # the heights that trap no more than the best does
    free_high_mm: float
    trapped_at_mm3: float
    locked_mm3: float
    part_below_mm3: float
    part_above_mm3: float
    filled_above_mm3: float  # void below the height that belongs to the upper half (bowls)
    filled_below_mm3: float  # void above the height that belongs to the lower half (domes)

    def __post_init__(self):
        freeze(self, "heights_mm", shape=(None,))
        freeze(self, "trapped_mm3", shape=(None,))


@record
class Pocket:
    """One connected volume that part surface closes off both ways along the draw.

    `depth_mm` is the sideways travel from the deepest tenth of the pocket to
    the open (90th percentile by volume).
    """

    number: int
    kind: str  # "pocket", "bridge", "web" or "sealed"
    n_mouths: int
    volume_mm3: float
    depth_mm: float
    centre_mm: tuple[float, float, float]  # draw frame
    low_mm: tuple[float, float, float]  # draw frame bounding box
    high_mm: tuple[float, float, float]
    held_by: str  # the half whose silicone it is: "upper" or "lower"; "both" for a sealed void


@record
class ProofResult:
    """What the halves as they will be hold, asked column by column after the mould is planned."""

    upper_mm3: float  # silicone of the upper half that part keeps from leaving
    lower_mm3: float
    promised_mm3: float  # by the parting line
    pitch_mm: float  # of the columns that were asked
    solids_upper_mm3: float | None = None  # the same of the halves as solids, once they are cut
    solids_lower_mm3: float | None = None
    solids_loose_mm3: float = 0.0  # of the loose pieces, each pulled its own way before the halves
    solids_where_mm: tuple[float, float, float] | None = None  # most of it, part frame

    @property
    def trapped_mm3(self) -> float:
        """Both halves together."""
        return self.upper_mm3 + self.lower_mm3

    @property
    def solids_mm3(self) -> float | None:
        """Halves and loose pieces as solids; None where they were not cut."""
        if self.solids_upper_mm3 is None or self.solids_lower_mm3 is None:
            return None
        return self.solids_upper_mm3 + self.solids_lower_mm3 + self.solids_loose_mm3


@record
class UndercutResult:
    """Pockets above the noise limit, largest first, and what was left out."""

    pockets: tuple[Pocket, ...]
    min_volume_mm3: float
    n_small: int
    small_mm3: float
    sealed_mm3: float
