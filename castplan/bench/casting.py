"""Casting the copies, added to the steps that made the mould."""

from castplan import units
from castplan.bench.amounts import is_pot_late
from castplan.bench.loose_steps import pull_first, put_back
from castplan.bench.records import Cup, Mix, ScheduleResult, WeighResult
from castplan.bench.steps import Cups, StepList, cups_text
from castplan.job import Job
from castplan.materials.cards import Card, full_cure_at, get_card
from castplan.materials.chemistries import chemistry_of, life_with
from castplan.materials.fillers import resin_of
from castplan.materials.wording import (
    chemistry_text,
    limit_text,
    wait_text,
    weight_text,
)
from castplan.mould.records import MouldResult
from castplan.texts.names import filler_name
from castplan.texts.told import UNTOLD, Told, in_a_row, tell

MOST_NAMED = 6  # gates that are named one by one
FAST_MIN = 3.0  # no time to weigh B out onto A (assumed)
FILLER_MIN = 3  # to weigh a filler and stir it in (assumed)
INSERT_MIN = 1  # to clean one, screw it on and set it (assumed)


def add_casting(schedule: ScheduleResult, mould: MouldResult, cups: Cups) -> ScheduleResult:
    """Write the steps of casting behind those of the mould.

    Parameters
    ----------
    schedule, mould : records
    cups : Cups
        With the job: the cards, the copies and the shop's temperature.

    Returns
    -------
    ScheduleResult
        Minutes of the steps per copy are for all copies, one after the other.

    Raises
    ------
    InputError
        A card id is unknown.
    """
    job, steps = cups.job, StepList(list(schedule.steps))
    silicone = get_card(job.silicone, kind="silicone")
    resin = resin_of(job)
    _cast(steps, mould, cups.amounts.mixes[-1], resin, silicone, cups.weigh, job=job)
    return steps.schedule()


def _cast(
    steps: StepList,
    mould: MouldResult,
    cast: Mix,
    resin: Card,
    silicone: Card,
    weigh: WeighResult,
    *,
    job: Job,
) -> None:
    copies = cast.times
    first = len(steps.written) + 1
    each = UNTOLD
    if copies > 1:
        each = tell("casting.copies", first=first, last=first + 3, copies=copies)
    cups = weigh.alike(cast.name)
    is_made_up = bool(cups[0].made_up_g)
    is_fast = cast.pour_by_min < FAST_MIN and not resin.filler
    steps.do(
        "close",
        each,
        tell(_closing(mould)),
        put_back(mould.piece_labels),
        tell("insert.set", n=job.inserts) if job.inserts else UNTOLD,
        hands_on_min=(10 + INSERT_MIN * job.inserts) * copies,
        wait_min=5 * copies,
        cautions=("solvent-release",),
    )
    steps.do(
        "mix",
        tell(
            "casting.mix",
            cups=cups_text(cups),
        ),
        _too_little(cast, cups[0], job) if is_made_up else UNTOLD,
        *(tell("casting.mix_away", thing=thing) for thing in resin.incompatible),
        _close_tins(resin),
        resin.mixing or tell("casting.mix_fast" if is_fast else "casting.mix_fully"),
        tell("filler.stir", kind=filler_name(resin.filler)) if resin.filler else UNTOLD,
        hands_on_min=(5 + (FILLER_MIN if resin.filler else 0)) * copies,
        cautions=(*resin.hazards, *(("filler",) if resin.filler else ())),
    )
    is_in_pot = cast.closing_min and resin.is_cured
    steps.do(
        "cast",
        _pour_text(mould, {"within": _within(cast, resin, job)}),
        tell("casting.pot", life=limit_text(cast.pot_life_min)) if is_in_pot else UNTOLD,
        tell("casting.cast_wait", wait=wait_text(cast.demould_h)),
        tell("casting.under_pressure") if resin.is_cured else UNTOLD,
        hands_on_min=5 * copies,
        wait_min=cast.demould_h * 60 * copies,
        cautions=(*resin.hazards, *(("pressure-pot",) if resin.is_cured else ())),
    )
    cured_h, _, _ = full_cure_at(resin, temperature_c=job.shop_temperature_c)
    steps.do(
        "out",
        tell("cut_step.out") if mould.is_cut else UNTOLD,
        pull_first(mould.piece_labels),
        tell("casting.out", demould=wait_text(cast.demould_h), wait=wait_text(cured_h)),
        tell("insert.out", n=job.inserts) if job.inserts else UNTOLD,
        _post_cure(resin),
        hands_on_min=10 * copies,
        wait_min=max(0.0, cured_h - cast.demould_h) * 60,
        cautions=(*resin.hazards, *(("after-cure",) if resin.post_cure_c else ())),
    )
    trim = "casting.trim_open" if mould.is_open else "casting.trim"
    trim = "cut_step.trim" if mould.is_cut else trim
    steps.do("trim", tell(trim), hands_on_min=20 * copies, cautions=("dust",))
    life = life_with(silicone, resin)
    steps.do(
        "measure",
        tell("casting.measure"),
        _swells(resin),
        tell("casting.life", casts=f"{life.value:.0f}") if life else UNTOLD,
        hands_on_min=10,
    )


def _close_tins(resin):
    chemistry = chemistry_of(resin)
    if chemistry.opened_months is None:
        return UNTOLD
    key = "casting.close_tins_gas" if chemistry.is_under_dry_gas else "casting.close_tins"
    return tell(key, months=f"{chemistry.opened_months.value:g}")


def _within(cast, resin, job):
    limit = limit_text(cast.pour_by_min)
    if resin.pour_at_c is not None:
        return tell("casting.within_melt", hot=f"{resin.pour_at_c.value:g}", limit=limit)
    return tell(
        "casting.within",
        share=tell("casting.pot_leaves" if is_pot_late(cast) else "casting.half_life"),
        limit=limit,
        temperature=f"{job.shop_temperature_c:g}",
    )


def _post_cure(resin):
    if None in (resin.post_cure_c, resin.post_cure_h, resin.plain_limit_c):
        return UNTOLD
    return tell(
        "casting.post_cure",
        hot=f"{resin.post_cure_c.value:g}",
        hours=wait_text(resin.post_cure_h.value),
        plain=f"{resin.plain_limit_c.value:g}",
        limit=f"{resin.heat_limit_c.value:g}",
    )


def _swells(resin):
    swells = chemistry_of(resin).swells_fraction
    if swells is None:
        return UNTOLD
    return tell(
        "casting.measure_swell",
        chemistry=chemistry_text(resin.chemistry),
        swell=units.digits(100 * swells.high, 2),
    )


def _closing(mould):
    if mould.is_cut:
        return "cut_step.close"
    return "casting.close_open" if mould.is_open else "casting.close"


def _pour_text(mould, times):
    gates = [port.label for port in mould.ports if port.kind == "gate"]
    if mould.is_open:
        return tell("casting.cast_back", **times)
    each = {}  # of every cavity its gates in their order
    for port in mould.ports:
        if port.kind == "gate":
            each.setdefault(port.cavity, []).append(port.label)
    if len(each) > 1:
        labels = [label for own in each.values() for label in own]
        if len(labels) == len(each) > MOST_NAMED:
            gates = tell("casting.span", first=labels[0], last=labels[-1])
            return tell("casting.cast_each", n=len(each), gates=gates, **times)
        chains = [
            labels[0] if len(labels) == 1 else tell("casting.chain", labels=", ".join(labels))
            for labels in each.values()
        ]
        return tell("casting.cast_each", n=len(each), gates=in_a_row(chains), **times)
    if not gates:
        return tell("casting.cast_open", **times)
    first, *further = gates
    if further:
        return tell("casting.cast_gates", gate=first, further=", ".join(further), **times)
    return tell("casting.cast_gate", gate=first, **times)


def _too_little(cast: Mix, cup: Cup, job: Job) -> Told:
    needs, least = weight_text(cast.mass_g), weight_text(cup.mass_g)
    by_scale = job.shop.least_mix == "scale"
    return tell(
        "casting.mix_more_scale" if by_scale else "casting.mix_more", needs=needs, least=least
    )
