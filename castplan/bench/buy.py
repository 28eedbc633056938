"""What to buy for all moulds and copies, the cheapest way, and what it costs."""

import math

import numpy as np

from castplan.bench.life import TRIAL_SHOTS, count_moulds, mould_life
from castplan.bench.patch import patch_number, patch_parts
from castplan.bench.records import BuyLine, BuyResult, Cup, ScheduleResult, WeighResult
from castplan.bench.steps import ONCE
from castplan.job import Job, Pack, Shop
from castplan.materials.cards import Card, get_card, split_by_weight
from castplan.materials.chemistries import chemistry_of

# Prices are compared in hundredths: money has no finer step.
PRICE_STEP = 0.01
# The solver meets a need to about a microgram.
SLACK_G = 1e-6


def plan_buying(weigh: WeighResult, schedule: ScheduleResult, job: Job) -> BuyResult:
    """Count moulds, pick packs, and make the quote.

    Parameters
    ----------
    weigh, schedule : records
    job : Job
        Copies, packs, prices, hourly rate.

    Returns
    -------
    BuyResult
        For each material: needed = bought - left. Needed are all moulds and
        copies, the test patch and one trial shot.

    Raises
    ------
    InputError
        A card id is unknown.
    """
    silicone = get_card(job.silicone, kind="silicone")
    resin = get_card(job.resin, kind="resin")
    life, n_moulds = mould_life(job), count_moulds(job)
    step_g = weigh.cups[0].aim_step_g
    shots = (job.copies + TRIAL_SHOTS) / job.copies
    patch_a_g, patch_b_g = patch_parts(silicone, step_g=step_g)
    mould_a_g, mould_b_g = _need_g(_cups_of(weigh, silicone))
    lines = (
        cover_need(
            silicone,
            job.shop,
            need_a_g=n_moulds * mould_a_g + patch_a_g,
            need_b_g=n_moulds * mould_b_g + patch_b_g,
        ),
        buy_line(resin, _cups_of(weigh, resin), job, n_times=shots),
    )
    costs = [line.cost for line in lines]
    material = None if None in costs else sum(costs)
    making = [step for step in schedule.steps if not step.is_per_copy]
    once_min = sum(step.hands_on_min for step in making if step.kind in ONCE)
    mould_min = sum(step.hands_on_min for step in making) - once_min
    copy_min = sum(step.hands_on_min for step in schedule.steps if step.is_per_copy) / job.copies
    rate = job.shop.hourly_rate
    labour = None
    if rate is not None:
        labour = rate * (once_min + n_moulds * mould_min + job.copies * copy_min) / 60
    mould = None
    if costs[0] is not None and rate is not None:
        mould = costs[0] / n_moulds + rate * mould_min / 60
    total = None if material is None or labour is None else material + labour
    return BuyResult(
        copies=job.copies,
        n_moulds=n_moulds,
        mould_life_casts=life,
        library_years=chemistry_of(silicone).library_years,
        trial_shots=TRIAL_SHOTS,
        patch_g=patch_number(silicone, step_g=step_g),
        lines=lines,
        currency=job.shop.currency,
        material_cost=material,
        once_hands_on_min=once_min,
        mould_hands_on_min=mould_min,
        copy_hands_on_min=copy_min,
        labour_cost=labour,
        mould_cost=mould,
        copy_cost=None if total is None else total / job.copies,
        total_cost=total,
    )


def buy_line(card: Card, cups: list[Cup], job: Job, *, n_times: float) -> BuyLine:
    """The cheapest packs that hold enough of both parts of one material.

    Parameters
    ----------
    card : Card
    cups : list of Cup
        All cups of this material for one mould.
    job : Job
    n_times : float
        How often all of them are needed.

    Returns
    -------
    BuyLine
    """
    a_g, b_g = _need_g(cups)
    return cover_need(card, job.shop, need_a_g=n_times * a_g, need_b_g=n_times * b_g)


def _cups_of(weigh, card):
    return [cup for cup in weigh.cups if cup.card == card.card_id]


def _need_g(cups):
    """A and B of all these cups."""
    return sum(cup.times * cup.a_g for cup in cups), sum(cup.times * cup.b_g for cup in cups)


def cover_need(card: Card, shop: Shop, *, need_a_g: float, need_b_g: float) -> BuyLine:
    """The cheapest packs of a shop that hold enough of both parts of a material.

    Parameters
    ----------
    card : Card
    shop : Shop
    need_a_g, need_b_g : float
        [g]

    Returns
    -------
    BuyLine
    """
    packs = [pack for pack in shop.packs if pack.card == card.card_id]
    contents_g = np.array([_contents(card, pack) for pack in packs]).reshape(-1, 2)
    counts = cheapest(
        contents_g,
        np.array([need_a_g, need_b_g]),
        prices=[pack.price for pack in packs],
        most=[pack.most for pack in packs],
    )
    known = {
        "need_a_g": need_a_g,
        "need_b_g": need_b_g,
        "closed_months": chemistry_of(card).closed_months,
        "opened_months": chemistry_of(card).opened_months,
    }
    if counts is None:
        return BuyLine.uncovered(card.card_id, **known)
    bought_a_g, bought_b_g = (float(v) for v in counts @ contents_g)
    chosen = tuple((pack, int(n)) for pack, n in zip(packs, counts, strict=True) if n)
    lives = [pack.shelf_life_months for pack, _ in chosen if pack.shelf_life_months is not None]
    return BuyLine(
        card=card.card_id,
        packs=chosen,
        left_a_g=bought_a_g - need_a_g,
        left_b_g=bought_b_g - need_b_g,
        cost=float(sum(pack.price * n for pack, n in chosen)),
        shelf_life_months=min(lives, default=None),
        **known,
    )


def _contents(card: Card, pack: Pack) -> tuple[float, float]:
    """Part A and part B in a pack [g]."""
    if pack.part == "A":
        return pack.mass_g, 0.0
    if pack.part == "B":
        return 0.0, pack.mass_g
    return split_by_weight(pack.mass_g, ratio_a=card.ratio_a.value, ratio_b=card.ratio_b.value)


def cheapest(contents_g: np.ndarray, need_g: np.ndarray, *, prices, most) -> np.ndarray | None:
    """How many of each pack cover the need at the least price, then with least left over.

    A mixed-integer linear program, solved twice by ``scipy.optimize.milp``
    (HiGHS): first the price, then the mass at that price.

    Parameters
    ----------
    contents_g : (n, 2)
        Part A and B in each pack.
    need_g : (2,)
    prices : sequence of float
    most : sequence of int or None
        No more of each than this.

    Returns
    -------
    (n,) int64 array, or None where the packs cannot cover the need
    """
    if not len(contents_g):
        return None
    # Only a shop that gives prices pays for loading the solver.
    from scipy.optimize import Bounds, LinearConstraint, milp

    enough = [
        math.ceil(max((need / held for need, held in zip(need_g, pack, strict=True) if held > 0)))
        if pack.any()
        else 0
        for pack in contents_g
    ]
    highest = [n if limit is None else min(n, limit) for n, limit in zip(enough, most, strict=True)]
    cents = np.round(np.asarray(prices, dtype=float) / PRICE_STEP)
    covers = LinearConstraint(contents_g.T, lb=need_g - SLACK_G)
    mass_g = contents_g.sum(axis=1)
    options = {"mip_rel_gap": 0.0}

    def solve(cost, constraints):
        return milp(
            cost,
            constraints=constraints,
            integrality=np.ones(len(cost)),
            bounds=Bounds(0, np.asarray(highest, dtype=float)),
            options=options,
        )

    first = solve(cents, [covers])
    if first.x is None:
        return None
    best = float(cents @ np.round(first.x))
    second = solve(mass_g, [covers, LinearConstraint(cents, ub=best + 0.5)])
    return np.round((second if second.x is not None else first).x).astype(np.int64)
