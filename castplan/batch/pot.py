"""Which moulds go into the pressure pot together.

Moulds stand on the pot's floor in one layer, the way their plan stands them.
A load is filled from one cup, so it holds one resin with one filler, and no more of it than
the largest cup of any of its moulds; a mould that needs more is on its own.

Packing is simple and not the best there is: the largest base first; each into
the first of the latest loads that has room, there as far into a corner as it goes, either way
round, on a lattice of positions. Done once towards the lower edge and once
towards the lower left, the fewer loads count. A pot may take more than is found
here, never less.
"""

from dataclasses import dataclass, replace

import numpy as np

from castplan.batch.store import Entry
from castplan.bench.life import TRIAL_SHOTS
from castplan.bench.weigh import least_mix_g
from castplan.job import Job, Shop
from castplan.materials.cards import load_cards

# Between two moulds, for fingers. Assumed.
GAP_MM = 10.0
# Positions tried across the pot's diameter.
ACROSS = 80
# Loads that are still filled up: older ones are full but for the odd small mould,
# and looking into thousands of them takes minutes.
OPEN_LOADS = 20
# Ways that moulds are pushed: how much a step right and a step back count.
_LEANS = ((0.001, 1.0), (1.0, 1.001))
# Two lengths that should be the same, after their way through a record [mm].
_ROUNDING_MM = 1e-3
NO_FILLER = ("", 0.0)


@dataclass(frozen=True, kw_only=True)
class Block:
    """One mould as it stands in the pot, and the resin it takes.

    `mould` is its number where its part has several; `n_casts` are the castings
    that it gives, the trial shot among them.
    """

    name: str
    base_mm: tuple[float, float]
    resin: str
    resin_g: float
    largest_cup_g: float
    filler: tuple[str, float] = NO_FILLER
    mould: int = 0
    n_casts: int = 1


@dataclass(frozen=True, kw_only=True)
class Place:
    """A mould in the pot: the middle of its base from the pot's axis, and its sides."""

    name: str
    x_mm: float
    y_mm: float
    wide_mm: float
    deep_mm: float
    resin_g: float
    n_casts: int = 1
    mould: int = 0


@dataclass(frozen=True, kw_only=True)
class Load:
    """What goes into the pot at once, and the cup that fills it.

    A cup under `least_g` is made up to it.
    """

    resin: str
    resin_g: float
    largest_cup_g: float
    places: tuple[Place, ...]
    filler: tuple[str, float] = NO_FILLER  # its kind, and how much by weight of A and B
    least_g: float = 0.0

    @property
    def mixed_g(self) -> float:
        """In the cup that fills all of it."""
        return max(self.resin_g, self.least_g)

    @property
    def all_mixed_g(self) -> float:
        """In all its cups: a mould that has given its castings leaves, the others go on."""
        total_g, done = 0.0, 0
        for n_casts in sorted({place.n_casts for place in self.places}):
            cup_g = sum(place.resin_g for place in self.places if place.n_casts >= n_casts)
            total_g += (n_casts - done) * max(cup_g, self.least_g)
            done = n_casts
        return total_g


@dataclass(frozen=True, kw_only=True)
class PotLoads:
    """All loads, and the parts whose moulds the pot does not take."""

    inner_mm: tuple[float, float]
    loads: tuple[Load, ...]
    too_large: tuple[str, ...]


def fill_pot(entries: list[Entry], inner_mm: tuple[float, float], shop: Shop) -> PotLoads:
    """Share the moulds of all planned parts out to loads.

    Parameters
    ----------
    entries : list of Entry
        Parts planned for another pot are left out.
    inner_mm : (float, float)
        Diameter and height inside.
    shop : Shop
        What small cups are made up to.

    Returns
    -------
    PotLoads
    """
    blocks, too_large = [], []
    for entry in entries:
        pot = entry.digest["pot"] if entry.is_planned else None
        if pot is None or not np.allclose(pot["inner_mm"], inner_mm, atol=_ROUNDING_MM):
            continue
        if not pot["is_fitting"]:
            too_large.append(entry.name)
            continue
        n_moulds, copies = entry.digest["n_moulds"], entry.digest["copies"]
        each, more = divmod(copies, n_moulds)
        blocks += [
            Block(
                name=entry.name,
                mould=number if n_moulds > 1 else 0,
                base_mm=tuple(pot["base_mm"]),
                resin=entry.digest["resin"],
                resin_g=pot["resin_g"],
                largest_cup_g=pot["largest_cup_g"],
                filler=(pot["filler"], pot["filler_fraction"]),
                n_casts=each + (number <= more) + (TRIAL_SHOTS if number == 1 else 0),
            )
            for number in range(1, n_moulds + 1)
        ]
    loads = pack_loads(blocks, diameter_mm=inner_mm[0])
    return PotLoads(
        inner_mm=inner_mm,
        loads=tuple(replace(load, least_g=_least_g(load.resin, shop)) for load in loads),
        too_large=tuple(too_large),
    )


def _least_g(resin, shop):
    """What the shop makes a small cup up to; nothing for a card that it has removed since."""
    card = load_cards().get(resin)
    return 0.0 if card is None else least_mix_g(card, Job(shop=shop))


def pack_loads(blocks: list[Block], *, diameter_mm: float) -> tuple[Load, ...]:
    """Share blocks out to loads, largest base first.

    Parameters
    ----------
    blocks : list of Block
        Each goes into the pot by itself.
    diameter_mm : float
        Inside.

    Returns
    -------
    tuple of Load
        Every block stands in one of them.
    """
    order = sorted(
        blocks,
        key=lambda block: (-block.base_mm[0] * block.base_mm[1], block.name, block.mould),
    )
    return min((_pack(order, diameter_mm, lean) for lean in _LEANS), key=len)


def _pack(order, diameter_mm, lean):
    loads: list[Load] = []
    for block in order:
        for number in range(max(0, len(loads) - OPEN_LOADS), len(loads)):
            load = loads[number]
            limit_g = min(load.largest_cup_g, block.largest_cup_g)
            is_alike = (load.resin, load.filler) == (block.resin, block.filler)
            if not is_alike or load.resin_g + block.resin_g > limit_g:
                continue
            place = _room_for(block, load.places, diameter_mm, lean)
            if place is not None:
                loads[number] = _load(block, (*load.places, place), load.resin_g, limit_g)
                break
        else:
            # Alone it fits, by its plan; on the axis where the lattice is too coarse.
            place = _room_for(block, (), diameter_mm, lean) or _at(block, 0.0, 0.0, *block.base_mm)
            loads.append(_load(block, (place,), 0.0, block.largest_cup_g))
    return tuple(loads)


def _load(block, places, resin_g, limit_g):
    return Load(
        resin=block.resin,
        resin_g=resin_g + block.resin_g,
        largest_cup_g=limit_g,
        filler=block.filler,
        places=places,
    )


def _at(block, x_mm, y_mm, wide_mm, deep_mm):
    return Place(
        name=block.name,
        mould=block.mould,
        x_mm=x_mm,
        y_mm=y_mm,
        wide_mm=float(wide_mm),
        deep_mm=float(deep_mm),
        resin_g=block.resin_g,
        n_casts=block.n_casts,
    )


def _room_for(block, places, diameter_mm, lean):
    """The free place for a block that lies farthest the way of `lean`; None without one."""
    ticks = np.linspace(-0.5, 0.5, ACROSS + 1) * diameter_mm
    y, x = (axis.ravel() for axis in np.meshgrid(ticks, ticks, indexing="ij"))
    height = np.round(x * lean[0] + y * lean[1], 6)
    best = None
    for wide, deep in (block.base_mm, block.base_mm[::-1]):
        is_free = np.hypot(np.abs(x) + wide / 2, np.abs(y) + deep / 2) <= diameter_mm / 2
        for other in places:
            is_beside = np.abs(x - other.x_mm) >= (wide + other.wide_mm) / 2 + GAP_MM
            is_behind = np.abs(y - other.y_mm) >= (deep + other.deep_mm) / 2 + GAP_MM
            is_free &= is_beside | is_behind
        if is_free.any():
            first = int(np.argmin(np.where(is_free, height, np.inf)))
            if best is None or height[first] < best[0]:
                best = (height[first], _at(block, float(x[first]), float(y[first]), wide, deep))
    return best[1] if best else None
