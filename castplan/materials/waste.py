"""How much is mixed beyond what is filled, where a card does not say."""

from castplan.materials.said import said_number
from castplan.record import Sourced


def silicone_waste() -> Sourced:
    """Silicone that stays in cups and on tools, as a share of what is poured."""
    return said_number(
        "bench_number.silicone_waste",
        value=0.07,
        unit="1",
        basis="common practice",
        low=0.05,
        high=0.10,
    )


def resin_waste() -> Sourced:
    """Resin that stays in cups and is spilt, as a share of what is poured."""
    return said_number(
        "bench_number.resin_waste", value=0.12, unit="1", basis="from memory", low=0.10, high=0.15
    )
