"""What to change on a mould that is there already, before its next pour."""

from castplan.air.records import RockTilt
from castplan.record import record
from castplan.texts.told import Told

# A drill held by hand along a line on the rubber (assumed).
HAND_DEG = 1.0


@record
class Drilling:
    """A vent to make in the existing mould, told from the outside of the rubber.

    Set the drill on the face at `from_corner_mm`, from its lower left corner
    seen from outside as the box rests, and lean it off square by `across_deg`
    to the right and `up_deg` upward as it goes in. A way along the parting is
    cut with a knife instead.
    """

    label: str  # of the new port
    peak: int | None  # number of the high point it serves
    place_mm: tuple[float, float, float]  # part frame, where it meets the cavity
    face: str
    from_corner_mm: tuple[float, float]
    across_deg: float
    up_deg: float
    length_mm: float  # from the face to the cavity
    bore_mm: float
    half: str  # upper, lower or both: along the parting
    caught_before_ml: float  # air that stays at this place
    caught_after_ml: float  # with the new vent open

    @property
    def lean_deg(self) -> tuple[float, float]:
        """`across_deg` and `up_deg` as a hand holds a drill: a little is square."""
        across, up = self.across_deg, self.up_deg
        return across if abs(across) >= HAND_DEG else 0.0, up if abs(up) >= HAND_DEG else 0.0


@record
class Change:
    """One thing that is other than before, in words with its numbers."""

    what: Told
    before: Told
    after: Told
    why: Told


@record
class Tilt:
    """Another way to stand the same mould, its openings as they are."""

    tilt_deg: float
    toward_deg: float  # the side that is raised, in the view as the box rests
    caught_before_ml: float
    caught_after_ml: float
    straw_mm: float  # what the lowest mouth must be raised by so that nothing runs out


@record
class Revision:
    """A plan's next version for the same mould.

    `caught_*_ml` is all the air that stays, before and after the changes.
    `patches` mend the copy that failed, `uses` are what it is still good for.
    """

    number: int  # 2 for the first revision
    changes: tuple[Change, ...]
    drillings: tuple[Drilling, ...]
    tilt: Tilt | None  # instead of drilling
    rocking: tuple[RockTilt, ...]  # instead of drilling
    rocking_left_ml: float | None
    caught_before_ml: float
    caught_after_ml: float
    is_air_left: bool  # more of it than the job allows
    pitch_mm: float  # of the sampling that these volumes rest on
    patches: tuple[Told, ...]
    uses: tuple[Told, ...]
