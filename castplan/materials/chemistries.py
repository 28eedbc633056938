"""What a chemistry asks of mould and shop, apart from any one card."""

import tomllib
from functools import cache
from importlib import resources

from castplan.materials.cards import Card, number_from
from castplan.record import Sourced, record
from castplan.texts.told import tell


@record
class Chemistry:
    """Numbers of one chemistry, of silicones and resins; None where it has none.

    `life_share` is how many castings of it a mould lasts over those of
    polyurethane; `swells_fraction` by how much a mould that it is cast in can
    come to differ by length, either way; `later_shrinkage_fraction` what a
    silicone still loses after its first day.
    """

    is_under_dry_gas: bool = False  # its opened tins keep longer so
    life_share: Sourced | None = None
    swells_fraction: Sourced | None = None
    most_pigment_fraction: Sourced | None = None
    closed_months: Sourced | None = None
    opened_months: Sourced | None = None
    library_years: Sourced | None = None
    later_shrinkage_fraction: Sourced | None = None


@cache
def load_chemistries() -> dict[str, Chemistry]:
    """Read ``chemistries.toml``: by chemistry, in the order of the file."""
    text = resources.files("castplan.materials").joinpath("chemistries.toml").read_text("utf-8")
    return {name: _chemistry(entry) for name, entry in tomllib.loads(text).items()}


def _chemistry(entry):
    numbers = {name: number_from(told) for name, told in entry.items() if isinstance(told, dict)}
    return Chemistry(is_under_dry_gas=entry.get("dry_gas", False), **numbers)


def chemistry_of(card: Card) -> Chemistry:
    """What the card's chemistry asks; nothing of one that castplan does not know."""
    return load_chemistries().get(card.chemistry) or Chemistry()


def life_with(silicone: Card, resin: Card) -> Sourced | None:
    """How many castings of a resin a mould lasts.

    What a shop's own card says stands as it is: the shop counted castings of its
    own. A class counts castings of polyurethane; other resins wear it more or
    less.

    Parameters
    ----------
    silicone, resin : Card

    Returns
    -------
    Sourced or None
        None where the silicone's card says nothing.
    """
    life, share = silicone.mould_life_casts, chemistry_of(resin).life_share
    if life is None or share is None or silicone.origin != "class" or share.value == 1:
        return life
    return Sourced(
        value=float(round(life.value * share.value)),
        low=float(round((life.low or life.value) * (share.low or share.value))),
        high=float(round((life.high or life.value) * (share.high or share.value))),
        unit=life.unit,
        basis=share.basis,
        source=tell("bench_number.life_of_resin", casts=life.source, share=share.source),
    )
