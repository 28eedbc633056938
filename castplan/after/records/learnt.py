"""Numbers that the shop's own log tells."""

from castplan.record import Sourced, record


@record
class Learnt:
    """One number as observed, against what the card says.

    `values` are one a pour, or one a mould for its life; `at_least` counts
    moulds still in use, whose life is longer than what they have given.
    """

    name: str  # of the card's number; "demould_force_n" is on no card
    card: str  # id of the card it was observed with
    unit: str
    values: tuple[float, ...]
    at_least: tuple[float, ...]
    mean: float
    sd: float | None  # of the values; None for a single one
    on_card: Sourced | None
    offered: Sourced | None  # what would go on the card; None where a card has no such number
