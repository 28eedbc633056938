"""What stands on the mould card and the cup labels, in words and rows."""

from dataclasses import dataclass

from castplan.bench.records import Mix
from castplan.materials.wording import grams_text, limit_text, listed
from castplan.plan_record import Plan
from castplan.texts import say
from castplan.words import air as air_view
from castplan.words import bench as bench_view
from castplan.words import nest as nest_view
from castplan.words import plan as view
from castplan.words import shop as shop_view
from castplan.words.faces import side_words

MOST_NUMBERED = 12  # cups that are alike; of more there is one label with a blank


@dataclass(frozen=True, kw_only=True)
class CupLabel:
    """One label: for which pour, which part, how much, which of the cups."""

    pour: str
    part: str
    weight: str
    shows: str
    cup: str
    within: str


def stand_lines(plan: Plan) -> list[str]:
    """How the mould stands at the pour, and which way of the file that is."""
    up = say("card.axis", up=side_words(plan, plan.air.openings.up))
    if plan.split.is_open:
        return [say("card.stand_open"), up]
    chosen = plan.air.attitude.chosen
    return (
        [air_view.stand_words(chosen, is_cut=plan.split.is_cut), up] if chosen.is_tilted else [up]
    )


def resin_mixes(plan: Plan) -> list[Mix]:
    """The cups of one copy."""
    return [mix for mix, _ in bench_view.cups_as_mixes(plan) if mix.half is None]


def shots(plan: Plan) -> list[tuple[str, str]]:
    """For each cup of a copy its name and what to weigh for it."""
    return [
        (
            _weigh(mix, cup),
            say(
                "card.shot",
                parts=bench_view.parts_text(cup),
                both=bench_view.both_text(cup),
            ),
        )
        for mix, cup in bench_view.cups_as_mixes(plan)
        if mix.half is None
    ]


def _weigh(mix, cup):
    if not cup.tare_g:
        return say("card.weigh", name=mix.name)
    return say("card.weigh_in_cup", name=mix.name, shown=bench_view.reading_texts(cup)[1])


def card_sentences(plan: Plan) -> list[str]:
    """Materials, openings, and how to store it."""
    labels = [port.label for port in view.openings(plan)]
    return [
        say(
            "card.materials",
            silicone=shop_view.card_title(plan.job.silicone),
            resin=shop_view.card_title(plan.job.resin),
        ),
        *([] if plan.nest is None else [nest_view.card_sentence(plan.nest)]),
        *_openings(plan, labels),
        *_pieces(plan),
        " ".join([_storing(plan), *_library_life(plan)]),
        say(_next_cast(plan)),
    ]


def _openings(plan, labels):
    """Which openings are kept open; of an open mould nothing, as it has none."""
    if plan.split.is_open:
        return []
    return [say("card.openings", labels=", ".join(labels) if labels else say("card.none"))]


def _pieces(plan):
    """Loose pieces, in the order in which they are pulled."""
    names = [piece.label for piece in plan.split.pieces]
    return [say("card.pieces", n=len(names), labels=listed(names))] if names else []


def _storing(plan):
    return say("card.storing_open" if plan.split.is_open else "card.storing")


def _library_life(plan):
    years = plan.bench.buy.library_years
    if years is not None:
        yield say("card.library_life", low=f"{years.low:g}", high=f"{years.high:g}")


def _next_cast(plan):
    if plan.split.is_cut:
        return "cut.next_cast"
    return "card.next_cast_open" if plan.split.is_open else "card.next_cast"


def counter_sentence(plan: Plan) -> str:
    """Planned life and from where on to look closer."""
    life = bench_view.number_text(plan.bench.buy.mould_life_casts)
    return say("card.counter", life=life, first=plan.bench.buy.first_doubtful_cast)


def cup_labels(plan: Plan) -> list[CupLabel]:
    """A label for part A and one for part B of every cup, in the order of the pours."""
    labels = []
    for mix, filled in bench_view.cups_as_mixes(plan):
        numbers = range(1, mix.times + 1)
        cups = [say("label.cup", number=number, cups=mix.times) for number in numbers]
        if mix.times > MOST_NUMBERED:
            cups = [say("label.cup_blank", cups=mix.times)]
        weights = [
            grams_text(mass_g, step_g=filled.aim_step_g) for mass_g in (filled.a_g, filled.b_g)
        ]
        after_a, after_b = bench_view.reading_texts(filled)
        parts = [
            (say("label.part", part="A"), weights[0], say("label.shows_a", reading=after_a)),
            (say("label.part", part="B"), weights[1], say("label.shows_b", reading=after_b)),
        ]
        if filled.filler_g:
            weight = grams_text(filled.filler_g, step_g=filled.aim_step_g)
            shows = say("label.shows_b", reading=bench_view.filler_reading(filled))
            parts.insert(1, (say("label.filler"), weight, shows))
        labels += [
            CupLabel(
                pour=mix.name,
                part=part,
                weight=weight,
                shows=shows,
                cup=cup,
                within=say("label.within", time=limit_text(mix.pour_by_min)),
            )
            for cup in cups
            for part, weight, shows in parts
        ]
    return labels
