"""Gates along a long part: through records, ways, steps, findings and solids.

Places are of the strips made here, by hand.
"""

from dataclasses import replace

import bodies
import numpy as np
import pytest
import shapes

from castplan.materials.cards import get_card, pot_life_at
from castplan.planning import build_plan, build_solids
from castplan.records import AirWeights, Job
from castplan.words import air as air_view
from castplan.words import plan as view

# A strip lying on its edge for which a resin of 3 min is quick to set.
LENGTH_MM, TALL_MM, THICK_MM = 800.0, 14.0, 1.5
# Openings so dear that one more never pays.
DEAR = replace(AirWeights(), vent_min=400.0, groove_min=400.0)
QUICK = {
    "n_directions": 20,
    "n_attitudes": 40,
    "pitch_mm": 1.0,
    "draw": (0, 0, 1),
    "up": (0, 1, 0),
    "show_face": (0, 0, 1),
}


def plan_of(**choices):
    vertices, faces = bodies.arrays(bodies.cuboid((0, LENGTH_MM), (0, TALL_MM), (0, THICK_MM)))
    return build_plan(shapes.part_of(vertices, faces), Job(**QUICK | choices))


def washburn_s(way_mm, card, *, head_mm):
    """6 mu L2 / (b2 dp) at the thick end of the viscosity, half as thick again."""
    viscosity = 1.5 * card.viscosity_mpa_s.value / 1000
    push_pa = card.density_g_ml.value * 1000 * 9.81 * head_mm / 1000
    return 6 * viscosity * (way_mm / 1000) ** 2 / ((THICK_MM / 1000) ** 2 * push_pa)


@pytest.fixture(scope="module")
def strip():
    return plan_of()


def test_the_gate_stands_half_way_along_and_resin_runs_as_washburn_says(strip):
    gate, feed, card = strip.mould.gate, strip.air.feed, get_card(strip.job.resin, kind="resin")
    assert feed.chosen.feed == "top"
    x_mm = strip.air.openings.frame.to_part(np.array(feed.chosen.place_mm))[0]
    assert x_mm == pytest.approx(LENGTH_MM / 2, abs=LENGTH_MM / 48)
    # Alone it has half the length to run either way. Over the middle of the strip stand half
    # its height, the silicone over it and 25 mm of cup; the strip's short sides, a bore of
    # some mm and half a slab either way make it longer, by a quarter at most.
    rim_mm = 0.5 * TALL_MM + (strip.mould.block.high_mm[1] - TALL_MM) + 25.0
    least_s = washburn_s(LENGTH_MM / 2, card, head_mm=rim_mm)
    assert least_s < feed.run.alone_s < 1.5 * least_s
    pot_life_min, _, _ = pot_life_at(card, temperature_c=strip.job.shop_temperature_c)
    assert feed.run.pot_life_s == 60 * pot_life_min and gate.limit_s == 15 * pot_life_min
    assert feed.run.length_mm == pytest.approx(LENGTH_MM)


def test_further_gates_come_in_for_what_one_does_not_do_in_time(strip):
    gate, feed = strip.mould.gate, strip.air.feed
    assert feed.run.alone_s > gate.limit_s and feed.chosen.further
    assert feed.run.low_s < feed.run.high_s < 0.8 * feed.run.alone_s
    assert feed.run.next_mm is None
    codes = {finding.code for finding in strip.findings}
    assert "several-gates" in codes and "run-late" not in codes
    # A slower resin runs as fast and has more time: one gate does.
    slow = plan_of(resin="polyurethane-slow-75d")
    assert not slow.air.feed.chosen.further and slow.air.feed.run.high_s <= slow.mould.gate.limit_s
    assert not {"several-gates", "run-late"} & {finding.code for finding in slow.findings}
    assert slow.air.feed.run.high_s == slow.air.feed.run.alone_s


def test_on_a_leaning_strip_the_gate_leaves_the_high_end():
    plan = plan_of(up=(0.06, 1.0, 0.0), resin="polyurethane-medium-72d")
    chosen = plan.air.feed.chosen
    assert chosen.feed == "top" and chosen.peak is None and plan.air.openings.gate is None
    x_mm = plan.air.openings.frame.to_part(np.array(chosen.place_mm))[0]
    assert x_mm == pytest.approx(LENGTH_MM / 2, abs=LENGTH_MM / 48)
    # The air leaves at the high end, by a vent there.
    top = plan.air.openings.peaks[plan.air.openings.vents[0]]
    top_mm = plan.air.openings.frame.to_part(np.array(top.place_mm))
    assert top_mm == pytest.approx((LENGTH_MM, TALL_MM, 0.75), abs=1.0)
    assert plan.mould.fill.caught_ml < 0.02
    # From the high end alone resin would run longer, and that option says so.
    other = next(option for option in plan.air.feed.options if option.peak is not None)
    assert other.cost_min > chosen.cost_min
    assert "half way along" in air_view.gate_sentence(plan)


def test_every_gate_has_its_port_its_way_and_its_step(strip):
    n = 1 + len(strip.air.feed.chosen.further)
    labels = ["G", *(f"G{k}" for k in range(2, n + 1))]
    gates = [port for port in strip.mould.block.ports if port.kind == "gate"]
    assert [port.label for port in gates] == labels
    assert [route.label for route in strip.mould.vents.routes[:n]] == labels
    for port, route in zip(gates, strip.mould.vents.routes, strict=False):
        assert route.route not in ("none", "sideways") and port.cup_mm > 0
        # Out of the box, at its top.
        assert route.exit_face == "top"
        spot = strip.air.openings.frame.to_frame(
            strip.split.draw.frame.to_part(np.array(route.path_mm[0]))
        )
        assert spot == pytest.approx(port.place_mm, abs=1e-6)
    # No vent stands in a gate.
    places = [np.array(port.place_mm) for port in strip.mould.block.ports]
    for k, port in enumerate(strip.mould.block.ports):
        for other in range(k):
            apart_mm = np.linalg.norm(places[k] - places[other])
            assert apart_mm > 0.5 * (port.diameter_mm + strip.mould.block.ports[other].diameter_mm)
    (step,) = [str(step.text) for step in strip.bench.schedule.steps if step.kind == "cast"]
    assert all(f"{label}" in step for label in labels) and "next gate" in step
    told = " ".join(air_view.run_sentences(strip))
    assert ", ".join(labels) in told and f"{LENGTH_MM:.0f} mm" in told


def test_what_is_filled_and_caught_is_the_cavity_in_the_end(strip):
    fill = strip.mould.fill
    told = [frame.filled_ml + frame.caught_ml for frame in fill.frames]
    assert max(told) <= fill.cavity_ml * (1 + 1e-9)
    assert told[-1] == pytest.approx(fill.cavity_ml, rel=1e-6)  # levels are bisected
    assert strip.mould.fill.caught_ml < 0.02


def test_the_halves_hold_every_channel(strip):
    upper, lower = (solid for solid in build_solids(strip, ["halves"]))
    made = [manifold_mm3(solid) for solid in (upper, lower)]
    box_mm3 = 1000 * strip.mould.block.box_ml
    open_mm3 = box_mm3 - sum(made) - LENGTH_MM * TALL_MM * THICK_MM
    # Cylinders meet the strip's edge and each other's cups: a twentieth, and far less
    # than one gate of them.
    assert open_mm3 / 1000 == pytest.approx(strip.mould.block.ports_ml, rel=0.05)
    n_ports = len(strip.mould.block.ports)
    assert strip.mould.block.ports_ml / n_ports > 0.06 * strip.mould.block.ports_ml


def manifold_mm3(solid):
    """Volume of a solid by the divergence theorem."""
    a, b, c = (solid.vertices_mm[solid.faces[:, k]] for k in range(3))
    return float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum()) / 6


def test_what_is_too_long_for_its_resin_is_told_with_the_place_of_one_more():
    late = plan_of(resin="polyester-casting", air_weights=DEAR)
    assert not late.air.feed.chosen.further
    (finding,) = [finding for finding in late.findings if finding.code == "run-late"]
    assert finding.severity == "warn"
    assert late.air.feed.run.high_s > 0.5 * late.air.feed.run.pot_life_s
    # Half way from the gate to the end that fills last.
    gate_mm = late.air.openings.frame.to_part(np.array(late.air.feed.chosen.place_mm))[0]
    ends_mm = late.part.vertices_mm[:, 0].min(), late.part.vertices_mm[:, 0].max()
    last_mm = max(ends_mm, key=lambda end_mm: abs(end_mm - gate_mm))
    assert finding.where_mm[0] == pytest.approx(0.5 * (gate_mm + last_mm), abs=LENGTH_MM / 48)
    assert str(round(finding.where_mm[0])) in str(finding.do)
    # Set there by hand it would halve the way, so more than halve the time.
    assert late.air.feed.run.length_mm == pytest.approx(LENGTH_MM)


def test_a_part_that_is_not_long_has_its_gate_as_before():
    vertices, faces = bodies.arrays(bodies.cuboid((0, 60), (0, 20), (0, 12)))
    plan = build_plan(shapes.part_of(vertices, faces), Job(**QUICK))
    assert plan.air.feed.run is None and not plan.air.feed.chosen.further
    assert air_view.run_sentences(plan) == []


def test_the_job_says_all_gates(strip):
    labels = [port.label for port in strip.mould.block.ports if port.kind == "gate"]
    named = f"{', '.join(labels[:-1])} and {labels[-1]}"
    *_, pour = (each.sentence for each in view.decisions(strip))
    assert f"through gates {named}, one after the other," in pour
    # What stands above the cup is vents, and no gate.
    (close,) = [str(step.text) for step in strip.bench.schedule.steps if step.kind == "close"]
    assert "G2" not in close.split("Put a straw", 1)[1]


def test_further_gates_where_the_shop_wants_none_are_told():
    # All of the strip is marked: there is no other place for them.
    light = replace(AirWeights(), keep_off_min=1.0)
    plan = plan_of(keep_off=((LENGTH_MM / 2, 0.0, 0.0, LENGTH_MM),), air_weights=light)
    labels = [f"G{k}" for k in range(2, 2 + len(plan.air.feed.chosen.further))]
    assert labels and all("marked" in gate.harms for gate in plan.air.feed.chosen.further)
    (told,) = [f for f in plan.findings if f.code == "further-gate-on-marked"]
    assert told.severity == "warn" and all(label in str(told.message) for label in labels)


def test_further_gates_keep_off_a_mark_beside_their_place(strip):
    first = strip.air.feed.chosen.further[0]
    x_mm = float(strip.air.openings.frame.to_part(np.array(first.place_mm))[0])
    plan = plan_of(keep_off=((x_mm, TALL_MM, THICK_MM / 2, 6.0),))
    assert plan.air.feed.chosen.further
    assert not any("marked" in gate.harms for gate in plan.air.feed.chosen.further)
    for gate in plan.air.feed.chosen.further:
        place = plan.air.openings.frame.to_part(np.array(gate.place_mm))
        assert np.linalg.norm(place - (x_mm, TALL_MM, THICK_MM / 2)) >= 6.0
