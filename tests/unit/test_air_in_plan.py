"""Air in a whole plan: the records speak of one attitude and the same openings.

The rise of the tilted face is a closed form of its size.
"""

import json

import bodies
import jsonschema
import numpy as np
import pytest
import shapes
from output import renew_schema

from castplan.files import record
from castplan.paper.sheets import build_sheets
from castplan.planning import build_plan
from castplan.records import Job
from castplan.words import air as air_view

FEW = {"n_attitudes": 40, "n_directions": 16, "pitch_mm": 0.5}


def plan_of(body, **choices):
    return build_plan(shapes.part_of(body.vertices_mm, body.faces), Job(**FEW, **choices))


@pytest.fixture(scope="module")
def leaning():
    """Posts, drawn along z, poured leaning 10 degrees off it, along their row."""
    lean = np.tan(np.radians(10.0))
    return plan_of(bodies.posts((8, 14, 11, 20)), draw=(0, 0, 1), up=(lean, 0.0, 1.0))


def test_the_pour_stands_as_the_attitude_says(leaning):
    plan = leaning
    chosen = plan.air.attitude.chosen
    assert plan.air.attitude.is_asked_for
    assert (chosen.rest, chosen.tilt_deg) == ("+z", pytest.approx(10.0))
    assert plan.air.openings.up == pytest.approx(chosen.up)
    assert plan.air.openings.frame.up == pytest.approx((0, 0, 1), abs=1e-12)
    # Leaning, every post's highest edge is found. A gate would cover most of a post of
    # 36 mm2, so it stands on the base's raised edge: 4.5 mm behind the last post.
    assert len(plan.air.openings.vents) == 4
    edge = plan.air.openings.peaks[plan.air.openings.gate]
    assert edge.rise_mm == min(peak.rise_mm for peak in plan.air.openings.peaks)
    assert edge.place_mm[0] == pytest.approx(60, abs=0.5)
    assert edge.rise_mm == pytest.approx(4.5 * np.sin(np.radians(10)), abs=0.1)


def test_every_port_has_its_way_out(leaning):
    plan = leaning
    routes = {route.label: route for route in plan.mould.vents.routes}
    assert list(routes) == [port.label for port in plan.mould.block.ports]
    for port in plan.mould.block.ports:
        route = routes[port.label]
        # The vent on the post next to the gate's would come out under the cup on that: it leans.
        leans = port.label == "1"
        assert route.route == ("slanted" if leans else "straight")
        straight_mm = port.length_mm / np.cos(np.radians(30.0 if leans else 0.0))
        assert route.length_mm == pytest.approx(straight_mm, abs=1e-6)
        assert route.exit_mm[2] == pytest.approx(plan.mould.block.high_mm[2])
    assert plan.mould.gate.head_mm > plan.mould.gate.length_mm
    assert plan.mould.gate.fill_low_s < plan.mould.gate.fill_high_s


def test_with_all_its_vents_the_cavity_fills(leaning):
    fill = leaning.mould.fill
    # Posts 6 mm wide lean 10 degrees: a vent a column off its corner keeps a
    # wedge of a column's width, 0.3 x 6 x 0.05 mm3 and the like.
    assert fill.caught_ml < 0.01
    assert fill.frames[-1].filled_ml == pytest.approx(fill.cavity_ml, abs=0.01)


def test_the_same_sentences_reach_sheet_steps_and_record(leaning):
    plan = leaning
    close = next(step for step in plan.bench.schedule.steps if step.kind == "close")
    assert "tilted 10 degrees" in str(close.text) and "vents 1, 2, 3 and 4" in str(close.text)
    sheets = [sheet for sheet in build_sheets(plan) if sheet.title.startswith("Air")]
    texts = " ".join(t.text for sheet in sheets for t in sheet.texts)
    assert "tilted 10 degrees" in texts
    for row in air_view.route_rows(plan):
        assert row[0] in texts
    document = json.loads(record.plan_json(plan))
    schema = json.loads(renew_schema.PATH.read_text("utf-8"))
    jsonschema.Draft202012Validator(schema).validate(document)
    assert len(document["air"]["attitude"]["map_up"]) == 40 + 72
    assert [pair for pair in document["air"]["trade"]["combinations"] if pair["is_chosen"]]


def test_left_to_itself_the_plan_takes_the_cheapest_stand():
    plan = plan_of(bodies.posts((8, 14, 11, 20)), draw=(0, 0, 1))
    options = plan.air.attitude.options
    assert not plan.air.attitude.is_asked_for
    assert options[0].cost_min == min(option.cost_min for option in options)
    # Never on its base with four posts up, each with an opening of its own.
    assert len(plan.air.openings.vents) + len(plan.air.openings.extra_vents_mm) < 3
    assert plan.air.openings.up == pytest.approx(options[0].up)
