"""What all parts take together, bought the cheapest way."""

from dataclasses import dataclass

from castplan.batch.store import Entry
from castplan.bench.buy import cover_need
from castplan.bench.records import BuyLine
from castplan.errors import InputError
from castplan.job import Shop
from castplan.materials.cards import get_card


@dataclass(frozen=True, kw_only=True)
class Totals:
    """One line a material, and what it costs beside buying part by part.

    `cost` and `apart_cost` are None where a price is missing, or where parts
    were planned in different currencies.
    """

    lines: tuple[BuyLine, ...]
    currency: str
    cost: float | None
    apart_cost: float | None


def add_up(entries: list[Entry], shop: Shop) -> Totals:
    """Sum the needs of all planned parts, and cover them with the shop's packs.

    One pack serves several parts, so the whole costs at most what its parts
    cost one by one.

    Parameters
    ----------
    entries : list of Entry
    shop : Shop
        Packs and prices, the same for all parts.

    Returns
    -------
    Totals
        Silicones first, then resins, by name.
    """
    needs: dict[tuple[int, str], list[float]] = {}
    digests = [entry.digest for entry in entries if entry.is_planned]
    for digest in digests:
        for place, line in enumerate(digest["buy"]):  # silicone, resin
            need = needs.setdefault((place, line["card"]), [0.0, 0.0])
            need[0] += line["need_a_g"]
            need[1] += line["need_b_g"]
    lines = tuple(
        _cover(card_id, shop, need_a_g=need_a_g, need_b_g=need_b_g, is_silicone=place == 0)
        for (place, card_id), (need_a_g, need_b_g) in sorted(needs.items())
    )
    costs = [line.cost for line in lines]
    apart = [digest["material_cost"] for digest in digests]
    is_one_currency = {digest["currency"] for digest in digests} <= {shop.currency}
    return Totals(
        lines=lines,
        currency=shop.currency,
        cost=None if None in costs or not costs else sum(costs),
        apart_cost=None if None in apart or not apart or not is_one_currency else sum(apart),
    )


def _cover(card_id, shop, *, need_a_g, need_b_g, is_silicone):
    try:
        card = get_card(card_id, kind="silicone" if is_silicone else "resin")
    except InputError:  # the shop has removed its card since: the need still stands
        return BuyLine.uncovered(card_id, need_a_g=need_a_g, need_b_g=need_b_g)
    return cover_need(card, shop, need_a_g=need_a_g, need_b_g=need_b_g)
