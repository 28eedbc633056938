"""What all parts take together, bought the cheapest way."""

from collections import Counter
from dataclasses import dataclass

from castplan.batch.pot import PotLoads
from castplan.batch.store import Entry
from castplan.bench.buy import cover_need
from castplan.bench.records import BuyLine
from castplan.errors import InputError
from castplan.job import Shop
from castplan.materials.cards import get_card, load_cards, split_by_weight


@dataclass(frozen=True, kw_only=True)
class Totals:
    """One line a material, and what it costs beside buying part by part.

    `cost` and `apart_cost` are None where a price is missing, or where parts
    were planned in different currencies; `apart_cost` also where the packs that
    the parts would buy one by one are more than are to be had.
    """

    lines: tuple[BuyLine, ...]
    currency: str
    cost: float | None
    apart_cost: float | None
    is_apart_short: bool
    short: tuple[str, ...]  # cards that have packs, but not enough of them


def add_up(entries: list[Entry], shop: Shop, pot: PotLoads | None = None) -> Totals:
    """Sum the needs of all planned parts, and cover them with the shop's packs.

    One pack serves several parts, and one cup the moulds that stand in the pressure
    pot together, so the whole costs at most what its parts cost one by one.

    Parameters
    ----------
    entries : list of Entry
    shop : Shop
        Packs and prices, the same for all parts.
    pot : PotLoads, optional
        Moulds that share cups of resin.

    Returns
    -------
    Totals
        Silicones first, then resins, by name.
    """
    needs: dict[tuple[int, str], list[float]] = {}
    planned = [entry for entry in entries if entry.is_planned]
    sharing = {place.name for load in pot.loads for place in load.places} if pot else set()
    for entry in planned:
        for place, line in enumerate(entry.digest["buy"]):  # silicone, resin
            if place == 0 or entry.name not in sharing:
                _add(needs, place, line["card"], (line["need_a_g"], line["need_b_g"]))
    for load in pot.loads if pot else ():
        _add(needs, 1, load.resin, _parts_g(load, planned))
    lines = tuple(
        _cover(card_id, shop, need_a_g=need_a_g, need_b_g=need_b_g, is_silicone=place == 0)
        for (place, card_id), (need_a_g, need_b_g) in sorted(needs.items())
    )
    costs = [line.cost for line in lines]
    digests = [entry.digest for entry in planned]
    apart = [digest["material_cost"] for digest in digests]
    is_one_currency = {digest["currency"] for digest in digests} <= {shop.currency}
    is_short = _is_short(digests, shop)
    is_known = None not in apart and apart and is_one_currency and not is_short
    priced = {pack.card for pack in shop.packs}
    return Totals(
        lines=lines,
        currency=shop.currency,
        cost=None if None in costs or not costs else sum(costs),
        apart_cost=sum(apart) if is_known else None,
        is_apart_short=is_short,
        short=tuple(line.card for line in lines if line.cost is None and line.card in priced),
    )


def _add(needs, place, card_id, more_g):
    need = needs.setdefault((place, card_id), [0.0, 0.0])
    need[0] += more_g[0]
    need[1] += more_g[1]


def _parts_g(load, planned):
    """A and B of all cups of a load; the card's ratio, else that of a part in it."""
    card = load_cards().get(load.resin)
    if card is not None:
        a, b = card.ratio_a.value, card.ratio_b.value
    else:  # the shop has removed its card since
        names = {place.name for place in load.places}
        line = next(entry.digest["buy"][1] for entry in planned if entry.name in names)
        a, b = line["need_a_g"], line["need_b_g"]
    return split_by_weight(load.all_mixed_g, ratio_a=a, ratio_b=b)


def _is_short(digests, shop):
    """Whether parts that buy one by one take more of a pack than there is."""
    bought = Counter()
    for digest in digests:
        for line in digest["buy"]:
            for name, n in line.get("packs", ()):  # older records have none
                bought[line["card"], name] += n
    return any(
        pack.most is not None and bought[pack.card, pack.name] > pack.most for pack in shop.packs
    )


def _cover(card_id, shop, *, need_a_g, need_b_g, is_silicone):
    try:
        card = get_card(card_id, kind="silicone" if is_silicone else "resin")
    except InputError:  # the shop has removed its card since: the need still stands
        return BuyLine.uncovered(card_id, need_a_g=need_a_g, need_b_g=need_b_g)
    return cover_need(card, shop, need_a_g=need_a_g, need_b_g=need_b_g)
