"""Air in the silicone: closed forms for cups over the clay, and tilts that free them."""

import math

import bodies
import numpy as np
import pytest
import shapes
from pouring import Setup

from castplan.model import Job
from castplan.stages.pours import find_pours

# 256 columns across: a disc's volume to about half a per cent.
SAMPLING = 0.01


def pours_of(body, *, parting_mm, **choices):
    setup = Setup(body, parting_mm=parting_mm, job=Job(**choices))
    result = find_pours(setup.part, setup.draw, setup.line, setup.mould, setup.job)
    return {pour.half: pour for pour in result.pours}


def raised_bell(**sizes):
    """A cup, mouth down, held 10 mm over z = 0 by a rod beside its mouth."""
    bell = shapes.bell(**sizes)
    rod = bodies.cuboid((17, 19), (-1, 1), (0, 12))
    return bodies.arrays(bodies.solid_of(*bodies.moved(bell, (0, 0, 10))) + rod)


def test_a_cup_over_the_clay_keeps_its_air():
    pours = pours_of(raised_bell(), parting_mm=0.0)
    (caught,) = pours["upper"].caught
    expected = shapes.bell_air_mm3(16, 24)
    assert caught.volume_mm3 == pytest.approx(expected, rel=SAMPLING)
    assert pours["upper"].caught_mm3 == pytest.approx(expected, rel=SAMPLING)
    assert caught.area_mm2 == pytest.approx(shapes.polygon_factor(64) * 16**2, rel=SAMPLING)
    assert caught.height_mm == pytest.approx(24)
    assert caught.place_mm[2] == pytest.approx(34)
    # Its outline is the bore's.
    assert np.hypot(*caught.ring_mm.T).max() == pytest.approx(16, abs=0.3)
    # So deep a cup keeps more than half at any tilt up to 30 degrees.
    assert pours["upper"].tilt_deg == 0
    assert pours["lower"].caught == ()


def test_the_same_cup_upside_down_shows_in_the_lower_half():
    vertices, faces = raised_bell()
    flipped = vertices * (1, -1, -1)
    pours = pours_of((flipped, faces), parting_mm=0.0)
    assert pours["upper"].caught == ()
    (caught,) = pours["lower"].caught
    assert caught.volume_mm3 == pytest.approx(shapes.bell_air_mm3(16, 24), rel=SAMPLING)
    assert caught.place_mm[2] == pytest.approx(-34)


def test_clay_in_the_mouth_leaves_no_room_for_air():
    # Split at the cup's mouth: its inside is a bowl of the lower half, which
    # is poured from above when the mould is turned over.
    body = shapes.bell()
    pours = pours_of(body, parting_mm=0.0)
    assert pours["upper"].caught == () and pours["lower"].caught == ()


def test_a_part_without_overhangs_keeps_nothing():
    for body in (shapes.box(40, 30, 20), shapes.frustum(20, 10, 30)):
        for pour in pours_of(body, parting_mm=float(body.vertices_mm[:, 2].min())).values():
            assert pour.caught_mm3 == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize("depth_mm", [2.0, 4.0])
def test_a_shallow_cup_is_freed_by_a_tilt(depth_mm):
    # A square recess 24 mm wide under a plate: level it keeps 24 x 24 x d;
    # tilted by t about a side the wedge along its high wall stays, d^2/(2 tan t) x 24.
    plate = bodies.cuboid((-20, 20), (-20, 20), (10, 18))
    plate -= bodies.cuboid((-12, 12), (-12, 12), (9, 10 + depth_mm))
    plate += bodies.cuboid((-20, -16), (-20, -16), (0, 11))
    pour = pours_of(bodies.arrays(plate), parting_mm=0.0)["upper"]
    assert pour.caught_mm3 == pytest.approx(24 * 24 * depth_mm, rel=SAMPLING)
    assert pour.tilt_deg in (15.0, 30.0)
    wedge_mm3 = 24 * depth_mm**2 / (2 * math.tan(math.radians(pour.tilt_deg)))
    # A tilt towards a corner leaves less still.
    assert 0 < pour.tilted_mm3 < 1.05 * wedge_mm3


def test_small_bubbles_are_counted_not_listed():
    plate = bodies.cuboid((-20, 20), (-20, 20), (10, 18))
    plate -= bodies.cuboid((-1, 1), (-1, 1), (9, 13))  # 12 mm3
    plate += bodies.cuboid((-20, -16), (-20, -16), (0, 11))
    pour = pours_of(bodies.arrays(plate), parting_mm=0.0)["upper"]
    assert pour.caught == () and pour.n_small == 1
    assert pour.small_mm3 == pytest.approx(12, rel=0.15)  # 2 mm are 13 columns
    listed = pours_of(bodies.arrays(plate), parting_mm=0.0, vent_min_air_ml=0.005)["upper"]
    assert len(listed.caught) == 1
