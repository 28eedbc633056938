"""The steps in which silicone is weighed out, mixed and poured."""

import math

from castplan.bench.records import Mix, WeighResult
from castplan.bench.steps import StepList, cups_text
from castplan.bench.weigh import degas_min, mixing_min
from castplan.job import Job
from castplan.materials.cards import get_card
from castplan.materials.wording import limit_text, vessel_text, wait_text
from castplan.texts.told import Told, tell

POUR_MIN = 15  # if so much is left (assumed)


def weigh_silicone(steps: StepList, half: Mix, weigh: WeighResult, *, which: str) -> None:
    """What one pour is weighed and mixed of.

    Parameters
    ----------
    steps : StepList
    half : Mix
    weigh : WeighResult
    which : str
        ``open``, ``first`` or ``second``.
    """
    coats = weigh.alike(half.name, is_brush_coat=True)
    pours = weigh.alike(half.name)
    silicone = get_card((*coats, *pours)[0].card, kind="silicone")
    vessel = vessel_text(max(cup.vacuum_cup_ml for cup in (*coats, *pours)))
    mixing = tell("step.weigh_mix", vessel=vessel), _degas(half)
    before = [step.number for step in steps.written if step.kind == "weigh"]
    if before:
        mixing = (tell("step.weigh_mix_again", vessel=vessel, step=before[0]),)
    steps.do(
        "weigh",
        tell(f"step.weigh_{which}", cups=cups_text(pours)),
        tell("step.weigh_coat", cups=cups_text(coats)) if coats else "",
        *mixing,
        hands_on_min=15 * max(1, len(pours)),
        cautions=(*silicone.hazards, "vacuum"),
    )


def _degas(half: Mix) -> Told:
    minutes = degas_min(half.pour_by_min)
    if not minutes:
        return tell("step.no_degas", life=limit_text(half.pot_life_min))
    return tell("step.degas", minutes=f"{minutes:.0f}")


def pour_silicone(steps: StepList, half: Mix, text: Told, *, job: Job) -> None:
    """One pour, and how much of its time is left when it is mixed and degassed.

    Parameters
    ----------
    steps : StepList
    half : Mix
    text : Told
        Where and how.
    job : Job
    """
    left_min = half.pour_by_min - mixing_min("silicone", pour_by_min=half.pour_by_min)
    steps.do(
        "pour",
        text,
        tell(
            "step.pour_times",
            limit=limit_text(half.pour_by_min),
            temperature=f"{job.shop_temperature_c:g}",
            left=limit_text(left_min),
            wait=wait_text(half.demould_h),
        ),
        hands_on_min=min(POUR_MIN, max(1, math.floor(left_min))),
        wait_min=half.demould_h * 60,
        cautions=get_card(job.silicone, kind="silicone").hazards,
    )
