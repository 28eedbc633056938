"""Steps of a box with several originals: minutes of each, the wait of one."""

import shapes

from castplan.door import plan_part
from castplan.records import Job

COARSE = {"pitch_mm": 1.0, "n_directions": 40, "n_attitudes": 40}
# Kinds whose work every original or casting asks for: looked through by hand in the texts.
EACH = {"inspect", "clean", "seal", "release", "out", "trim", "cone"}


def minutes(plan):
    found = {}
    for step in plan.bench.schedule.steps:
        hands_on, wait = found.get(step.kind, (0.0, 0.0))
        found[step.kind] = hands_on + step.hands_on_min, wait + step.wait_min
    return found


def test_what_is_done_to_each_original_takes_as_often_as_long():
    block = shapes.part_of(*shapes.box(30, 20, 16)[:2], name="block")
    job = Job(**COARSE, mould="two-part", up=(0, 0, 1))
    one = minutes(plan_part(block, job))
    three_plan = plan_part(block, job, others=[block, block])
    three = minutes(three_plan)
    assert set(one) == set(three)
    for kind in one:
        times = 3 if kind in EACH else 1
        assert three[kind] == (times * one[kind][0], one[kind][1]), kind
    steps = three_plan.bench.schedule.steps
    assert three_plan.bench.schedule.hands_on_min == sum(step.hands_on_min for step in steps)
    (mark,) = (str(step.text) for step in steps if step.kind == "mark")
    assert mark.startswith("Number the 3 originals as on the 1:1 plan of the box")
