"""A parting that passes under an edge of the part leaves a web of silicone there, no pin.

A door frame parted level at half its doorway: the silicone over the clay runs under the
lintel from front to back. By construction it is as wide as the doorway, as thick as the
frame and as high as the lintel stands over the clay.
"""

import functools

import manifold3d
import numpy as np
import pytest
import shapes

from castplan.planning import build_plan
from castplan.records import Job

WIDE_MM, THICK_MM, LINTEL_MM = 30.0, 8.0, 30.0
QUICK = {"draw": (0.0, 0.0, 1.0), "n_attitudes": 40}


@functools.cache
def plan_at(height_mm):
    frame = manifold3d.Manifold.cube((50, THICK_MM, 40))
    door = manifold3d.Manifold.cube((WIDE_MM, THICK_MM + 2, LINTEL_MM + 1)).translate((10, -1, -1))
    mesh = (frame - door).to_mesh64()
    points = np.asarray(mesh.vert_properties, dtype=float)[:, :3]
    part = shapes.part_of(points, np.asarray(mesh.tri_verts))
    return build_plan(part, Job(parting_height_mm=height_mm, **QUICK))


@pytest.mark.parametrize(
    ("height_mm", "severity"),
    # Over 0.5 ml it does not just tear out of the way.
    [(29.0, "warn"), (15.0, "stop")],
)
def test_silicone_under_a_lintel_is_a_web(height_mm, severity):
    plan = plan_at(height_mm)
    (pocket,) = plan.split.undercuts.pockets
    assert (pocket.kind, pocket.held_by) == ("web", "upper")
    expected_mm3 = WIDE_MM * THICK_MM * (LINTEL_MM - height_mm)
    # Some 250 columns across the frame: half a column on each of four sides.
    assert pocket.volume_mm3 == pytest.approx(expected_mm3, rel=0.03)
    (finding,) = [f for f in plan.findings if f.code == "web"]
    assert finding.severity == severity


def test_clay_up_to_the_part_is_the_first_remedy_and_nothing_is_cut_again():
    remedies = plan_at(29.0).split.remedies
    assert [remedy.kind for remedy in remedies] == ["clay up", "cut"]
    assert remedies[0].remaining_mm3 == 0


def test_a_parting_at_the_lintel_leaves_no_web():
    assert not plan_at(34.0).split.undercuts.pockets
