"""What the shop has: packs and prices, scale, cups, hours, and what it works with."""

from castplan.model.base import record


@record
class Pack:
    """One pack a supplier sells: both parts in the card's ratio, or one part alone."""

    name: str
    card: str
    part: str  # "kit", "A" or "B"
    mass_g: float
    price: float  # in the shop's currency
    shelf_life_months: float | None = None
    most: int | None = None  # no more than this many to be had


@record
class Shop:
    """The shop's own facts; None or empty where it has not said.

    `uses` pairs a kind of thing (clay, box, release, original, paint, gloves,
    rubber) with what the shop uses for it.
    """

    packs: tuple[Pack, ...] = ()
    currency: str = ""
    hourly_rate: float | None = None
    scale_step_g: float | None = None
    tare_g: float = 0.0  # of the cup; 0 when the scale is set to zero with the cup on it
    largest_cup_ml: float | None = None  # that goes into the vacuum chamber
    day_start_h: float = 8.0
    day_end_h: float = 17.0
    uses: tuple[tuple[str, str], ...] = ()
