"""The ways in and out of the cavity: routes, gate, fill, rocking."""

import numpy as np

from castplan._arrays import freeze
from castplan.air.records.attitude import LEVEL_DEG
from castplan.record import Sourced, record
from castplan.texts.told import Told

ROUTES = ("groove", "straight", "slanted", "sideways", "riser", "none")

# Resin that runs longer than this sets first, or stops short.
LONG_S = 3600.0


@record
class Route:
    """The way of one opening from the cavity to the outside of the box.

    A groove lies in the parting: no drilling. A riser goes down beside the part
    and opens into it from below. `exit_from_corner_mm` is
    measured on the face of the box it leaves by, seen from outside, from that
    face's lower left corner as the box rests.
    """

    label: str  # as the port's
    route: str  # one of `ROUTES`
    slant_deg: float  # of its last leg, off straight up as the box rests
    length_mm: float
    bore_mm: float
    half: str  # the half it is made in: "upper", "lower" or "both"
    path_mm: np.ndarray  # (k, 3) draw frame, from the cavity to the inside of the box
    is_straight_up: bool  # leaves the box over its place in the cavity, as the box rests
    exit_face: str  # "top", or "front", "right", "back", "left" as the box rests
    exit_from_corner_mm: tuple[float, float]
    straw_mm: float  # how far its mouth must stand out of the box, above the cup's rim
    # Before which pour of silicone it is set: "first", "second"; "" for not at all. A rod
    # in the parting is laid with the bed, so before the first.
    pour: str
    when: Told
    # Silicone between it and the parting that it runs along, where that is too thin to last.
    thin_web_mm: float | None = None

    def __post_init__(self):
        freeze(self, "path_mm", shape=(None, 3))

    @property
    def is_open(self) -> bool:
        """Whether it leads out at all."""
        return self.route != "none"

    @property
    def is_rod(self) -> bool:
        """Whether it lies in the parting, as a rod on the bed."""
        return self.route in ("groove", "sideways", "riser")

    @property
    def exit_mm(self) -> tuple[float, float, float]:
        """Where it leaves the box, draw frame."""
        return tuple(float(v) for v in self.path_mm[-1])


@record
class FurtherGate:
    """A gate beside the first: along a long part, or of another cavity.

    One along a long part is poured when resin has come as far as it, so that it need
    not run so far then.
    """

    place_mm: tuple[float, float, float]  # rest frame
    path_mm: np.ndarray  # (k, 3) draw frame, from there to the inside of the box
    bore_mm: float
    cup_mm: float  # across
    harms: tuple[str, ...] = ()  # of `HARMS`, for want of a better place
    cavity: int = 1  # that it feeds
    feed: str = "top"  # as of `GateOption`
    least_bore_mm: float = 0.0  # fills its own cavity in its share of the time; 0 along a part

    def __post_init__(self):
        freeze(self, "path_mm", shape=(None, 3))


@record
class GateRun:
    """How long resin takes to run along a long part, at the most.

    Its own drag in the cavity counts, which a gate's bore knows nothing of. The
    sections are taken for gaps, so a thick part fills faster than told.
    """

    length_mm: float  # of the part
    low_s: float  # thin end of the viscosity, with all gates
    high_s: float  # thick end
    alone_s: float  # thick end, through the first gate alone
    pot_life_s: float
    # Draw frame, where one more gate would help most; None unless it may set before.
    next_mm: tuple[float, float, float] | None
    cavity: int = 1  # that the part is

    @property
    def is_long(self) -> bool:
        """Whether the thick end takes longer than is worth a number."""
        return self.high_s >= LONG_S

    @property
    def is_long_alone(self) -> bool:
        """Whether it does through the first gate alone."""
        return self.alone_s >= LONG_S


@record
class GateOption:
    """One place for the gate, with what speaks for and against it."""

    place_mm: tuple[float, float, float]  # rest frame
    path_mm: np.ndarray  # (k, 3) draw frame, from there to the inside of the box
    feed: str  # "top", or "riser": from below, air leads the resin up
    peak: int | None  # the high point it stands on; None for a riser, or part way along
    bore_mm: float
    least_bore_mm: float  # fills within the limit at the thick end of the viscosity
    cup_mm: float  # across
    drop_mm: float  # the resin falls this far at first
    width_mm: float  # of the cavity there
    is_on_parting: bool
    show_up_fraction: float  # of the surface round it that is the face that shows
    is_on_tip: bool  # the feature that it enters is hardly wider than a gate
    is_on_worked: bool  # in a knurl, in teeth or the like
    is_marked: bool  # where the shop wants no opening
    n_vents: int  # besides it
    cost_min: float  # its making, the vents besides it, what its resin does
    why: Told
    further: tuple[FurtherGate, ...] = ()  # in the order they are poured in

    def __post_init__(self):
        freeze(self, "path_mm", shape=(None, 3))

    @property
    def first_of_others(self) -> tuple[FurtherGate, ...]:
        """The gate that is poured first of every cavity but this one's."""
        first = {}
        for gate in self.further:
            if gate.cavity > 1:
                first.setdefault(gate.cavity, gate)
        return tuple(first.values())

    @property
    def mouths_mm(self) -> tuple[tuple[float, float, float], ...]:
        """Where resin first comes into each cavity, rest frame."""
        return (self.place_mm, *(gate.place_mm for gate in self.first_of_others))


@record
class GatePlan:
    """Where the gate goes: the option that is planned first, the others by cost."""

    options: tuple[GateOption, ...]
    is_asked_for: bool  # the job names the feed
    why: Told  # the first and not another
    run: GateRun | None = None  # of a long part

    @property
    def chosen(self) -> GateOption:
        """The gate of the plan."""
        return self.options[0]

    @property
    def is_riser(self) -> bool:
        """Whether it feeds from below."""
        return bool(self.options) and self.chosen.feed == "riser"


@record
class GateResult:
    """Gate, cup and fill time, with the bounds of the viscosity."""

    bore_mm: float
    least_bore_mm: float  # fills within the limit at the thick end of the viscosity
    length_mm: float
    head_mm: float  # cup's surface above the mouth of the gate, the least while it fills
    fill_low_s: float  # thin end
    fill_high_s: float  # thick end
    limit_s: float
    reynolds: float  # at the thin end
    is_laminar: bool
    cup_mm: float  # across its inside, of the cup that stands on the box
    cup_high_mm: float  # rim over the top of the box
    reservoir_ml: float
    assumptions: tuple[Sourced, ...]
    unfed_ml: float = 0.0  # of the cavity over the cup's surface: no resin gets there


@record
class ThinRegion:
    """A thin part of the cavity against how far resin runs in it before it gels."""

    place_mm: tuple[float, float, float]  # draw frame
    gap_mm: float
    way_mm: float  # from the nearest thick place to its far end
    reach_mm: float  # by slot flow, at the thick end of the viscosity
    area_mm2: float


@record
class FillFrame:
    """The cavity at one level of the resin; outlines seen from the front at the pour."""

    level_mm: float  # pour frame, over the part's lowest point
    filled_ml: float
    caught_ml: float
    resin: tuple[np.ndarray, ...]  # rings, (n, 2): across, height
    air: tuple[np.ndarray, ...]

    def __post_init__(self):
        for name in ("resin", "air"):
            rings = []
            for ring in getattr(self, name):
                fixed = np.array(ring, dtype=np.float64)
                fixed.setflags(write=False)
                rings.append(fixed)
            object.__setattr__(self, name, tuple(rings))


@record
class SpillBasin:
    """A low part of the cavity that fills by running over an edge: it folds air in."""

    place_mm: tuple[float, float, float]  # draw frame, its lowest point
    sill_mm: float  # level at which it begins
    drop_mm: float
    volume_ml: float


@record
class FillResult:
    """How the cavity fills, and what can keep it from filling."""

    frames: tuple[FillFrame, ...]
    cavity_ml: float
    caught_ml: float  # at the end
    basins: tuple[SpillBasin, ...]
    thin: tuple[ThinRegion, ...]  # worst first
    bubble_mm: tuple[float, float] | None  # smallest that rises out: clean, rigid
    bubble_way_mm: float
    bubble_time_s: float
    pot_bar: tuple[float, float]  # gauge, low and high
    pot_fraction: tuple[float, float]  # of a caught bubble's volume left under it


@record
class RockTilt:
    """One tilt of a sequence."""

    tilt_deg: float
    toward_deg: float  # in the view as the box rests


@record
class RockingResult:
    """Tilts that walk the bubbles to fewer vents, if there are any that do."""

    tilts: tuple[RockTilt, ...]  # in order; empty when rocking saves nothing
    n_saved: int
    vents: tuple[int, ...]  # peaks that keep their vents, gate left out
    left_mm3: float  # after the last tilt
    still_mm3: float  # with these vents and no rocking


@record
class Combination:
    """One draw with one attitude, and what the pair costs the shop, gate, vents and seam too."""

    draw: tuple[float, float, float]
    up: tuple[float, float, float]
    rest: str
    tilt_deg: float
    n_vents: int
    silicone_ml: float
    draw_min: float  # rubber to free, line, silicone's price
    seam_min: float  # flash to trim, and the seam on the show face
    stand_min: float  # tilt, cradle or brace, ports on the show face
    gate_min: float
    vents_min: float
    air_min: float  # air that stays, to be mended in every cast
    cost_min: float
    is_chosen: bool

    @property
    def is_tilted(self) -> bool:
        """Whether the mould has to be propped up."""
        return self.tilt_deg >= LEVEL_DEG


@record
class TradeResult:
    """Whole combinations, cheapest first."""

    combinations: tuple[Combination, ...]
    why: Told  # this one and not another

    @property
    def chosen(self) -> Combination:
        """The plan's own."""
        return next(pair for pair in self.combinations if pair.is_chosen)

    @property
    def best(self) -> Combination:
        """The cheapest."""
        return self.combinations[0]


@record
class VentsResult:
    """Routes of gate and vents, in the order of the ports."""

    routes: tuple[Route, ...]
