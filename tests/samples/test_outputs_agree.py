"""Over a matrix of jobs no two outputs of a plan contradict each other.

The facts are read from what the outputs say (`agreement`), and one output checks the other:
there is no other source for which of two sentences is right.
"""

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import shapes
from agreement import COMPARISONS, contradictions, tell
from agreement_booklet import booklet_faults

from castplan.part.load import load_part
from castplan.planning import build_plan
from castplan.records import Job, Shop
from castplan.texts.told import tell_data

SAMPLES = Path(__file__).parents[2] / "sample_parts"
PARTS = (
    *("coat_hook", "posts", "lamp_bezel", "louvre_grille", "drawer_pull", "sliding_catch"),
    "frustum",
)
# Coarse: what is told is tested, not what is found.
COARSE = {"pitch_mm": 1.0, "n_directions": 40, "n_attitudes": 40}
# Four of the eight ways to choose bed, box and feed, such that any two of the choices meet
# in all four ways: the orthogonal array L4 of common practice.
ROWS = (("clay", 0, "top"), ("clay", 1, "riser"), ("printed", 0, "riser"), ("printed", 1, "top"))
BOXES = (("rectangle", "outline"), ("rectangle", "round"))
# What splits the silicone over several cups, and mixes resin several times.
MANY_CUPS = {"copies": 3, "brush_mm": 1.0, "shop": Shop(largest_cup_ml=300.0)}


@cache
def part_of(name):
    if name == "frustum":
        return shapes.part_of(*shapes.frustum()[:2])
    return load_part(SAMPLES / f"{name}.stl", unit="mm")


@cache
def planned(name, **choices):
    return build_plan(part_of(name), Job(**COARSE, **({"mould": "two-part"} | choices)))


@cache
def told_of(name, **choices):
    return tell(planned(name, **choices))


def jobs():
    for k, name in enumerate(PARTS):
        for n, (bed, box, feed) in enumerate(ROWS):
            choices = {"bed": bed, "box": BOXES[k % 2][box], "feed": feed}
            more = MANY_CUPS if (k + n) % 2 else {}
            told = f"{name}-{bed}-{choices['box']}-{feed}"
            # One part meets every row at once; that it is so of the others takes a while.
            marks = () if name == "coat_hook" else pytest.mark.long
            yield pytest.param(name, choices | more, id=told, marks=marks)
    # A line that climbs, and a box that stands upright at the pour.
    for bed in ("clay", "printed"):
        for kind in ("following", "tilted"):
            marks = () if (bed, kind) == ("clay", "following") else pytest.mark.long
            choices, told = {"bed": bed, "parting": kind}, f"posts-{bed}-{kind}"
            yield pytest.param("posts", choices, id=told, marks=marks)
    yield pytest.param("coat_hook", {"up": (0.0, 0.3, 1.0)}, id="coat_hook-propped")
    for name in ("louvre_grille", "sliding_catch"):
        yield pytest.param(name, {"mould": "open", **MANY_CUPS}, id=f"{name}-open")
    for name in ("coat_hook", "lamp_bezel"):
        yield pytest.param(name, {"mould": "auto"}, id=f"{name}-auto")
    # Lying and standing on a side of its box.
    yield pytest.param("frustum", {"mould": "cut", **MANY_CUPS}, id="frustum-cut")
    yield pytest.param("coat_hook", {"mould": "cut"}, id="coat_hook-cut")


@pytest.mark.parametrize(("name", "choices"), list(jobs()))
def test_no_output_contradicts_another(name, choices):
    assert contradictions(told_of(name, **choices)) == []


@pytest.mark.parametrize("paper", [pytest.param("A4", marks=pytest.mark.long), "Letter"])
@pytest.mark.parametrize(("name", "choices"), list(jobs()))
def test_the_booklet_agrees_with_itself_and_can_be_done(name, choices, paper):
    plan = planned(name, **choices)
    assert booklet_faults(replace(plan, job=replace(plan.job, paper=paper))) == []


# -- each comparison can fail ------------------------------------------------------

CLAY = {"bed": "clay", "box": "outline", "feed": "riser", **MANY_CUPS}


def _bedding(plan):
    """As the summary once was: stuck flat, in a plan whose steps glue a printed bed."""
    return replace(
        plan, mould=replace(plan.mould, block=replace(plan.mould.block, bedding=_flat(plan)))
    )


def _flat(plan):
    return replace(plan.mould.block.bedding, kind="flat-back", height_mm=0.0)


def _height(plan):
    line = plan.split.line
    return replace(
        plan, split=replace(plan.split, line=replace(line, box_height_mm=line.box_height_mm + 4.0))
    )


def _mark(plan):
    boards = plan.mould.boards
    boards = replace(boards, first_pour_mm=boards.first_pour_mm + 4.0)
    return replace(plan, mould=replace(plan.mould, boards=boards))


def _keys(plan):
    keys = replace(plan.mould.keys, places_mm=plan.mould.keys.places_mm[1:])
    return replace(plan, mould=replace(plan.mould, keys=keys))


def _with_cups(plan, cups):
    return replace(
        plan, bench=replace(plan.bench, weigh=replace(plan.bench.weigh, cups=tuple(cups)))
    )


def _cups(plan):
    first = next(cup for cup in plan.bench.weigh.cups if not cup.is_brush_coat)
    return _with_cups(plan, [cup for cup in plan.bench.weigh.cups if cup is not first])


def _half(plan):
    first, *others = plan.bench.amounts.mixes
    mixes = (replace(first, mass_g=1.1 * first.mass_g), *others)
    return replace(
        plan, bench=replace(plan.bench, amounts=replace(plan.bench.amounts, mixes=mixes))
    )


def _resin(plan):
    *others, resin = plan.bench.weigh.cups
    return _with_cups(plan, [*others, replace(resin, a_g=resin.a_g + 5.0)])


def _resin_cups(plan):
    *others, resin = plan.bench.weigh.cups
    return _with_cups(plan, [*others, replace(resin, times=resin.times + 1)])


def _with_last_route(plan, **changes):
    *others, last = plan.mould.vents.routes
    return replace(
        plan,
        mould=replace(
            plan.mould, vents=replace(plan.mould.vents, routes=(*others, replace(last, **changes)))
        ),
    )


def _when(plan):
    return _with_last_route(plan, when="stick before the second pour, or drill", pour="second")


def _shut(plan):
    return _with_last_route(plan, route="none", pour="", when="not at all: nothing leads out")


def _tilt(plan):
    chosen, *others = plan.air.attitude.options
    options = (replace(chosen, tilt_deg=chosen.tilt_deg + 20.0), *others)
    return replace(
        plan, air=replace(plan.air, attitude=replace(plan.air.attitude, options=options))
    )


CHANGES = {
    "bedding": _bedding,
    "height of the bed": _height,
    "mark of the first pour": _mark,
    "keys": _keys,
    "cups of silicone": _cups,
    "silicone of a half": _half,
    "resin of a cup": _resin,
    "cups of resin": _resin_cups,
    "openings by pour": _when,
    "what is open": _shut,
    "tilt": _tilt,
}


def test_every_comparison_has_a_plan_that_fails_it():
    assert list(CHANGES) == list(COMPARISONS)


@pytest.mark.parametrize("what", CHANGES)
def test_a_plan_that_contradicts_itself_is_found_out(what):
    plan = planned("coat_hook", **CLAY)
    found = contradictions(tell(CHANGES[what](plan)))
    assert what in [line.partition(":")[0] for line in found]


def _cup_off(plan):
    """As it once was: a cup of the record that no step weighs."""
    *others, resin = plan.bench.weigh.cups
    return _with_cups(plan, [*others, replace(resin, a_g=resin.a_g + 5.0)])


def _late(plan):
    """The last hold, its end set later than the pour behind it."""
    tasks = list(plan.bench.timeline.tasks)
    number = max(step.number for step in plan.bench.schedule.steps if step.is_hold)
    k = next(k for k, task in enumerate(tasks) if task.step == number)
    tasks[k] = replace(tasks[k], end_min=tasks[k].end_min + 600.0)
    timeline = replace(plan.bench.timeline, tasks=tuple(tasks))
    return replace(plan, bench=replace(plan.bench, timeline=timeline))


def _low(plan):
    boards = tuple(
        replace(board, size_mm=(board.size_mm[0] - 20.0, board.size_mm[1]))
        for board in plan.mould.boards.boards
    )
    gear = tuple(
        replace(line, amount=tell_data("2 of 50 x 20 mm")) if "Boards" in str(line.what) else line
        for line in plan.bench.gear
    )
    changed = replace(
        plan, mould=replace(plan.mould, boards=replace(plan.mould.boards, boards=boards))
    )
    return replace(changed, bench=replace(changed.bench, gear=gear))


def _long(plan):
    return _with_last_route(
        plan, path_mm=plan.mould.vents.routes[-1].path_mm * np.array([[1.0, 1.0, 1.3]])
    )


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (_cup_off, "is not on"),
        (_late, "hold"),
        (_low, "no board"),
        (_keys, "keys"),
        (_long, "stick"),
    ],
)
def test_a_booklet_that_cannot_be_done_is_found_out(change, words):
    plan = planned("coat_hook", bed="clay", box="rectangle", feed="top")
    assert booklet_faults(plan) == []
    assert any(words in fault for fault in booklet_faults(change(plan)))


@pytest.mark.long
def test_a_frustum_in_a_printed_bed_is_not_told_to_lie_flat():
    choices = {"bed": "printed", "box": "rectangle", "feed": "riser"}
    plan = planned("frustum", **choices)
    told = told_of("frustum", **choices)
    steps = " ".join(text for _, text in told.steps)
    assert "Glue the printed bed together" in steps
    assert "Set it into the printed bed" in told.summary
    assert "flat" not in told.summary and "clay" not in told.summary
    assert any("bedding" in line for line in contradictions(tell(_bedding(plan))))
