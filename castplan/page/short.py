"""A plan in short: the answer of each decision in a line, and what a newcomer needs first."""

import numpy as np

from castplan.materials.wording import weight_text
from castplan.plan_record import Plan
from castplan.texts import say
from castplan.words import bench as bench_view
from castplan.words import formats
from castplan.words import kinds as kind_view
from castplan.words import plan as view
from castplan.words import shop as shop_view
from castplan.words.faces import side_words
from castplan.words.options import word_of

MOST_WATCHED = 3  # warnings on the first screen; the rest stand with their cards


def in_short(plan: Plan, made: list[dict]) -> dict:
    """What mould, what to watch, what it costs.

    Parameters
    ----------
    plan : Plan
    made : list of dict
        The cards, with their findings.

    Returns
    -------
    dict
        ``mould`` a sentence, ``watch`` the worst findings with their cards, ``costs``
        pairs of what and how much.
    """
    watched = [
        {**finding, "card": card["id"], "title": card["title"]}
        for card in made
        for finding in card["findings"]
        if finding["severity"] != "note"
    ]
    watched.sort(key=lambda each: each["severity"] != "stop")
    return {
        "mould": kind_view.kind_sentence(plan),
        "watch": watched[:MOST_WATCHED],
        "costs": _costs(plan),
    }


def _costs(plan):
    costs = [
        (say("page_short.silicone"), weight_text(plan.bench.amounts.silicone_g)),
        *bench_view.casting_rows(plan),
        (say("page_short.work"), formats.time_text(plan.bench.buy.hands_on_min)),
        (say("page_short.done"), shop_view.clock_text(plan, at_min=plan.bench.timeline.finish_min)),
    ]
    buy = plan.bench.buy
    if buy.total_cost is not None:
        costs.append((say("page_short.price"), shop_view.money_text(buy.total_cost, buy.currency)))
    return [(formats.capital(what), value) for what, value in costs]


def _part(plan):
    check = plan.part.check
    volume = formats.rounded(check.volume_mm3 / 1000, error=0.1)
    return say("page_short.part", size=formats.size_text(check.extent_mm), volume=f"{volume} ml")


def _kind(plan):
    return str(kind_view.kind_name(plan.split.kind))


def _split(plan):
    up = side_words(plan, plan.split.draw.direction)
    if plan.split.is_open:
        return say("page_short.open", up=up)
    height_mm = float(plan.split.line.box_height_mm) - plan.mould.block.low_mm[2]
    kind = say(f"page_kind.{plan.split.line.kind}")
    height = formats.length_text(height_mm, error_mm=1.0)
    return say("page_short.split", up=up, kind=kind, height=height)


def _stand(plan):
    up = side_words(plan, plan.air.openings.frame.up)
    return say("page_short.stand", up=up)


def _air(plan):
    ports, n_vents = view.gates(plan), len(view.vents(plan))
    vents = formats.counted(n_vents, "vent")
    if not ports:
        return say("page_short.no_gate", vents=vents)
    bore = formats.length_text(ports[0].diameter_mm, error_mm=0.1)
    return say("page_short.air", n=len(ports), bore=bore, vents=vents)


def _box(plan):
    box = plan.split.box
    return say(
        "page_short.box",
        shape=word_of("box", box.shape),
        size=formats.size_text(np.subtract(box.high_mm, box.low_mm)),
    )


def _materials(plan):
    return say(
        "page_short.materials",
        silicone=weight_text(plan.bench.amounts.silicone_g),
        resin=weight_text(plan.bench.amounts.resin_g),
    )


ANSWERS = {
    "part": _part,
    "kind": _kind,
    "split": _split,
    "stand": _stand,
    "air": _air,
    "box": _box,
    "materials": _materials,
}
