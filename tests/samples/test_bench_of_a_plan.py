"""A whole plan of a sample part with everything the bench can be told: totals and findings.

Numbers of the sample are those of its card, by hand.
"""

import json
from importlib import resources
from pathlib import Path

import jsonschema
import pytest

from castplan.files.record import plan_json
from castplan.part.load import load_part
from castplan.planning import build_plan
from castplan.records import Gauge, Job, Pack, Shop

PART = Path(__file__).parents[2] / "sample_parts" / "coat_hook.stl"
# Packs, prices and the measured water are INVENTED.
SHOP = Shop(
    currency="EUR",
    hourly_rate=45.0,
    scale_step_g=1.0,
    uses=(("clay", "sulphur"), ("original", "print-photopolymer")),
    packs=(
        Pack(name="kit", card="silicone-platinum-20a", part="kit", mass_g=1000.0, price=40.0),
        Pack(name="A", card="polyurethane-fast-70d", part="A", mass_g=900.0, price=20.0),
        Pack(name="B", card="polyurethane-fast-70d", part="B", mass_g=900.0, price=15.0),
    ),
)
WATER_ML = 21.0


@pytest.fixture(scope="module")
def plan():
    job = Job(
        draw=(1.0, 0.0, 0.0),
        up=(0.0, -1.0, 0.0),
        pitch_mm=0.8,
        silicone="silicone-platinum-20a",
        copies=24,
        water_ml=WATER_ML,
        brush_mm=1.0,
        pigment_fraction=0.05,
        gauges=(Gauge(name="peg", length_mm=20.0, tolerance_mm=0.02),),
        place="on-deck",
        start="2026-12-01 08:00",
        shop=SHOP,
    )
    return build_plan(load_part(PART, unit="mm"), job)


def test_the_record_keeps_to_its_schema(plan):
    schema = json.loads(
        resources.files("castplan.files").joinpath("plan.schema.json").read_text("utf-8")
    )
    jsonschema.Draft202012Validator(schema).validate(json.loads(plan_json(plan)))


def test_a_measured_volume_that_contradicts_the_file_lowers_nothing(plan):
    mould, water = plan.mould.block, plan.mould.water
    # The file's own volume is 25.5 ml; 21 ml is past what jug and file can be off.
    assert water.computed_ml == pytest.approx(25.5, abs=0.1)
    assert water.is_contradicted and mould.part_ml == water.computed_ml
    assert mould.lower_ml + mould.upper_ml + WATER_ML == pytest.approx(mould.box_ml)
    assert plan.bench.amounts.mixes[-1].net_ml == pytest.approx(
        water.computed_ml + mould.ports_ml + plan.mould.gate.reservoir_ml
    )


def test_what_is_mixed_is_what_is_bought_less_what_is_left(plan):
    buy = plan.bench.buy
    assert buy.n_moulds == 2  # 24 copies at 20 casts
    for line, times in zip(buy.lines, (buy.n_moulds, 1), strict=True):
        cups = [cup for cup in plan.bench.weigh.cups if cup.card == line.card]
        mixed_g = times * sum(cup.times * (cup.a_g + cup.b_g) for cup in cups)
        # On top of it the test patch, and one trial shot of 85 g.
        mixed_g += buy.patch_g.value if cups[0].pour != "Resin, one copy" else 85.0
        bought_g = sum(n * pack.mass_g for pack, n in line.packs)
        assert bought_g - line.left_a_g - line.left_b_g == pytest.approx(mixed_g)
    # 25 cups of 85 g at 100:90 are 1118 g A and 1007 g B: two packs of each or more.
    assert [n for _, n in buy.lines[1].packs] == [2, 2]


def test_silicone_of_the_cups_is_silicone_of_the_solids(plan):
    cups_g = sum(cup.mass_g for cup in plan.bench.weigh.cups if cup.card == plan.job.silicone)
    assert cups_g == pytest.approx(plan.bench.amounts.silicone_g)
    assert (
        plan.bench.amounts.bounding_box_g < plan.bench.amounts.silicone_g
    )  # a hook fills little of its box


def test_findings_name_what_was_told(plan):
    codes = {finding.code: finding for finding in plan.findings}
    assert codes["incompatible"].severity == "stop"  # sulphur clay, fresh print: platinum stays wet
    assert {"water-differs", "scale-too-coarse", "much-pigment", "place-too-hot"} <= set(codes)
    assert {"does-not-fit", "several-moulds"} <= set(codes)
    assert "hot-cup" not in codes  # cups of 85 g
    assert "hollow" in str(codes["water-differs"].message)
    stops = [finding.severity for finding in plan.findings]
    assert stops == sorted(stops, key=("stop", "warn", "note").index)


def test_the_steps_say_what_the_cups_hold(plan):
    coat = next(cup for cup in plan.bench.weigh.cups if cup.is_brush_coat)
    text = " ".join(str(step.text) for step in plan.bench.schedule.steps)
    assert "First mix a small cup for the brush coat" in text
    assert f"{coat.a_g:.2f} g" in text or f"{coat.a_g:.1f} g" in text
    timeline = plan.bench.timeline
    assert (timeline.n_moulds, timeline.n_copies) == (2, 24)


def test_thickness_is_that_of_the_hook(plan):
    # The sample's own card: plate, arm and tip are 5 to 8 mm thick.
    assert 8 <= plan.bench.heat.thickest_mm < 14
