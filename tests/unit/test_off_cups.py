"""Vents keep off the gates: none comes out in a gate's cone, or under the cup that stands on it.

The rule: from middle to middle at least half the cup, half the vent and 4 mm for the walls of
cup and straw and the clay at their foot (assumed); 2 mm of silicone beside the cone (common
practice, no source). Distances are between the ends of the routes, counted here.
"""

import functools
from dataclasses import replace
from itertools import product
from pathlib import Path

import bodies
import manifold3d
import numpy as np
import pytest
import shapely
import trim_bodies
import trim_trial
from output.neutral import filled
from pouring import Setup

from castplan import records
from castplan.geometry.block import cup_mm3, port_solids
from castplan.mould.gate import fill_again, find_gate
from castplan.mould.off_cups import fit_cups
from castplan.mould.opening_findings import list_opening_findings
from castplan.mould.vents import route_vents
from castplan.part.load import load_part
from castplan.planning import build_plan
from castplan.records import Job

SAMPLES = sorted((Path(__file__).parents[2] / "sample_parts").glob("*.stl"))
BETWEEN_MM = 2.0
BESIDE_MM = 4.0
# Exits are worked out in floating point, tens of millimetres from the origin.
ROUNDING_MM = 1e-6
QUICK = {"mould": "two-part", "n_directions": 60, "n_attitudes": 60}
# Bodies of which the vent stood in the gate's cone while nothing kept it off: on a rim, on a
# plate, on a wall, and two whose vent can only lean away.
TRIM = ("cup", "grid_flat", "plain_ring", "slats_7_tilted", "noise_ball")


@functools.cache
def plan_of(name):
    by_stem = {path.stem: path for path in SAMPLES}
    if name in by_stem:
        return build_plan(load_part(by_stem[name], unit="mm"), Job(mould="two-part"))
    _, part = trim_trial.load(name)
    return build_plan(part, Job(**(QUICK | trim_bodies.make(name).choices)))


NAMES = (*(path.stem for path in SAMPLES), *TRIM)


@pytest.mark.parametrize("name", NAMES)
def test_no_vent_comes_out_in_a_cone_or_under_a_cup(name):
    mould = plan_of(name).mould
    ports = {port.label: port for port in mould.block.ports}
    exits = {route.label: np.array(route.exit_mm) for route in mould.vents.routes if route.is_open}
    gates = [label for label in exits if ports[label].cup_mm]
    vents = [label for label in exits if ports[label].kind == "vent"]
    assert gates and vents
    for gate in gates:
        for vent in vents:
            away_mm = np.linalg.norm(exits[gate] - exits[vent])
            cup_mm = max(ports[gate].cup_mm, mould.gate.cup_mm)
            need_mm = 0.5 * (cup_mm + ports[vent].diameter_mm) + BESIDE_MM
            assert away_mm >= need_mm - ROUNDING_MM, (gate, vent)
    assert not [f for f in plan_of(name).findings if f.code == "vent-under-cup"]


@pytest.mark.parametrize("name", NAMES)
def test_the_cup_holds_what_is_to_stay_in_it(name):
    gate = plan_of(name).mould.gate
    holds_ml = np.pi / 4 * gate.cup_mm**2 * gate.cup_high_mm / 1000
    assert holds_ml >= gate.reservoir_ml


@pytest.mark.parametrize("name", ("coat_hook", "slats_7_tilted"))
def test_silicone_stands_between_the_solids_of_gate_and_vent(name):
    plan = plan_of(name)
    mould = plan.mould
    part = plan.part
    frame = plan.split.draw.frame
    body = manifold3d.Manifold(
        manifold3d.Mesh(
            np.asarray(part.vertices_mm @ frame.rotation.T, np.float32),
            np.asarray(part.faces, np.uint32),
        )
    )

    def bores(kind):
        ports = tuple(port for port in mould.block.ports if port.kind == kind)
        made = port_solids(ports, plan.split.box, body, mould.vents.routes)
        return manifold3d.Manifold.batch_boolean(made, manifold3d.OpType.Add)

    # Cut off at the box: the tools reach out of it. manifold3d measures the gap, in single
    # precision; facets of the round tools lie inside the round, so it is never less than drawn.
    (x0, y0, z0), (x1, y1, z1) = plan.split.box.low_mm, plan.split.box.high_mm
    box = manifold3d.Manifold.cube((x1 - x0, y1 - y0, z1 - z0)).translate((x0, y0, z0))
    assert (bores("gate") ^ box).min_gap(bores("vent") ^ box, 20.0) >= BETWEEN_MM - 1e-3


def test_the_sections_draw_gate_and_vent_apart():
    # The cuts go through the gate, and draw a vent as far as a radius beside them: in the cut
    # it is nearer by at most 15.25 - sqrt(15.25^2 - 1.25^2) = 0.05 mm.
    is_drawn = False
    for section in plan_of("coat_hook").mould.sections:
        drawn = [(label, shapely.Polygon(ring)) for label, ring in section.ports_mm]
        gates = [shape for label, shape in drawn if label.startswith("G")]
        vents = [shape for label, shape in drawn if not label.startswith("G")]
        for gate, vent in product(gates, vents):
            assert gate.distance(vent) >= BETWEEN_MM - 0.06
            is_drawn = True
    assert is_drawn


def test_a_vent_that_leans_off_the_cup_is_told_why():
    (told,) = [f for f in plan_of("coat_hook").findings if f.code == "slanted-port"]
    assert "would come out under the pouring cup" in str(told.message)
    assert "away from the gate" in str(told.message)


def two_towers(apart_mm):
    """A block with two towers: the gate on one, a vent on the other; the box over them."""
    solid = bodies.cuboid((0, 60), (0, 20), (0, 8))
    for middle, high in ((20, 30), (20 + apart_mm, 28)):
        solid += bodies.cuboid((middle - 3, middle + 3), (7, 13), (0, high))
    return Setup(bodies.arrays(solid), parting_mm=4.0)


def routed(setup, *, cup_mm):
    gate = setup.mould.ports[0]
    vents = [
        filled(
            records.Port,
            label=str(n),
            kind="vent",
            place_mm=setup.openings.peaks[k].place_mm,
            path_mm=np.array([setup.openings.peaks[k].place_mm, (0, 0, 0)]),
            diameter_mm=2.5,
        )
        for n, k in enumerate(setup.openings.vents, start=1)
    ]
    mould = replace(setup.mould, ports=(gate, *vents), bedding=filled(records.Bedding))
    return mould, route_vents(setup.silicone, mould, cup_high_mm=25.0, cup_mm=cup_mm)


def test_a_vent_on_a_tower_near_the_gate_leans_away_from_it():
    setup = two_towers(11.0)
    _, vents = routed(setup, cup_mm=20.0)
    gate, vent = vents.routes
    assert gate.route == "straight" and vent.route == "slanted"
    away_mm = np.linalg.norm(np.subtract(gate.exit_mm, vent.exit_mm))
    assert away_mm >= 10.0 + 1.25 + BESIDE_MM
    # No further than it must: under the next slant that is tried.
    assert vent.slant_deg <= 30.0 + ROUNDING_MM


def test_a_vent_far_from_the_gate_goes_straight_up():
    _, vents = routed(two_towers(25.0), cup_mm=20.0)
    assert [route.route for route in vents.routes] == ["straight", "straight"]


def test_a_cup_that_a_vent_leaves_no_room_for_is_narrower_and_higher():
    setup = two_towers(11.0)
    mould, vents = routed(setup, cup_mm=20.0)
    gate, vent = vents.routes
    # The vent brought to 13 mm from the gate: room for 2 (13 - 1.25 - 4) = 15.5 mm.
    moved = np.array([vent.path_mm[0], np.add(gate.exit_mm, (13.0, 0.0, 0.0))])
    vents = replace(vents, routes=(gate, replace(vent, path_mm=moved)))
    told = filled(records.GateResult, cup_mm=20.0, cup_high_mm=25.0, reservoir_ml=7.0)
    fitted, cup = fit_cups(mould, told, vents)
    assert fitted.ports[0].cup_mm == 15.0  # in whole millimetres, as the cup
    # pi/4 15^2 h = 7000 mm3: h = 39.6, in whole 5 mm.
    assert (cup.cup_mm, cup.cup_high_mm) == (15.0, 40.0)
    lost_mm3 = cup_mm3(mould.ports[0]) - cup_mm3(fitted.ports[0])
    assert lost_mm3 > 100.0
    assert mould.ports_ml - fitted.ports_ml == pytest.approx(lost_mm3 / 1000)
    assert under_cup(setup, fitted, cup, vents) == []
    # One that would be as high as a bottle stays, and the plan tells of it.
    wide = replace(told, cup_mm=40.0, reservoir_ml=30.0)
    fitted, cup = fit_cups(mould, wide, vents)
    assert cup == wide
    (finding,) = under_cup(setup, fitted, cup, vents)
    assert "40 mm across" in str(finding.message) and "15 mm or less" in str(finding.do)


def under_cup(setup, mould, gate, vents):
    made = filled(records.Mould, block=mould, gate=gate, vents=vents)
    found = list_opening_findings(setup.draw, setup.openings, made, setup.job)
    return [f for f in found if f.code == "vent-under-cup"]


def test_a_higher_cup_fills_faster():
    """By drag alone in proportion to the head, which is least at the start of the fill."""
    setup = two_towers(25.0)
    mould, _ = routed(setup, cup_mm=20.0)
    plan = filled(records.GatePlan, options=(filled(records.GateOption, least_bore_mm=3.0),))
    thick = replace(setup.job, resin="polyurethane-filled-80d")  # no hand is faster than the gate
    gate = find_gate(setup.silicone, plan, mould, thick)
    higher = fill_again(replace(gate, cup_high_mm=45.0), setup.silicone, mould, thick)
    assert higher.head_mm - gate.head_mm == pytest.approx(20.0)
    faster = gate.fill_high_s / higher.fill_high_s
    assert 1.0 < faster < 1 + 20.0 / gate.head_mm
    same = fill_again(gate, setup.silicone, mould, thick)
    assert (same.fill_low_s, same.fill_high_s) == (gate.fill_low_s, gate.fill_high_s)
