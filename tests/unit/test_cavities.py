"""Every cavity that no resin runs into from another has a gate and a way out of its own."""

import numpy as np
import pytest
import shapes
from bodies import hollow_box, joined, moved

import castplan
from castplan.columns import field as columns
from castplan.part.cavities import each_of, find_cavities

COARSE = {"pitch_mm": 1.0, "n_directions": 40, "n_attitudes": 40}
# A vent is worth as much air, mm3 (the job's default, 0.02 ml).
LEAST_MM3 = 20.0


def apart():
    """Two boxes and a ball, none touching another."""
    return [
        moved(shapes.box(30, 20, 16), (0, 0, 0)),
        moved(shapes.box(30, 20, 16), (45, 0, 0)),
        moved(shapes.sphere(12.0), (20, 45, 8)),
    ]


def planned(bodies, **choices):
    surface = joined(*(body[:2] for body in bodies))
    return castplan.plan(surface, unit="mm", draw=(0, 0, 1), **COARSE, **choices)


def places(plan, kind):
    """Of the openings of a kind on the cavity, part frame, with the cavity each opens."""
    to_part = plan.air.openings.frame.to_part
    ports = [port for port in plan.mould.block.ports if port.kind == kind]
    return [(port.cavity, to_part(np.array(port.place_mm))) for port in ports]


def holder(bodies, point):
    """The one body whose bounds hold a point; the bounds of no two come near each other."""
    ends = [(body[0].min(axis=0) - 0.5, body[0].max(axis=0) + 0.5) for body in bodies]
    (found,) = [k for k, (low, high) in enumerate(ends) if ((point > low) & (point < high)).all()]
    return found


@pytest.fixture(scope="module")
def three():
    return planned(apart())


def test_each_body_has_a_gate_and_a_vent(three):
    for kind in ("gate", "vent"):
        told = {}
        for cavity, place in places(three, kind):
            told.setdefault(cavity, set()).add(holder(apart(), place))
        assert set(told) == {1, 2, 3}, kind
        # Each cavity is one body, and no two are the same.
        assert sorted(body for found in told.values() for body in found) == [0, 1, 2], kind


def test_nothing_stays_unfilled(three):
    # Before each had its own, all but the first body stayed empty: 17 of 26 ml.
    assert three.mould.fill.caught_ml < 0.02
    filled = three.mould.fill.frames[-1].filled_ml
    exact_ml = (2 * 30 * 20 * 16 + shapes.sphere(12.0).volume_mm3) / 1000
    # Columns a 192nd of 75 mm apart miss less than 1 % of such bodies.
    assert filled == pytest.approx(exact_ml, rel=0.01)


def test_the_pour_is_told_gate_by_gate(three):
    (text,) = (str(step.text) for step in three.bench.schedule.steps if step.kind == "cast")
    assert "G, G2, G3" in text
    assert "one after the other" in text


def test_order_of_the_file_changes_no_gate(three):
    again = planned(apart()[::-1])
    for kind in ("gate", "vent"):
        one, other = places(three, kind), places(again, kind)
        assert [cavity for cavity, _ in one] == [cavity for cavity, _ in other]
        # Vertices are the same numbers in another order: rounding alone.
        np.testing.assert_allclose(
            [place for _, place in one], [place for _, place in other], atol=1e-6
        )


def cavities_of(bodies):
    part = shapes.part_of(*joined(*(body[:2] for body in bodies)))
    field = columns.sample(part.vertices_mm, part.faces, part.cap_faces, np.eye(3), pitch_mm=0.5)
    return part, field, find_cavities(part, field, least_mm3=LEAST_MM3)


def test_volumes_of_cavities_are_those_of_the_bodies():
    solids = [shapes.box(30, 20, 16), shapes.sphere(12.0), shapes.frustum()]
    part, field, cavities = cavities_of(
        [moved(solid, (45 * k, 0, 0)) for k, solid in enumerate(solids)]
    )
    sampled = [own.volume_mm3 for own in each_of(part, cavities, field)]
    exact = sorted((solid.volume_mm3 for solid in solids), reverse=True)
    # Columns half a millimetre apart, walls askew to them: 0.2 % on bodies this large.
    assert sorted(sampled, reverse=True) == pytest.approx(exact, rel=2e-3)
    assert sum(sampled) == pytest.approx(field.volume_mm3, rel=1e-12)
    assert sum(cavities.shares) == pytest.approx(1.0, rel=1e-12)


@pytest.mark.parametrize(
    "bodies",
    [
        pytest.param([shapes.box(), moved(shapes.box(), (25, 0, 0))], id="overlapping"),
        pytest.param([hollow_box()], id="void"),
        pytest.param([shapes.box(), moved(shapes.box(2, 2, 2), (60, 0, 0))], id="speck"),
    ],
)
def test_one_cavity_stays_one(bodies):
    assert cavities_of(bodies)[2] is None


def test_times_of_two_bodies_add_up():
    block = shapes.box(30, 20, 16)
    one = planned([block], gate_mm=6.0, up=(0, 0, 1), feed="top")
    two = planned([block, moved(block, (45, 0, 0))], gate_mm=6.0, up=(0, 0, 1), feed="top")
    # The same pipe and heads twice; columns of the two stand differently by a pitch or so.
    assert two.mould.gate.fill_high_s == pytest.approx(2 * one.mould.gate.fill_high_s, rel=0.02)
