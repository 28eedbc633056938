"""How much is mixed beyond what is filled, where a card does not say."""

from castplan.model import Sourced
from castplan.texts import say


def silicone_waste() -> Sourced:
    """Silicone that stays in cups and on tools, as a share of what is poured."""
    return Sourced(
        value=0.07,
        low=0.05,
        high=0.10,
        unit="1",
        basis="common practice",
        source=say("bench_number.silicone_waste"),
    )


def resin_waste() -> Sourced:
    """Resin that stays in cups and is spilt, as a share of what is poured."""
    return Sourced(
        value=0.12,
        low=0.10,
        high=0.15,
        unit="1",
        basis="from memory",
        source=say("bench_number.resin_waste"),
    )
