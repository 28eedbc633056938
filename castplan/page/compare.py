"""What two plans answer, side by side and in words."""

from castplan.materials.wording import weight_text
from castplan.plan_record import Plan
from castplan.texts import say
from castplan.words import build as build_view
from castplan.words import formats
from castplan.words import plan as view
from castplan.words import schedule as schedule_view
from castplan.words.faces import side_words
from castplan.words.formats import time_text, trapped_text
from castplan.words.kinds import kind_name
from castplan.words.options import by_controls


@by_controls()
def compare(one, other) -> dict:
    """What two plans answer, row by row.

    Parameters
    ----------
    one, other : (StoredJob, Plan)
    """
    told = [(job.name, _answers(plan)) for job, plan in (one, other)]
    (name, answers), (other_name, other_answers) = told
    return {
        "names": [name, other_name],
        "words": _words(name, other_name, one[1], other[1]),
        "rows": [
            {"what": what, "values": [value, other_value]}
            for (what, value), (_, other_value) in zip(answers, other_answers, strict=True)
        ],
    }


def _words(name, other_name, plan, other):
    """What the second plan has more or less of, what it costs first."""
    named = {"name": name, "other": other_name}
    lines = [
        _more_or_less("silicone", plan.bench.amounts.silicone_g, other.bench.amounts.silicone_g),
        _more_or_less("resin", plan.bench.amounts.resin_g, other.bench.amounts.resin_g),
        _more_or_less(
            "work",
            plan.bench.buy.hands_on_min,
            other.bench.buy.hands_on_min,
            text=time_text,
        ),
        _more_or_less("vents", len(view.vents(plan)), len(view.vents(other)), text=str),
        _more_or_less(
            "trapped", plan.split.line.trapped_mm3, other.split.line.trapped_mm3, text=trapped_text
        ),
    ]
    told = [say(key, **named, **fields) for key, fields in filter(None, lines)]
    for what, of in (("mould", kind_words), ("draw", draw_words), ("stand", stand_words)):
        first, second = of(plan), of(other)
        if first != second:
            told.append(say(f"page_compare.other_{what}", **named, first=first, second=second))
    return told or [say("page_compare.alike", **named)]


def _more_or_less(what, first, second, *, text=weight_text):
    """Key and fields of a sentence; none where both read alike."""
    if text(first) == text(second):
        return None
    key = f"page_compare.{what}_{'less' if second < first else 'more'}"
    return key, {
        "by": text(abs(second - first)),
        "first": text(first),
        "second": text(second),
    }


def kind_words(plan: Plan) -> str:
    """Which mould."""
    return str(kind_name(plan.split.kind))


def draw_words(plan: Plan) -> str:
    """Which side is up when the original is laid in."""
    return side_words(plan, plan.split.draw.direction)


def stand_words(plan: Plan) -> str:
    """Which side is up at the pour."""
    return side_words(plan, plan.air.openings.frame.up)


def _answers(plan):
    silicone = sum(mix.mass_g for mix in plan.bench.amounts.mixes if mix.half)
    worst = view.sorted_findings(plan)
    return (
        (say("page_compare.pull"), view.direction_words(plan.split.draw.direction, plan)),
        (
            say("page_compare.split"),
            say(
                "page_compare.split_held",
                kind=say(f"page_kind.{plan.split.line.kind}"),
                held=formats.trapped_text(plan.split.line.trapped_mm3),
            ),
        ),
        (say("page_compare.stand"), say("page_short.stand", up=stand_words(plan))),
        (say("page_compare.vents"), str(len(view.vents(plan)))),
        (say("page_compare.air_left"), formats.trapped_text(1000 * plan.mould.fill.caught_ml)),
        (say("page_compare.box"), build_view.box_decision(plan).what),
        (say("page_compare.silicone"), f"{silicone:.0f} g"),
        (say("page_compare.resin"), f"{plan.bench.amounts.resin_g:.0f} g"),
        (say("page_compare.hands_on"), schedule_view.schedule_sentence(plan)),
        (
            say("page_compare.worst"),
            str(worst[0].message) if worst else say("page_compare.none"),
        ),
    )
