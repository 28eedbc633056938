"""Air in the silicone: closed forms for cups over the clay, and tilts that free them."""

import math
from dataclasses import replace

import bodies
import numpy as np
import pytest
import shapes
from pouring import Setup

from castplan.mould.pours import find_pours
from castplan.records import Job, PartingSurface

# 256 columns across: a disc's volume to about half a per cent.
SAMPLING = 0.01


def pours_of(body, *, parting_mm, **choices):
    setup = Setup(body, parting_mm=parting_mm, job=Job(**choices))
    result = find_pours(setup.part, setup.split, setup.mould, setup.job)
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


def sheet_of(height, *, n=41):
    """A parting surface 80 x 80 mm from ``height(x, y)``."""
    x = np.linspace(-40, 40, n)
    gx, gy = np.meshgrid(x, x)
    step_mm = float(x[1] - x[0])
    return PartingSurface(
        x0_mm=-40.0, y0_mm=-40.0, step_x_mm=step_mm, step_y_mm=step_mm, heights_mm=height(gx, gy)
    )


def recess_over(clay_mm):
    """A square recess 24 mm wide and 2 mm deep under a plate on a leg, 8 mm over some clay."""
    plate = bodies.cuboid((-20, 20), (-20, 20), (clay_mm + 8, clay_mm + 16))
    plate -= bodies.cuboid((-12, 12), (-12, 12), (clay_mm + 7, clay_mm + 10))
    return plate + bodies.cuboid((-20, -16), (-20, -16), (clay_mm - 2, clay_mm + 9))


@pytest.mark.parametrize("sense", [1.0, -1.0])
def test_a_tilt_is_judged_in_the_bowls_of_the_half_that_is_poured(sense):
    """The recess hangs in a tray that is parted at its rim: no clay lies in the tray.

    24 x 24 x 2 mm3 are caught level. Tilted by t towards a corner the recess keeps a
    tetrahedron, as over the clay of a board: d^3 / (6 s^2), with s = tan t / sqrt 2 the
    slope along either wall.
    """
    tray = bodies.cuboid((-40, 40), (-40, 40), (-4, 40))
    tray -= bodies.cuboid((-36, 36), (-36, 36), (0, 41))
    vertices, faces = bodies.arrays(tray + recess_over(0.0))
    setup = Setup((vertices * (1.0, sense, sense), faces), parting_mm=sense * 36.0)
    bowl = "filled_above_mm3" if sense > 0 else "filled_below_mm3"
    line = replace(setup.line, **{bowl: 72.0 * 72.0 * 36.0})
    split = replace(setup.split, line=line)
    found = find_pours(setup.part, split, setup.mould, setup.job)
    (pour,) = [pour for pour in found.pours if pour.half == ("upper" if sense > 0 else "lower")]
    assert pour.caught_mm3 == pytest.approx(24 * 24 * 2, rel=SAMPLING)
    assert pour.tilt_deg == 30.0 and pour.toward_deg % 90 == 45.0
    kept_mm3 = 2**3 / (3 * math.tan(math.radians(30.0)) ** 2)
    # The tetrahedron is 8 columns of 0.6 mm long: half a column either way at its foot.
    assert pour.tilted_mm3 == pytest.approx(kept_mm3, rel=0.15)


def test_a_tilt_is_judged_over_the_clay_as_it_lies():
    # The shallow cup again, 2 mm deep: a level bed and one that falls away
    # beside it leave the same wedge, as neither reaches the cup's rim.
    plate = bodies.cuboid((-20, 20), (-20, 20), (10, 18))
    plate -= bodies.cuboid((-12, 12), (-12, 12), (9, 12))
    plate += bodies.cuboid((-20, -16), (-20, -16), (0, 11))
    setup = Setup(bodies.arrays(plate), parting_mm=0.0)
    level = find_pours(setup.part, setup.split, setup.mould, setup.job).pours[0]
    following = replace(
        setup.line, surface=sheet_of(lambda x, y: np.where(np.abs(x) > 30, -0.05 * np.abs(x), 0.0))
    )
    found = find_pours(
        setup.part, replace(setup.split, line=following), setup.mould, setup.job
    ).pours[0]
    assert (found.tilt_deg, found.toward_deg) == (level.tilt_deg, level.toward_deg)
    # Sampled together with the clay, whose extent sets the lattice: half a cubic millimetre.
    assert found.tilted_mm3 == pytest.approx(level.tilted_mm3, abs=0.6)
    # A ramp that stays under the rim leaves what is caught level as it was.
    high = replace(setup.line, surface=sheet_of(lambda x, y: np.clip(0.2 * x, 0.0, 4.0)))
    split = replace(setup.split, line=high)
    found = find_pours(setup.part, split, setup.mould, setup.job).pours[0]
    assert found.caught_mm3 == pytest.approx(level.caught_mm3, rel=0.01)


def test_small_bubbles_are_counted_not_listed():
    plate = bodies.cuboid((-20, 20), (-20, 20), (10, 18))
    plate -= bodies.cuboid((-1, 1), (-1, 1), (9, 13))  # 12 mm3
    plate += bodies.cuboid((-20, -16), (-20, -16), (0, 11))
    pour = pours_of(bodies.arrays(plate), parting_mm=0.0)["upper"]
    assert pour.caught == () and pour.n_small == 1
    assert pour.small_mm3 == pytest.approx(12, rel=0.15)  # 2 mm are 13 columns
    listed = pours_of(bodies.arrays(plate), parting_mm=0.0, vent_min_air_ml=0.005)["upper"]
    assert len(listed.caught) == 1
