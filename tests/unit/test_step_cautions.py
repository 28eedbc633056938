"""Every hazard of a step stands beside it: the step's own and its material's."""

import re

import pytest
from bench_steps import place, steps_of

from castplan.bench.compat import check_compat
from castplan.bench.step_cautions import add_step_cautions
from castplan.materials.cautions import load_cautions
from castplan.records import Job, Shop
from castplan.texts import english, say

CAUTIONS = load_cautions()
# Which work a rule or a standard speaks of; those without one are common practice, no source.
WORK = {
    "clean": ("old-finish", "1910.1001"),  # asbestos; lead 1910.1025, cadmium 1910.1027
    "box": ("boards", "1910.213"),  # woodworking machines
    "close": ("compressed-air", "1910.242(b)"),  # compressed air for cleaning
    "rest": ("fresh-mould", "1910.106"),  # flammable liquids
    "trim": ("dust", "1910.1000"),  # air contaminants
    "open": ("knives", "EN 388"),
}


@pytest.mark.parametrize("kind", WORK)
def test_a_rule_stands_beside_the_work_that_it_speaks_of(kind):
    key, rule = WORK[kind]
    result = add_step_cautions(steps_of())
    (step,) = [step for step in result.steps if step.kind == kind]
    assert key in step.cautions
    assert rule in str(CAUTIONS[key].source)


def test_a_caution_names_kinds_of_step_that_there_are():
    kinds = {key.removeprefix("step_name.") for key in english() if key.startswith("step_name.")}
    assert {kind for caution in CAUTIONS.values() for kind in caution.steps} <= kinds


def test_every_caution_stands_somewhere():
    """On a step of its own kind, on a card, or written at a step: none is left in the file."""
    jobs = [
        Job(),
        Job(silicone="silicone-platinum-20a", resin="epoxy-slow-80d"),
        Job(resin="polyester-casting"),
    ]
    shown = set()
    for job in jobs:
        for step in add_step_cautions(steps_of(job=job)).steps:
            assert len(set(step.cautions)) == len(step.cautions)
            shown |= set(step.cautions)
    assert shown == set(CAUTIONS)


@pytest.mark.parametrize("words", ["Weigh the resin", "Pour into gate G", "Take the casting out"])
def test_curing_urethane_is_hot(words):
    result = steps_of()
    assert "heat" in result.steps[place(result, words)].cautions


def test_baking_a_mould_is_not_curing_resin():
    result = add_step_cautions(steps_of())
    assert result.steps[place(result, "Leave the open mould")].cautions == ("fresh-mould",)


def test_heat_is_forbidden_to_what_is_not_cured_only():
    text = str(CAUTIONS["isocyanate"].text)
    assert "never heat, spray or sand it before it is cured through" in text
    assert not re.search(r"never heat(?![^.;]*before)", text)


def test_nitrile_does_not_hold_styrene():
    """EN ISO 374-1: by breakthrough; butyl or laminate for styrene (from memory)."""
    verdicts = {}
    for gloves in ("nitrile", "butyl", "laminate", "latex"):
        job = Job(resin="polyester-casting", shop=Shop(uses=(("gloves", gloves),)))
        lines = [line for line in check_compat(job).lines if line.what == "gloves"]
        verdicts[gloves] = {line.meets: line.verdict for line in lines}["polyester"]
    assert verdicts == {"nitrile": "stop", "butyl": "fine", "laminate": "fine", "latex": "stop"}


def test_the_wall_blames_nothing_that_the_steps_tell():
    steps = str(english()["step.open_halves"])
    assert "corner was pulled alone" in say("defect.torn_mould_cause_1")
    assert "along the whole parting" in steps and "at a corner" not in steps
    assert "along the whole parting" in say("defect.torn_mould_do_1")
