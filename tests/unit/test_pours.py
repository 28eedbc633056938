"""Air in the silicone: closed forms for cups over the clay, and tilts that free them."""

import math
from dataclasses import replace

import bodies
import numpy as np
import pytest
import shapes
from pouring import Setup

from castplan.mesh.stands import Stand, box_rests
from castplan.model import Frame, Job, PartingSurface
from castplan.stages.pours import clay_at_tilt, find_pours

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


def sheet_of(height, *, n=41):
    """A parting surface 80 x 80 mm from ``height(x, y)``."""
    x = np.linspace(-40, 40, n)
    gx, gy = np.meshgrid(x, x)
    step_mm = float(x[1] - x[0])
    return PartingSurface(
        x0_mm=-40.0, y0_mm=-40.0, step_x_mm=step_mm, step_y_mm=step_mm, heights_mm=height(gx, gy)
    )


def lean_of(tilt_deg, toward_deg):
    level = Frame(rotation=np.eye(3))
    return Stand("", box_rests(level)["+z"], tilt_deg, toward_deg).frame.rotation


COLUMNS = np.array([[x, y] for x in (-15.0, 0.0, 12.0) for y in (-14.0, 3.0, 16.0)])


@pytest.mark.parametrize("sense", [1.0, -1.0])
@pytest.mark.parametrize("toward_deg", [0.0, 45.0, 180.0])
def test_a_tilted_clay_bed_is_a_plane_at_any_tilt(sense, toward_deg):
    sheet = sheet_of(lambda x, y: 3 + 0.4 * x - 0.2 * y)
    lean = lean_of(30.0, toward_deg)
    z = clay_at_tilt(sheet, COLUMNS, lean, sense=sense)
    level = np.column_stack([COLUMNS, z]) @ lean
    # Turned over: y and z change their signs.
    draw = level * (1.0, sense, sense)
    expected = 3 + 0.4 * draw[:, 0] - 0.2 * draw[:, 1]
    # Closed form: on the plane; the walk stops within 0.05 mm of it.
    assert draw[:, 2] == pytest.approx(expected, abs=0.06)


def test_of_clay_that_overhangs_at_a_tilt_the_upper_side_counts():
    # A ramp of 45 degrees leans over at a tilt of 30 towards its foot's side.
    sheet = sheet_of(lambda x, y: np.clip(2 * x, 0.0, 20.0), n=161)
    for toward_deg in (0.0, 180.0):
        lean = lean_of(30.0, toward_deg)
        z = clay_at_tilt(sheet, COLUMNS, lean, sense=1.0)
        # No clay anywhere over what was found, straight up the column.
        for up_mm in (0.2, 1.0, 3.0, 10.0):
            x, _, height = (np.column_stack([COLUMNS, z + up_mm]) @ lean).T
            assert (height > np.clip(2 * x, 0.0, 20.0) - 0.06).all()
        x, _, height = (np.column_stack([COLUMNS, z]) @ lean).T
        assert height == pytest.approx(np.clip(2 * x, 0.0, 20.0), abs=0.3)


def test_a_tilt_is_judged_over_the_clay_as_it_lies():
    # The shallow cup again, 2 mm deep: a level bed and one that falls away
    # beside it leave the same wedge, as neither reaches the cup's rim.
    plate = bodies.cuboid((-20, 20), (-20, 20), (10, 18))
    plate -= bodies.cuboid((-12, 12), (-12, 12), (9, 12))
    plate += bodies.cuboid((-20, -16), (-20, -16), (0, 11))
    setup = Setup(bodies.arrays(plate), parting_mm=0.0)
    level = find_pours(setup.part, setup.draw, setup.line, setup.mould, setup.job).pours[0]
    following = replace(
        setup.line, surface=sheet_of(lambda x, y: np.where(np.abs(x) > 30, -0.05 * np.abs(x), 0.0))
    )
    found = find_pours(setup.part, setup.draw, following, setup.mould, setup.job).pours[0]
    assert (found.tilt_deg, found.toward_deg) == (level.tilt_deg, level.toward_deg)
    assert found.tilted_mm3 == pytest.approx(level.tilted_mm3, rel=0.01)
    # A ramp that stays under the rim leaves what is caught level as it was.
    high = replace(setup.line, surface=sheet_of(lambda x, y: np.clip(0.2 * x, 0.0, 4.0)))
    found = find_pours(setup.part, setup.draw, high, setup.mould, setup.job).pours[0]
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
