"""Defects of a mould with loose pieces: the piece is named where the flash is its own.

The place of the hole is the body's own; which cause belongs to which place is common
practice, no source.
"""

import numpy as np
import pytest

from castplan.after.diagnose import diagnose
from castplan.after.loose_causes import wall_distance_mm
from castplan.records import CastLog, Defect, LoggedPour
from tests import loose_bodies as bodies

# Of the hole of `plate_with_cross_hole`: along y through x = 20, z = 8, in y from 0 to 40.
HOLE_XZ_MM, DEEP_MM = (20.0, 8.0), 40.0


@pytest.fixture(scope="module")
def plate():
    return bodies.planned(bodies.plate_with_cross_hole()).record


def causes(plan, kind, where_mm=None):
    """The causes of one defect by their codes, the likeliest first."""
    defect = Defect(kind=kind, where_mm=where_mm, size_mm=None)
    log = CastLog(lines=(LoggedPour(number=1, date="2026-12-01", defects=(defect,)),))
    return {cause.code: cause for cause in diagnose(plan, log).defects[0].causes}


@pytest.mark.parametrize("y_mm", [0.0, DEEP_MM / 2, DEEP_MM])
def test_flash_at_the_hole_is_the_rods(plate, y_mm):
    at_mm = (HOLE_XZ_MM[0], y_mm, HOLE_XZ_MM[1] + bodies.HOLE_MM / 2)
    told = causes(plate, "flash", at_mm)
    assert next(iter(told)) == "piece-loose"
    assert "rod L1" in str(told["piece-loose"].text)


def test_flash_far_from_the_hole_is_not(plate):
    line = plate.split.line.outlines[0]
    around = np.column_stack([line.points_mm, line.line_mm])
    in_part = plate.split.draw.frame.to_part(around)
    away = np.hypot(in_part[:, 0] - HOLE_XZ_MM[0], in_part[:, 2] - HOLE_XZ_MM[1])
    told = causes(plate, "flash", tuple(in_part[int(away.argmax())]))
    assert next(iter(told)) in ("pushed-apart", "round-edge")
    assert "piece-loose" not in told


def test_a_step_may_be_a_piece_that_is_not_home(plate):
    at_mm = (HOLE_XZ_MM[0], 1.0, HOLE_XZ_MM[1] + bodies.HOLE_MM / 2)
    assert next(iter(causes(plate, "step", at_mm))) == "piece-not-home"


def test_a_mould_without_pieces_has_no_such_cause():
    plan = bodies.planned(bodies.plain_plate(), mould="two-part").record
    for kind in ("flash", "step"):
        assert not {"piece-loose", "piece-not-home"} & set(causes(plan, kind))


@pytest.mark.parametrize(
    ("x_mm", "z_mm", "away_mm"),
    # By hand: 3 mm is the radius; beside the wall, in the middle of the rod, and 4 above.
    [(23.0, 8.0, 0.0), (20.0, 8.0, 3.0), (20.0, 15.0, 4.0)],
)
def test_the_distance_is_that_to_the_wall(plate, x_mm, z_mm, away_mm):
    (piece,) = plate.split.pieces
    # The section is a polygon of 48 sides: 0.2 % within its circle.
    found = wall_distance_mm(piece, (x_mm, 20.0, z_mm))
    assert found == pytest.approx(away_mm, abs=0.02)
