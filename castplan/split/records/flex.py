"""Whether the rubber leaves an undercut, and what else to do about it."""

import numpy as np

from castplan._arrays import frozen_path
from castplan.record import Sourced, record
from castplan.texts.told import Told

# What the silicone does at an undercut, least risk first; a sealed void has none of them.
RUBBER_VERDICTS = ("leaves freely", "flexes out", "may tear", "locked")


@record
class PocketFlex:
    """What it takes to pull the rubber out of one pocket.

    `stretch_fraction` is what the rubber must give if its wall is eased aside,
    between the low and the high one; `pulled_fraction` what its edge must give
    if the half is pulled straight off. `allowed_fraction` is what its hardness
    usually forgives, `limit_fraction` what breaks the silicone over the safety
    factor. Stresses are at the needed stretch.
    """

    number: int  # of the pocket
    group: int  # number of the largest pocket that is alike
    is_all_round: bool  # closed round the part or round a core of rubber
    is_core: bool  # all round, and the rubber leaves through a mouth within
    wide_mm: float | None  # mean diameter it must pass over, if all round
    narrow_mm: float | None
    neck_mm2: float  # smallest section on the way out
    belly_mm2: float  # largest section behind it
    thick_mm: float  # of the rubber in it, along the draw
    around_mm: float  # least rubber between it and the outside of the box
    room_mm: float | None  # of the void before its mouth, where part stands across it
    slope: float  # how far the face that holds it falls away, mm per mm of depth
    stretch_fraction: float
    stretch_low_fraction: float
    stretch_high_fraction: float
    pulled_fraction: float
    allowed_fraction: float
    limit_fraction: float
    verdict: str  # one of `RUBBER_VERDICTS`, or none (sealed)
    why: Told


@record
class PocketGroup:
    """Pockets that are alike in kind, volume, depth and sections; one verdict for all."""

    numbers: tuple[int, ...]  # ascending; the first is the largest
    volume_mm3: float  # of all together
    depth_mm: float  # their mean
    is_trifle: bool  # small, and no trouble: not told one by one


@record
class ThinPlace:
    """A fin of rubber, or a wall of the part, thin against its spread."""

    kind: str  # "rubber" or "part"
    thickness_mm: float  # median over the place
    area_mm2: float
    centre_mm: tuple[float, float, float]  # draw frame
    across: str  # the draw-frame axis it is thin along


@record
class Remedy:
    """One way to deal with pockets that do not leave, and what is left trapped."""

    pocket: int  # the first of a group, for all of it
    n_pockets: int  # in the group
    kind: str  # other draw, loose piece, clay fill, clay up, cut
    text: Told
    remaining_mm3: float  # in all of them
    minutes: float  # assumed, for all of them
    direction: tuple[float, float, float] | None = None  # part frame; pull of a loose piece


@record
class FlexResult:
    """Verdicts on all listed pockets, and the thin places."""

    pockets: tuple[PocketFlex, ...]
    groups: tuple[PocketGroup, ...]  # every listed pocket is in one
    thin: tuple[ThinPlace, ...]
    safety_factor: Sourced
    elongation_fraction: Sourced  # of the silicone, at break
    tensile_mpa: Sourced | None
    tear_n_mm: Sourced | None
    modulus_low_mpa: float  # of the silicone, by the lower of two published relations
    modulus_high_mpa: float
    depth_error_mm: float  # half the width of the interval of every depth


@record
class SeamResult:
    """The seam on the mesh: closed polylines in the draw frame, longest first.

    A smooth body of genus g parted in two has g + 1 loops. Where the mesh was
    thinned for the cut, the line lies on the thinned surface.
    """

    loops_mm: tuple[np.ndarray, ...]  # each (k, 3), first point repeated
    length_mm: float
    length_on_show_mm: float | None
    n_expected: int | None  # genus + 1; None for an open mesh or several bodies
    draft: "DraftResult"

    def __post_init__(self):
        object.__setattr__(self, "loops_mm", tuple(frozen_path(p) for p in self.loops_mm))


@record
class DraftResult:
    """Area of each half's surface by its slope against the draw, mm2.

    Draft is the angle between surface and draw, counted positive where the
    half leaves freely.
    """

    limits_deg: tuple[float, ...]  # ascending: 0, 1, 3
    upper_mm2: tuple[float, ...]  # area with less draft than each limit
    lower_mm2: tuple[float, ...]
    upper_total_mm2: float
    lower_total_mm2: float


@record
class DraftView:
    """Where the surface seen from one side slopes little against the draw.

    `zones` pairs a limit of `DraftResult.limits_deg` with a ring round a patch
    that has less draft than it, and no less than the limit before.
    """

    name: str  # front, right, back, left, in the draw frame
    pitch_mm: float
    outline: tuple[np.ndarray, ...]  # (k, 2) rings in the view
    zones: tuple[tuple[float, np.ndarray], ...]

    def __post_init__(self):
        object.__setattr__(self, "outline", tuple(frozen_path(r) for r in self.outline))
        object.__setattr__(self, "zones", tuple((limit, frozen_path(r)) for limit, r in self.zones))
