"""Casting the copies, added to the steps that made the mould."""

from castplan.materials.cards import Card, full_cure_at, get_card
from castplan.materials.steps import Bench, cups_text
from castplan.materials.wording import limit_text, mix_text, wait_text, weight_text
from castplan.model import (
    AmountsResult,
    Cup,
    Job,
    Mix,
    MouldResult,
    ScheduleResult,
    WeighResult,
)


def add_casting(
    schedule: ScheduleResult,
    mould: MouldResult,
    amounts: AmountsResult,
    weigh: WeighResult,
    job: Job,
) -> ScheduleResult:
    """Write the steps of casting behind those of the mould.

    Parameters
    ----------
    schedule, mould, amounts, weigh : records
    job : Job
        The cards, the copies and the shop's temperature.

    Returns
    -------
    ScheduleResult
        Minutes of the steps per copy are for all copies, one after the other.

    Raises
    ------
    InputError
        A card id is unknown.
    """
    bench = Bench(list(schedule.steps))
    silicone = get_card(job.silicone, kind="silicone")
    resin = get_card(job.resin, kind="resin")
    _cast(bench, mould, amounts.mixes[-1], resin, silicone, weigh, job=job)
    return bench.schedule()


def _cast(
    bench: Bench,
    mould: MouldResult,
    cast: Mix,
    resin: Card,
    silicone: Card,
    weigh: WeighResult,
    *,
    job: Job,
) -> None:
    copies = cast.times
    first = len(bench.steps) + 1
    each = f"Do steps {first} to {first + 3} for each of the {copies} copies." if copies > 1 else ""
    cups = [cup for cup in weigh.cups if cup.pour == cast.name]
    if cups[0].made_up_g:
        resin_text = f"{mix_text(a_g=cast.a_g, b_g=cast.b_g)}. {_too_little(cups[0])}"
    else:
        resin_text = f"{cups_text(cups)}."
    gate = next((port for port in mould.ports if port.kind == "gate"), None)
    bench.do(
        "close",
        f"""{each} Dry and close the mould between rigid boards, evenly and lightly: tight bands
        bend the cavity and shut the vents. Set it with the gate up, as the pour sketch shows.
        Release agent in a light coat, dry, if the resin wants it.""",
        hands_on_min=10 * copies,
        wait_min=5 * copies,
        cautions=("solvent-release",),
    )
    bench.do(
        "mix",
        f"""Weigh the resin for one copy: {resin_text}
        Keep it away from: {"; ".join(resin.incompatible)}. Mix at once and fully, scraping the
        cup, without whipping in air.""",
        hands_on_min=5 * copies,
        cautions=resin.hazards,
    )
    bench.do(
        "cast",
        f"""Pour into {f"gate {gate.label}" if gate else "the mould"} in one thin stream
        until resin stands in every vent, within {limit_text(cast.pour_by_min)} of mixing (half its
        pot life at {job.shop_temperature_c:g} C). Leave it {wait_text(cast.demould_h)}. Cast under
        pressure only if the mould was cured at that pressure, in a vessel rated for it.""",
        hands_on_min=5 * copies,
        wait_min=cast.demould_h * 60 * copies,
        cautions=(*resin.hazards, "pressure-pot"),
    )
    cured_h, _, _ = full_cure_at(resin, temperature_c=job.shop_temperature_c)
    bench.do(
        "out",
        f"""Take the cast out cool and lay it on a flat or fitted support until it is hard
        through, {wait_text(cured_h)} from mixing: taken early, it warps.""",
        hands_on_min=10 * copies,
        wait_min=max(0.0, cured_h - cast.demould_h) * 60,
        cautions=resin.hazards,
    )
    bench.do(
        "trim",
        "Cut off gate and vents, then trim the flash and sand the seam.",
        hands_on_min=20 * copies,
        cautions=("dust",),
    )
    life = silicone.mould_life_casts
    bench.do(
        "measure",
        f"""Measure the three sizes on the first cast and on every fifth, and log them with lot,
        weights, temperature and the cast counter.
        {f"Plan on about {life.value:.0f} casts from this mould." if life else ""}""",
        hands_on_min=10,
    )


def _too_little(cup: Cup) -> str:
    return f"""That is less than the {weight_text(cup.mass_g)} this resin needs to cure well: mix
    A {weight_text(cup.a_g)} and B {weight_text(cup.b_g)} instead and pour the rest as a test
    piece."""
