"""Cups, costs and steps."""

from castplan.record import Sourced, record
from castplan.texts.told import Told


@record
class Mix:
    """One cup: what goes in, in which order, and by when it must be out."""

    name: str
    card: str
    net_ml: float
    waste_fraction: float
    volume_ml: float
    mass_g: float
    a_g: float
    b_g: float
    filler_g: float  # that the shop stirs in; `mass_g` holds all three
    density_g_ml: float
    pot_life_min: float  # at the shop's temperature
    pour_by_min: float
    pour_ml_min: float  # by hand, or what runs through the gate
    closing_min: float  # of the pressure pot after the pour; 0 without one
    demould_h: float
    times: int  # how often this cup is mixed
    # Silicone: "upper" or "lower" half, "open" or "whole" mould, "loose" pieces; None for resin.
    half: str | None = None

    @property
    def resin_g_ml(self) -> float:
        """A and B in a millilitre of the mix."""
        return (self.mass_g - self.filler_g) / self.volume_ml


@record
class AmountsResult:
    """Everything to weigh out, and to buy.

    `mixes` are in the order of pouring: the half of the silicone poured first
    is the upper one (the part lies in clay up to the parting), then the lower
    one, then the resin; loose pieces before them all. `bounding_box_g` is the
    usual guess for the silicone, box less bounding box, for comparison. Each
    assumption's `source` says first what the number is.
    """

    mixes: tuple[Mix, ...]
    silicone_g: float
    resin_g: float
    bounding_box_g: float
    assumptions: tuple[Sourced, ...]


@record
class Step:
    """One thing to do. A hold point is signed before the next step.

    `kind` names the sort of work in one word. A step per copy is done for each
    copy; its minutes are for all of them.
    """

    number: int
    text: Told
    hands_on_min: float
    wait_min: float
    is_hold: bool
    cautions: tuple[str, ...]
    kind: str = ""
    is_per_copy: bool = False


@record
class ScheduleResult:
    """The steps in order."""

    steps: tuple[Step, ...]
    hands_on_min: float
    wait_min: float
    basis: str
