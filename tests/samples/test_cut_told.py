"""What a mould that is cut open cannot do, how its silicone is poured, and what is told of it.

Volumes are closed forms of the bodies; which body lets go is common sense of the bench.
"""

import json
from pathlib import Path

import numpy as np
import pypdf
import pytest
from cut_bodies import COARSE, ball, codes, cup, jar, knob, lipped_cone, planned, ring

import castplan
from castplan.errors import InputError

# A shorter test finds first what these find.
LONG = pytest.mark.long
SAMPLES = Path(__file__).parents[2] / "sample_parts"


# -- what it cannot do ----------------------------------------------------------------


@pytest.mark.parametrize(
    ("body", "choices", "found"),
    [
        (knob(), {}, []),
        pytest.param(lipped_cone(0.4), {"draw": (0, 0, 1)}, [], marks=LONG),
        (lipped_cone(5.0), {"draw": (0, 0, 1)}, ["cut-held"]),
        pytest.param(jar(), {}, ["cut-held"], marks=LONG),
        (ring(), {}, ["cut-hole"]),
    ],
    ids=["knob", "cone with a lip", "cone with a deep lip", "jar", "ring"],
)
def test_what_the_block_cannot_be_flexed_off_is_told(body, choices, found):
    plan = planned(body, **choices, **COARSE)
    assert plan.split.kind == "cut"
    told = [code for code in codes(plan) + codes(plan, "warn") if code in
            ("cut-held", "cut-hole", "cut-cap", "cut-shut")]  # fmt: skip
    assert told == found
    assert plan.mould.slit.is_opening == (found != ["cut-hole"])
    # The rest of the plan stands.
    assert [step.kind for step in plan.bench.schedule.steps].count("pour") == 1


def test_the_lip_that_stretches_out_is_as_wide_as_it_is():
    plan = planned(lipped_cone(1.0), draw=(0, 0, 1), **COARSE | {"pitch_mm": 0.2})
    (flex,) = plan.split.flex.pockets
    # A ring of rubber from 28 to 30 wide, 64 corners, a column of 0.2 mm.
    assert flex.is_all_round and flex.stretch_fraction == pytest.approx(30 / 28 - 1, abs=0.02)
    assert flex.stretch_fraction < flex.allowed_fraction
    assert plan.mould.slit.is_opening and "cut-held" not in codes(plan, "warn")


def test_a_stiff_block_is_told_and_cut_as_deep_as_there_is_room():
    plan = planned(lipped_cone(0.4), draw=(0, 0, 1), over_mm=30.0, **COARSE)
    slit = plan.mould.slit
    assert "cut-stiff" in codes(plan, "warn")
    assert slit.chosen.force_n > slit.hand_n
    assert slit.chosen.hinge_mm == pytest.approx(10.0)
    easy = planned(ball(), draw=(0, 0, 1), up=(0, 0, 1), **COARSE)
    assert "cut-stiff" not in codes(easy, "warn")


@pytest.mark.parametrize(
    "choices", [{"bed": "printed"}, {"feed": "riser"}, {"draw": (0, 0, 1), "up": (0, 0.3, 1)}]
)
def test_what_does_not_go_with_a_cut_is_refused(choices):
    with pytest.raises(InputError, match=r"--(mould|up)"):
        planned(ball(), **COARSE, **choices)


# -- the pour of silicone ---------------------------------------------------------------


def test_a_cup_with_its_mouth_up_catches_its_hollow_upside_down():
    deep_mm, wide_mm = 25.0, 16.0
    plan = planned(cup(deep_mm, wide_mm), draw=(0, 0, 1), up=(0, 0, 1), **COARSE)
    (pour,) = plan.mould.pours.pours
    assert pour.half == "whole" and pour.up == pytest.approx((0, 0, -1), abs=1e-9)
    hollow_mm3 = np.pi * wide_mm**2 / 4 * deep_mm
    assert pour.caught_mm3 == pytest.approx(hollow_mm3, rel=0.02)  # columns of 0.12 mm
    (place,) = pour.caught
    # At the bottom of the hollow, 7 mm over the foot of the cup.
    at = plan.split.draw.frame.to_part(np.array(place.place_mm))
    assert at[2] == pytest.approx(7.0, abs=0.05)
    assert np.hypot(*place.ring_mm.mean(axis=0)) < 1.0
    other = planned(cup(deep_mm, wide_mm), draw=(0, 0, 1), up=(0, 0, -1), **COARSE)
    assert other.mould.pours.pours[0].caught_mm3 == 0.0


# -- what is told -----------------------------------------------------------------------


def test_the_steps_pour_once_cut_and_flex_it_off():
    plan = castplan.plan(SAMPLES / "coat_hook.stl", unit="mm", mould="cut")
    steps = plan.bench.schedule.steps
    kinds = [step.kind for step in steps]
    assert kinds.count("pour") == 1
    assert not {"turn", "coats", "keys", "sticks", "stop", "plug"} & set(kinds)
    assert kinds.index("pour") < kinds.index("cut") < kinds.index("open") < kinds.index("rest")
    assert steps[kinds.index("cut")].cautions == ("knives",)
    told = " ".join(str(step.text) for step in steps)
    for words in ("stand it on its sticks", "hinge", "zig-zag", "straps"):
        assert words in told, words
    two = castplan.plan(SAMPLES / "coat_hook.stl", unit="mm")
    cures = [step.wait_min for step in two.bench.schedule.steps if step.kind == "pour"]
    saved_min = two.bench.schedule.wait_min - plan.bench.schedule.wait_min
    assert len(cures) == 2 and saved_min >= cures[1]


@pytest.mark.parametrize(
    "choices",
    [{}, pytest.param({"box": "outline"}, marks=LONG)],
    ids=["boards", "outline"],
)
def test_no_sheet_speaks_of_halves_keys_or_a_bed(choices, tmp_path):
    planned = castplan.plan(SAMPLES / "coat_hook.stl", unit="mm", mould="cut", **choices)
    folder = planned.write(tmp_path / "plan")
    pages = [page.extract_text() for page in pypdf.PdfReader(folder / "sheets.pdf").pages]
    text = " ".join(pages + list(planned.summary()))
    for word in (
        "upper half",
        "lower half",
        "oth halves",
        "two halves",
        "econd half",
        "econd pour",
        "First silicone",
        "half-round",
        "turning board",
        "printed bed",
        "Turn the box over",
        "coats of release agent on ALL",
    ):
        assert word not in text, word
    for word in ("The knife's line", "Where the knife goes", "marked side", "stop: "):
        assert word in text, word
    kept = castplan.read_plan(folder)
    assert kept.split.is_cut
    # Lengths are kept to a thousandth or finer.
    assert kept.mould.slit.outside_mm == pytest.approx(planned.mould.slit.outside_mm, abs=1e-3)
    assert json.loads((folder / "plan.json").read_text())["split"]["kind"] == "cut"
