"""What the page shows at the bench: steps, mixes and which picture goes with which step."""

from castplan.materials.cards import load_cards
from castplan.materials.cautions import load_cautions
from castplan.plan_record import Plan
from castplan.step_pictures import draw_picture, name_steps
from castplan.words import bench as bench_view
from castplan.words import mix as mix_view
from castplan.words import schedule as schedule_view


def steps_of(plan: Plan) -> list[dict]:
    """The steps, in the order of the work, with what is weighed and shown in each."""
    cautions, pictures, cups = load_cautions(), name_steps(plan), _cups_in(plan)
    return [
        {
            "number": step.number,
            "text": str(step.text),
            "times": schedule_view.step_times(step),
            "wait_min": step.wait_min,
            "is_hold": step.is_hold,
            "pictures": list(shown),
            "mixes": cups.get(step.number, ()),
            "is_pour": step.kind in ("pour", "cast"),
            "cautions": [
                {"title": str(cautions[key].title), "text": str(cautions[key].text)}
                for key in step.cautions
            ],
        }
        for step, shown in zip(plan.bench.schedule.steps, pictures, strict=True)
    ]


def mixes_of(plan: Plan) -> list[dict]:
    """The mixing cups with their weights and times."""
    cards = load_cards()
    mixes = []
    for mix, cup in bench_view.cups_as_mixes(plan):
        card = cards.get(mix.card)
        mixes.append(
            {
                "id": _mix_id(mix, cup),
                "name": mix.name,
                "card": str(card.title) if card else mix.card,
                "rows": [list(row) for row in mix_view.mix_rows(mix, cup, card)],
                "times": mix_view.mix_times(mix),
                "notes": bench_view.cup_notes(cup),
                "n_cups": mix.times,
                "pour_by_min": mix.pour_by_min,
                "demould_min": 60 * mix.demould_h,
            }
        )
    return mixes


def _cups_in(plan):
    """By the number of each step that weighs or pours, the cups in it."""
    names = {}
    for mix, cup in bench_view.cups_as_mixes(plan):
        names.setdefault(mix.half or "resin", []).append(_mix_id(mix, cup))
    resin = names.pop("resin", [])
    weighed, poured, found = iter(names.values()), iter(names.values()), {}
    for step in plan.bench.schedule.steps:
        if step.kind in ("mix", "cast"):
            found[step.number] = resin
        elif step.kind in ("weigh", "pour"):
            found[step.number] = next(weighed if step.kind == "weigh" else poured, [])
    return found


def _mix_id(mix, cup):
    """What its weights are kept under: the same in every language."""
    return f"{mix.half or 'resin'}{' coat' if cup.is_brush_coat else ''}"


def step_png(plan: Plan, name: str) -> bytes:
    """A picture of a step as PNG.

    Raises
    ------
    InputError
        The plan has no picture of that name.
    """
    return draw_picture(plan, name).png()
