"""A plan changed step by step is the plan made at once, byte for byte."""

import pytest
import shapes

from castplan.files import record
from castplan.memory import Memory
from castplan.planning import build_plan
from castplan.records import Job

COARSE = {"n_directions": 8, "memory_mb": 0.3, "n_attitudes": 16, "draw": (0.0, 0.1, 1.0)}
# One after the other, so that each finds the memory of all before it.
CHANGES = (
    {},
    {"copies": 4, "brush_mm": 1.0},
    {"parting": "level", "parting_height_mm": 12.0},
    {"max_vents": 1, "gate_mm": 5.0, "shop_temperature_c": 15.0},
    {"up": (0.0, 0.3, 1.0), "show_face": (0.0, 0.0, 1.0)},
    {"draw": None},
    {"silicone": "silicone-platinum-20a", "wall_mm": 15.0, "box": "round"},
    {},
)


@pytest.fixture(scope="module")
def part():
    body = shapes.lipped_cup(n_sides=12)
    return shapes.part_of(shapes.rotated(body.vertices_mm, 4), body.faces)


@pytest.mark.long
def test_every_change_gives_the_bytes_of_a_fresh_plan(part):
    memory = Memory()
    for changes in CHANGES:
        job = Job(**COARSE | changes)
        with memory.at_work():
            changed = record.plan_json(build_plan(part, job))
        assert changed == record.plan_json(build_plan(part, job)), changes


def test_a_change_works_out_only_what_reads_it(part):
    memory = Memory()
    worked = {}
    for changes in ({}, {"copies": 4}, {"parting_height_mm": 12.0}, {"wall_mm": 20.0}, {}):
        memory.n_worked = 0
        with memory.at_work():
            build_plan(part, Job(**COARSE | {"draw": None, "mould": "two-part"} | changes))
        worked[str(changes)] = memory.n_worked
    # Nothing is left to do for the first choices again; more copies change no geometry, only
    # what a doubt about it does to the amounts;
    # the split's height moves only what stands on it, the wall changes the search too.
    assert worked["{}"] == 0
    assert worked["{'copies': 4}"] == 1
    assert 0 < worked["{'parting_height_mm': 12.0}"] < worked["{'wall_mm': 20.0}"]
