"""Material cards: generic classes with one source per number, from ``cards.toml``,
and the shop's own cards from its folder.

A class stands for no product. Its numbers are for planning; the data sheet of
the tin on the shelf wins.
"""

import difflib
import re
import tomllib
from dataclasses import fields
from functools import cache
from importlib import resources

from castplan import ordinary
from castplan.checks import is_line
from castplan.choices import CHOICES
from castplan.errors import InputError
from castplan.materials import folder
from castplan.materials.said import said_number
from castplan.record import Sourced, record
from castplan.texts.told import UNTOLD, Told, tell_data

SHOP_LOW_C = CHOICES["shop_temperature_c"].least
SHOP_HIGH_C = CHOICES["shop_temperature_c"].most

# Pot life shortens by this for each 10 C warmer. The low end is what is found in practice, the
# high end what the steepest published activation energy of a urethane gives from 20 to 30 C.
POT_LIFE_FACTOR = 2.0
POT_LIFE_FACTORS = (1.5, 2.9)
METAL = re.compile(r"pewter|metal|alloy|solder|\b(?:tin|lead|zinc|bismuth)\b", re.IGNORECASE)


@record
class Card:
    """One generic class of material.

    Ratios are parts by weight; `ratio_b_by_volume` is the same ratio by volume
    and never stands in for it. `shore` carries its scale in its unit. What
    grows as it sets has a negative `shrinkage_fraction`. The
    mixed density is the one to fill a volume with. `heat_limit_c` is for use
    and curing alike. `full_cure_h` counts from mixing. `origin` tells a class
    from a card of the shop's own.
    """

    card_id: str
    kind: str  # "silicone" or "resin"
    chemistry: str
    title: Told
    hazards: tuple[str, ...]  # keys of cautions
    incompatible: tuple[Told, ...]
    density_g_ml: Sourced
    ratio_a: Sourced
    ratio_b: Sourced
    viscosity_mpa_s: Sourced
    pot_life_min: Sourced
    pot_life_at_c: Sourced
    demould_h: Sourced
    full_cure_h: Sourced
    shrinkage_fraction: Sourced  # by length
    shore: Sourced
    elongation_fraction: Sourced
    heat_limit_c: Sourced
    density_a_g_ml: Sourced | None = None
    density_b_g_ml: Sourced | None = None
    ratio_b_by_volume: Sourced | None = None  # parts B to 100 of A
    ratio_tolerance_fraction: Sourced | None = None
    tear_n_mm: Sourced | None = None
    max_section_mm: Sourced | None = None
    smallest_mix_g: Sourced | None = None
    largest_mix_g: Sourced | None = None
    tensile_mpa: Sourced | None = None
    mould_life_casts: Sourced | None = None  # of polyurethane, or as the shop found it
    waste_fraction: Sourced | None = None  # of what goes into the mould, by the shop's own log
    reaction_heat_kj_kg: Sourced | None = None
    specific_heat_j_kg_k: Sourced | None = None
    expansion_per_k: Sourced | None = None  # by length, of the cured resin
    deflection_c: Sourced | None = None  # under load, ISO 75; after the post-cure if there is one
    post_cure_c: Sourced | None = None
    post_cure_h: Sourced | None = None
    plain_limit_c: Sourced | None = None  # limit of use without the post-cure
    pour_at_c: Sourced | None = None  # of what is poured molten
    mixing: Told = UNTOLD  # how it is mixed, where not as two liquids
    filler: str = ""  # what the shop stirs in, and how much to A and B together
    filler_fraction: float = 0.0
    meets_as: str = ""  # what the matrix calls it; empty: by its chemistry
    origin: str = "class"
    from_class: tuple[str, ...] = ()  # numbers of a class, where the shop's sheet has none

    @property
    def is_cured(self) -> bool:
        """Whether a reaction hardens it that warmth speeds up; not plaster, nor wax."""
        return self.chemistry not in ("plaster", "wax")

    @property
    def is_special(self) -> bool:
        """Whether it is mixed, cured or met unlike others of its chemistry."""
        return bool(self.mixing or self.meets_as or self.post_cure_c)

    @property
    def numbers(self) -> dict[str, Sourced]:
        """Every number on the card by its name."""
        values = {entry.name: getattr(self, entry.name) for entry in fields(self)}
        return {name: value for name, value in values.items() if isinstance(value, Sourced)}


@cache
def class_cards() -> dict[str, Card]:
    """The generic classes that come with castplan, in the order of their file."""
    text = resources.files("castplan.materials").joinpath("cards.toml").read_text("utf-8")
    entries = tomllib.loads(text).items()
    return {card_id: card_from(card_id, entry) for card_id, entry in entries}


def load_cards() -> dict[str, Card]:
    """Read every card: the classes, then the shop's own.

    Returns
    -------
    dict of str to Card
        By card id.

    Raises
    ------
    InputError
        A card in the shop's folder cannot be read.
    """
    own = {}
    for path in folder.card_files():
        try:
            entries = tomllib.loads(ordinary.read_text(path))
            own |= {key: card_from(key, entry) for key, entry in entries.items()}
        except (OSError, ValueError, TypeError, AttributeError, KeyError) as error:
            raise InputError(
                str(path),
                found=f"a card that cannot be read ({error})",
                need="a card as castplan materials add writes it",
                do="Mend it, or move it out of this folder.",
            ) from error
    return class_cards() | own


def card_from(card_id: str, entry: dict) -> Card:
    """A card from its table in a file, every number a table of `Sourced`.

    Parameters
    ----------
    card_id : str
    entry : dict

    Raises
    ------
    TypeError, ValueError
        A key is unknown or missing, or a number has no basis.
    """
    values = {
        name: number_from(value) if isinstance(value, dict) else value
        for name, value in entry.items()
    }
    if not all(map(is_line, (values["title"], *values["incompatible"]))):
        raise ValueError("title, incompatible: need lines of 1 to 200 signs")
    values["title"] = tell_data(values["title"])
    values["incompatible"] = tuple(map(tell_data, values["incompatible"]))
    values["mixing"] = tell_data(values.get("mixing", ""))
    values["hazards"] = tuple(values["hazards"])
    values["from_class"] = tuple(values.get("from_class", ()))
    return Card(card_id=card_id, **values)


def number_from(told: dict) -> Sourced:
    """A number from its table in a file.

    Raises
    ------
    TypeError, ValueError
        A key is unknown or missing, or it has no basis.
    """
    # A whole number is kept as any other, so that a plan and its file say the same.
    ends = {name: float(told[name]) for name in ("value", "low", "high") if name in told}
    source = {"source": tell_data(told["source"])} if "source" in told else {}
    return Sourced(**told | ends | source)


def get_card(card_id: str, *, kind: str) -> Card:
    """The card with this id and kind.

    Parameters
    ----------
    card_id : str
        As in ``cards.toml``, for instance ``silicone-tin-25a``.
    kind : {"silicone", "resin"}
        What the card is wanted for.

    Returns
    -------
    Card

    Raises
    ------
    InputError
        No card of this kind has that id; the message lists those that exist, or
        says why no metal is planned.
    """
    cards = {known: card for known, card in load_cards().items() if card.kind == kind}
    if card_id in cards:
        return cards[card_id]
    if kind == "resin" and METAL.search(card_id):
        raise InputError(
            "resin card",
            found=f"{card_id!r}, a metal",
            need="a resin, plaster or wax",
            do="castplan plans no castings of metal: even low-melt alloys are poured far above the "
            "70 to 200 C that these silicones hold, and splash where a mould is damp. Ask a "
            "foundry, or cast wax and have it invested.",
        )
    near = difflib.get_close_matches(card_id, cards, n=1)
    raise InputError(
        f"{kind} card",
        found=f"{card_id!r}",
        need="one of " + ", ".join(cards),
        do=f"Did you mean {near[0]!r}?" if near else "Choose one of these.",
    )


def any_card(card_id: str) -> Card:
    """The card with this id, whatever its kind.

    Raises
    ------
    InputError
        No card has that id.
    """
    known = load_cards().get(card_id)
    if known is not None:
        return known
    near = difflib.get_close_matches(card_id, load_cards(), n=1)
    raise InputError(
        "card",
        found=repr(card_id),
        need="an id that castplan materials list shows",
        do=f"Did you mean {near[0]!r}?" if near else "Look at the list.",
    )


def pot_life_factor() -> Sourced:
    """How much shorter the pot life is for each 10 C warmer, with what that rests on."""
    low, high = POT_LIFE_FACTORS
    return said_number(
        "material.pot_life_factor",
        value=POT_LIFE_FACTOR,
        unit="times shorter per 10 C warmer",
        basis="from memory",
        low=low,
        high=high,
    )


def pot_life_at(card: Card, *, temperature_c: float) -> tuple[float, float, float]:
    """Pot life at a shop temperature, by the rule of thumb: it halves per 10 C warmer.

    Parameters
    ----------
    card : Card
    temperature_c : float
        Of shop and material [C], from 10 to 35; outside, the rule is a guess.

    Returns
    -------
    nominal_min, low_min, high_min : float
        [min]. The nominal takes the card's value and a factor of 2 per 10 C;
        low and high take the ends of the card's range and of the factor's.

    Raises
    ------
    InputError
        The temperature lies outside 10 to 35 C.
    """
    return _at_shop(card.pot_life_min, card, temperature_c)


def demould_at(card: Card, *, temperature_c: float) -> tuple[float, float, float]:
    """Time to demould at a shop temperature, by the same rule as the pot life.

    Parameters
    ----------
    card : Card
    temperature_c : float
        Of shop and material [C], from 10 to 35.

    Returns
    -------
    nominal_h, low_h, high_h : float
        [h]

    Raises
    ------
    InputError
        The temperature lies outside 10 to 35 C.
    """
    return _at_shop(card.demould_h, card, temperature_c)


def full_cure_at(card: Card, *, temperature_c: float) -> tuple[float, float, float]:
    """Full cure from mixing at a shop temperature, as `demould_at` [h]."""
    return _at_shop(card.full_cure_h, card, temperature_c)


def _at_shop(time: Sourced, card: Card, temperature_c: float) -> tuple[float, float, float]:
    if not SHOP_LOW_C <= temperature_c <= SHOP_HIGH_C:
        raise InputError(
            "shop temperature",
            found=f"{temperature_c:g} C",
            need=f"{SHOP_LOW_C:g} to {SHOP_HIGH_C:g} C",
            do="Bring shop, material and mould into this range before mixing.",
        )
    steps = (temperature_c - card.pot_life_at_c.value) / 10 if card.is_cured else 0.0
    factors = [factor**-steps for factor in POT_LIFE_FACTORS]
    return (
        time.value * POT_LIFE_FACTOR**-steps,
        (time.value if time.low is None else time.low) * min(factors),
        (time.value if time.high is None else time.high) * max(factors),
    )


def split_by_weight(mass_g: float, *, ratio_a: float, ratio_b: float) -> tuple[float, float]:
    """Share a mix out between its two parts.

    Parameters
    ----------
    mass_g : float
        The whole mix [g].
    ratio_a, ratio_b : float
        Parts by weight, never by volume.

    Returns
    -------
    a_g, b_g : float
        [g]; they add up to `mass_g`.

    Examples
    --------
    >>> split_by_weight(105.0, ratio_a=20, ratio_b=1)
    (100.0, 5.0)
    """
    b_g = mass_g * ratio_b / (ratio_a + ratio_b)
    return mass_g - b_g, b_g
