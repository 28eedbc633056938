"""Vents that stand where they do harm are told, and leave such places where the air lets them.

Places and areas are of the bodies made here, by hand.
"""

import bodies
import manifold3d
import numpy as np
import pytest
import shapes
from output.neutral import filled
from pouring import LEVEL, Setup

from castplan.air.high_points import PourView, find_air
from castplan.air.tops import NOTHING_MM3
from castplan.geometry.guard import Guard
from castplan.materials.gate import TIP_MM2
from castplan.mould.opening_findings import list_opening_findings
from castplan.records import Job, Mould


def air_of(solid, *, pitch_mm=0.3, **choices):
    vertices, faces = bodies.arrays(solid)
    part, job = shapes.part_of(vertices, faces), Job(**choices)
    field = bodies.look(vertices, faces, pitch_mm=pitch_mm)
    return find_air(field, job, PourView(vertices_mm=vertices, guard=Guard(part, job)))


def told(air, job=None):
    found = list_opening_findings(LEVEL, air, filled(Mould), job or Job())
    return {f.code: f for f in found if f.code.startswith(("vent-on-", "kept-off"))}


def towers(*sides_mm):
    """Square towers of these sides on one base, each a little higher than the one before."""
    solid = bodies.cuboid((0, 30 * len(sides_mm)), (0, 30), (0, 8))
    for k, side in enumerate(sides_mm):
        low, high = 15 + 30 * k - 0.5 * side, 15 + 30 * k + 0.5 * side
        solid += bodies.cuboid((low, high), (15 - 0.5 * side, 15 + 0.5 * side), (0, 24 + k))
    return solid


def rack():
    """Eight teeth, 2 mm wide and 3 deep in steps of 4 mm, on a block; a tower beside them."""
    solid = bodies.cuboid((0, 60), (0, 20), (0, 10)) + bodies.cuboid((40, 55), (3, 18), (0, 20))
    for k in range(8):
        solid += bodies.cuboid((1 + 4 * k, 3 + 4 * k), (0, 20), (0, 13))
    return solid


@pytest.mark.parametrize(("side_mm", "is_tip"), [(3.0, True), (6.0, True), (7.2, False)])
def test_a_vent_on_a_tip_is_told(side_mm, is_tip):
    # A tip has less section than one and a half 6 mm gates: 42.4 mm2, a square of 6.5 mm.
    assert pytest.approx(1.5 * np.pi / 4 * 36) == TIP_MM2
    air = air_of(towers(side_mm, 16.0))
    assert len(air.vents) == 1
    assert [(harm.label, harm.code) for harm in air.harms] == ([("1", "tip")] if is_tip else [])
    found = told(air)
    assert list(found) == (["vent-on-tip"] if is_tip else [])
    if is_tip:
        assert found["vent-on-tip"].severity == "note"
        assert found["vent-on-tip"].where_mm == pytest.approx((15, 15, 24), abs=0.5)


def test_vents_on_the_side_that_shows_are_told_in_one_finding():
    air = air_of(towers(12.0, 14.0, 16.0), show_face=(0, 0, 1))
    assert [(harm.label, harm.code) for harm in air.harms] == [("1", "show"), ("2", "show")]
    (finding,) = told(air).values()
    assert "1 and 2" in str(finding.message)
    # Seen from below it is the bottom that shows.
    assert not air_of(towers(12.0, 14.0, 16.0), show_face=(0, 0, -1)).harms


def test_vents_on_teeth_are_told():
    air = air_of(rack())
    worked = {harm.label for harm in air.harms if harm.code == "worked"}
    # All but the vents beside the gate on the tower, if any: the teeth are where x < 32.
    on_teeth = {
        str(n)
        for n, place in enumerate(
            [*(air.peaks[k].place_mm for k in air.vents), *air.extra_vents_mm], start=1
        )
        if place[0] < 32
    }
    assert on_teeth and worked == on_teeth
    assert "vent-on-worked" in told(air)


def test_a_vent_asked_for_in_a_mark_is_told():
    body, place = towers(12.0, 16.0), (15.0, 15.0, 24.0)
    marked = {"keep_off": ((*place, 9.0),), "vents_at": (place,)}
    air = air_of(body, **marked)
    assert [(harm.label, harm.code) for harm in air.harms] == [("1", "marked")]
    assert told(air)["vent-on-marked"].severity == "warn"
    # Left to itself the vent is not made, and that is told once.
    air = air_of(body, keep_off=marked["keep_off"])
    assert not air.harms and list(told(air)) == ["kept-off-left"]


def crown(radius_mm=100.0, reach_mm=15.0):
    """A crown of a ball on a cylinder."""
    ball = manifold3d.Manifold.sphere(radius_mm, 720)
    return ball ^ manifold3d.Manifold.cylinder(radius_mm + 1, reach_mm, reach_mm, 96)


@pytest.mark.parametrize(("mark_mm", "moves"), [(1.5, True), (2.5, True), (5.0, False)])
def test_an_opening_leaves_the_top_of_a_crown_while_no_air_to_speak_of_stays(mark_mm, moves):
    # So far off the middle of a ball of 100 mm the crown is lower by d2 / 2R; over it lie
    # pi h2 (R - h / 3): 0.04, 0.31 and 4.9 mm3 (closed form of a ball's cap).
    radius = 100.0
    h_mm = radius - np.sqrt(radius**2 - mark_mm**2)
    cap_mm3 = np.pi * h_mm**2 * (radius - h_mm / 3)
    assert (cap_mm3 < NOTHING_MM3) == moves
    air = air_of(crown(), pitch_mm=0.2, keep_off=((0.0, 0.0, radius, mark_mm),))
    (peak,) = air.peaks
    away_mm = float(np.hypot(*peak.place_mm[:2]))
    if not moves:
        assert away_mm < mark_mm and air.kept_off == (0,)
        return
    # No farther than it must; a column is 0.2 mm wide.
    assert mark_mm <= away_mm < mark_mm + 0.5 and air.kept_off == ()
    down_mm = radius - peak.place_mm[2]
    assert np.pi * down_mm**2 * (radius - down_mm / 3) < NOTHING_MM3


def test_the_cavity_still_fills_from_a_gate_beside_the_top():
    job = Job(keep_off=((0.0, 0.0, 100.0, 2.0),))
    setup = Setup(bodies.arrays(crown()), job=job)
    peak = setup.openings.peaks[0]
    assert np.hypot(*peak.place_mm[:2]) >= 2.0 and setup.openings.left_mm3 == 0
