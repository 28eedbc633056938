"""Finished halves pulled apart, against what solids are known to hold.

Places are of the bodies made here, by hand.
"""

from dataclasses import replace
from types import SimpleNamespace

import bodies
import moulds
import numpy as np
import pytest
import shapes
from output.neutral import filled

from castplan import records
from castplan.geometry.shutoff import cutting_surface
from castplan.mould.pull import pull_solids
from castplan.split.proof_findings import list_proof_findings

PROOF = filled(records.ProofResult, promised_mm3=0.0)


def pulled(mould, halves=None):
    halves = halves or (mould.halves.upper, mould.halves.lower)
    split = moulds.split_of(mould.box, mould.surface, proof=PROOF)
    return pull_solids(mould.part, split, halves)


def pierced_tray():
    """A tray 60 x 40 x 15, walls and floor 3, a hole of 10 x 10 through its floor."""
    body = bodies.cuboid((-30, 30), (-20, 20), (0, 15))
    body -= bodies.cuboid((-27, 27), (-17, 17), (3, 16))
    body -= bodies.cuboid((-5, 5), (-5, 5), (-1, 4))
    vertices, faces = bodies.arrays(body)
    return shapes.Body(vertices, faces, float(body.volume()), 0.0, {})


def test_halves_that_part_where_the_body_is_widest_hold_nothing():
    proof = pulled(moulds.make_mould(shapes.box(), 0.0))
    assert (proof.solids_upper_mm3, proof.solids_lower_mm3) == (0.0, 0.0)
    assert proof.solids_where_mm is None
    assert list_proof_findings(proof, tie_mm3=1.0) == ()


@pytest.mark.parametrize("height_mm", [4.0, -4.0])
def test_a_ball_split_off_its_middle_holds_what_other_columns_find(height_mm):
    # Truth: the tests' own columns, four times as fine, over the same solids.
    ball = shapes.sphere(10, 64)
    mould = moulds.make_mould(ball, height_mm)
    proof = pulled(mould)
    expected = [
        moulds.held_mm3(half, ball.vertices_mm, ball.faces, mould.box, up=up, pitch_mm=0.05)
        for half, up in ((mould.halves.upper, True), (mould.halves.lower, False))
    ]
    assert sum(expected) > 60  # of a round ball pi 4^3 / 3
    # Lengths under 0.05 mm are films and do not count: a ring 0.6 mm wide at the
    # edge of what is held, 2 % of it.
    found = [proof.solids_upper_mm3, proof.solids_lower_mm3]
    assert found == pytest.approx(expected, rel=0.03, abs=0.5)


def test_a_hollow_that_the_wrong_half_fills_through_a_hole_stops_the_plan():
    # Cut at 12 by a plane, the silicone in the hollow hangs on the lower half by the hole.
    mould = moulds.make_mould(pierced_tray(), 12.0)
    proof = pulled(mould)
    # Over the floor less the hole.
    expected = (54 * 34 - 100) * 9
    assert proof.solids_lower_mm3 == pytest.approx(expected, rel=0.01)
    (finding,) = list_proof_findings(proof, tie_mm3=1.0)
    assert (finding.code, finding.severity) == ("solids-hold", "stop")
    x, y, z = finding.where_mm
    assert abs(x) < 27 and abs(y) < 17 and 3 < z < 12
    # Cut by the parting of the columns it comes free.
    plug = SimpleNamespace(
        is_following=False,
        height_mm=2.0,
        rim=SimpleNamespace(points_mm=np.array([[0.0, 5.0]]), line_mm=None),
    )
    line = filled(records.PartingLine, kind="level", surface=mould.surface, plugs=(), strips=())
    line = SimpleNamespace(**{**vars(line), "plugs": (plug,)})
    fine = cutting_surface(mould.field, line)
    halves = moulds.make_halves(mould.part, replace(mould.cut, surface=fine))
    assert pulled(mould, (halves.upper, halves.lower)).solids_mm3 < 20.0


def test_columns_that_hold_more_than_the_line_promised_stop_the_plan():
    proof = filled(records.ProofResult, upper_mm3=400.0, lower_mm3=300.0, promised_mm3=100.0)
    (finding,) = list_proof_findings(proof, tie_mm3=1.0)
    assert (finding.code, finding.severity) == ("proof-holds", "stop")
    assert "0.6 ml" in str(finding.message)
    assert list_proof_findings(proof, tie_mm3=601.0) == ()
