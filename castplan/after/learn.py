"""What the log of one or more plans tells of the shop's own materials."""

from dataclasses import replace

import numpy as np

from castplan.after.records import CastLog, Learnt
from castplan.after.size_causes import planned_sizes
from castplan.errors import InputError
from castplan.materials.cards import POT_LIFE_FACTOR, Card, any_card
from castplan.plan_record import Plan
from castplan.record import Sourced
from castplan.texts.told import in_a_row, tell

# What is learnt, in its order, with its unit.
UNITS = {
    "shrinkage_fraction": "1",
    "waste_fraction": "1",
    "pot_life_min": "min",
    "mould_life_casts": "casts",
    "demould_force_n": "N",
}
# With fewer values the spread of the card is kept.
FEW = 3


def learn(pairs) -> tuple[Learnt, ...]:
    """Every number that the logs tell, by card, with count and spread.

    Shrinkage is that of mould and resin together, less the silicone's own by
    its card; of several sizes of one copy the mean counts. Pot lives are
    brought to the card's temperature by the rule of thumb. Waste counts only
    where the cup was not made up to the smallest sensible mix.

    Parameters
    ----------
    pairs : iterable of (Plan, CastLog)

    Returns
    -------
    tuple of Learnt
    """
    found: dict[tuple[str, str], tuple[list, list]] = {}
    for plan, log in pairs:
        for name, card, value, is_least in _observed(plan, log):
            values, least = found.setdefault((card, name), ([], []))
            (least if is_least else values).append(value)
    order = list(UNITS)
    keys = sorted(found, key=lambda key: (key[0], order.index(key[1])))
    return tuple(_learnt(name, card, *found[card, name]) for card, name in keys)


def keep_on(card: Card, learnt, *, card_id: str) -> Card:
    """A card of the shop's own with learnt numbers in place of the old ones.

    Parameters
    ----------
    card : Card
        That they were observed with.
    learnt : iterable of Learnt
    card_id : str
        Of the new card.

    Raises
    ------
    InputError
        None of them belongs on this card.
    """
    numbers = {
        one.name: one.offered
        for one in learnt
        if one.card == card.card_id and one.offered is not None
    }
    if not numbers:
        raise InputError(
            f"card {card.card_id}",
            found="no number of it in these logs",
            need="pours with --size, --thick-after, --weighed and --shot, or --mould-done",
            do="Look at castplan materials learn without --keep.",
        )
    kept = tuple(name for name in card.from_class if name not in numbers)
    return replace(card, card_id=card_id, origin="own", from_class=kept, **numbers)


def _observed(plan: Plan, log: CastLog):
    """(number, card, value, whether it is only a lower bound) one by one."""
    silicone_id = plan.job.silicone
    for pour in log.pours:
        is_copy = pour.pour == "copy"
        card = any_card(pour.material or (plan.job.resin if is_copy else silicone_id))
        if pour.thick_min is not None and pour.temperature_c is not None:
            steps = (pour.temperature_c - card.pot_life_at_c.value) / 10
            at_card = pour.thick_min * POT_LIFE_FACTOR**steps
            yield "pot_life_min", card.card_id, at_card, False
        if not is_copy:
            continue
        share = _shrinkage(plan, pour, any_card(silicone_id))
        if share is not None:
            yield "shrinkage_fraction", card.card_id, share, False
        if None not in (pour.a_g, pour.shot_g) and not _is_made_up(card, pour):
            # The casting weighs the filler with it, the log has A and B alone.
            filled = 1 + (plan.job.filler_fraction if card.card_id == plan.job.resin else 0.0)
            mixed_g = filled * (pour.a_g + pour.b_g)
            yield "waste_fraction", card.card_id, mixed_g / pour.shot_g - 1, False
        if pour.force_n is not None:
            yield "demould_force_n", silicone_id, pour.force_n, False
    for mould in log.moulds:
        copies = log.copies_of(mould)
        if copies:
            is_done = any(copy.is_mould_done for copy in copies)
            yield "mould_life_casts", silicone_id, float(len(copies)), not is_done


def _shrinkage(plan, pour, silicone):
    """The resin's share of what a copy shrank, over its sizes; None without any."""
    lines = planned_sizes(plan)
    shares = [
        1 - size.length_mm / lines[size.name].original_mm
        for size in pour.sizes
        if size.name in lines
    ]
    if not shares:
        return None
    return 1 - (1 - float(np.mean(shares))) / (1 - silicone.shrinkage_fraction.value)


def _is_made_up(card, pour):
    least = card.smallest_mix_g
    return least is not None and pour.a_g + pour.b_g <= 1.02 * least.value


def _learnt(name, card_id, values, at_least):
    card = any_card(card_id)
    on_card = getattr(card, name, None)
    known = values or at_least
    mean = float(np.mean(known))
    sd = float(np.std(values, ddof=1)) if len(values) > 1 else None
    offered = None
    if values and name != "demould_force_n":
        offered = _offered(name, values, mean, sd, on_card)
    return Learnt(
        name=name,
        card=card_id,
        unit=UNITS[name],
        values=tuple(values),
        at_least=tuple(at_least),
        mean=mean,
        sd=sd,
        on_card=on_card,
        offered=offered,
    )


def _offered(name, values, mean, sd, on_card):
    """The number for the card, with what was seen as its range."""
    n = len(values)
    ends = [*values]
    if n < FEW and on_card is not None:
        ends += [v for v in (on_card.value, on_card.low, on_card.high) if v is not None]
    elif sd is not None:
        ends += [mean - 2 * sd, mean + 2 * sd]
    low = max(min(ends), 0.0)
    is_life = name == "mould_life_casts"
    told = [tell("learn.own_log_moulds", n=n) if is_life else tell("learn.own_log_pours", n=n)]
    if sd is not None:
        told.append(tell("learn.deviation", sd=f"{sd:.2g}"))
    if n < FEW:
        told.append(tell("learn.range_kept"))
    source = in_a_row(told)
    if name == "shrinkage_fraction":
        source = tell("learn.silicone_taken_off", source=source)
    return Sourced(
        value=float(f"{max(mean, 0.0):.4g}"),
        low=float(f"{low:.4g}"),
        high=float(f"{max(ends):.4g}"),
        unit=UNITS[name],
        basis="measured",
        source=source,
    )
