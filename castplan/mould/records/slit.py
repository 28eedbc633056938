"""The cut by which a block that was poured in one is opened."""

import numpy as np

from castplan._arrays import freeze, frozen_path
from castplan.record import record

SIDES = ("+x", "-x", "+y", "-y")
SLIT_VERDICTS = ("opens", "stiff", "shut")


@record
class SlitSide:
    """One side of the block from which the knife could start, with what that costs."""

    side: str  # one of `SIDES`, draw frame
    depth_mm: float  # from that side to where the knife stops
    hinge_mm: float  # of silicone left uncut behind it
    seam_mm: float  # on the part, both ways round
    seam_on_show_mm: float  # of it, where the face that shows is
    strain_fraction: float  # at the outside of the lip that is bent most
    force_n: float  # at the edge of the stiffer lip, to bend it open
    cap_mm3: float  # silicone behind the cut that does not slide off the part
    n_across: int  # gate and vents that stand across the way out
    verdict: str  # one of `SLIT_VERDICTS`
    cost_min: float  # dressing the seam and breaking stubs, by the job's weights


@record
class Slit:
    """Where a knife opens the block: along the parting, from one side, as far as a hinge.

    Draw frame. The knife runs in zig-zags in the outer silicone, which finds the
    two lips their place again, and straight over the last `clear_mm` before the part.
    """

    options: tuple[SlitSide, ...]  # the planned one first, the others by what they cost
    way: tuple[float, float, float]  # the way its side looks, unit length
    stop_mm: float  # where the knife stops, along `way`
    outline_fraction: float  # of the part's outline that is cut
    reach_mm: float  # how far each lip must open at its edge, the wider one
    radius_mm: float  # to which it is bent for that
    thick_mm: float  # of that lip
    limit_fraction: float  # elongation at break over the safety factor
    hand_n: float  # that a hand bends a lip with
    amplitude_mm: float  # of the zig-zag, up and down
    pitch_mm: float
    clear_mm: float
    outside_mm: np.ndarray  # (k, 3) the zig-zag on the outside of the block
    middle_mm: np.ndarray  # (k, 3) the parting there, about which it runs
    seams_mm: tuple[np.ndarray, ...]  # each (k, 3), along the part
    holes: tuple[int, ...]  # plugs whose silicone the knife does not reach
    channels: tuple[str, ...]  # labels of gate and vents that it cuts open along their length

    def __post_init__(self):
        for name in ("outside_mm", "middle_mm"):
            freeze(self, name, shape=(None, 3))
        object.__setattr__(self, "seams_mm", tuple(frozen_path(p) for p in self.seams_mm))

    @property
    def chosen(self) -> SlitSide:
        """The side that is planned."""
        return self.options[0]

    @property
    def is_opening(self) -> bool:
        """Whether the block can be flexed off the part."""
        return self.chosen.verdict != "shut" and not self.holes
