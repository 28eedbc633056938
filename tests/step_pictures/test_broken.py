"""Pictures with stretches left out: what runs along the long axis goes on in one line.

Checked against a line drawn by its equation, and lengths worked out by hand.
"""

import manifold3d
import numpy as np
import pytest

from castplan import step_pictures
from castplan.part.load import part_from_arrays
from castplan.planning import build_plan
from castplan.records import Job
from castplan.step_pictures import broken

WIDE, HIGH = 1200, 500


def striped(slope):
    """A bar three pixels high that rises by a slope, rows from the top."""
    pixels = np.full((HIGH, WIDE, 3), 255, np.uint8)
    for x in range(20, WIDE - 20):
        y = round(HIGH / 2 - slope * (x - WIDE / 2))
        pixels[y - 1 : y + 2, x] = 0
    return pixels


@pytest.mark.parametrize("slope", [0.0, -0.3, 0.25])
def test_what_is_straight_stays_straight(slope):
    stretches = [(300, 500), (700, 900)]
    short = broken.shorten(striped(slope), stretches, slope=slope)
    # Each stretch goes but for a gap of its own, by hand.
    assert short.shape[1] == WIDE - 2 * 200 + 2 * 16
    dark = (short < 100).all(axis=2)
    columns = [x for x in range(40, short.shape[1] - 40) if dark[:, x].any()]
    # Away from the wavy lines of the two breaks, which are 200 + 16 after each other.
    columns = [x for x in columns if min(abs(x - 308), abs(x - 524)) > 40]
    middles = np.array([dark[:, x].nonzero()[0].mean() for x in columns])
    line = np.polyfit(columns, -middles, 1)
    assert line[0] == pytest.approx(slope, abs=0.005)
    # A pixel for rounding each piece, and one of the bar.
    assert np.abs(np.polyval(line, columns) + middles).max() < 2.0


def test_nothing_goes_where_marks_are():
    stretches = broken.list_stretches([(600.0, 640.0)], wide_px=1200.0, spare_px=5000.0)
    assert len(stretches) == 2
    for low, high in stretches:
        assert low >= 190 and high <= 1200 - 190  # the ends
        assert high <= 600 - 80 or low >= 640 + 80  # and beside the mark
    assert broken.list_stretches([(0.0, 1200.0)], wide_px=1200.0, spare_px=500.0) == []
    some = broken.list_stretches([], wide_px=1200.0, spare_px=300.0)
    assert sum(high - low for low, high in some) == pytest.approx(300.0, abs=2.0)


@pytest.mark.long
def test_a_long_strip_is_drawn_larger():
    mesh = manifold3d.Manifold.cube([600, 25, 2]).to_mesh64()
    vertices = np.asarray(mesh.vert_properties)[:, :3]
    faces = np.asarray(mesh.tri_verts).astype(np.int64)
    part = part_from_arrays(vertices, faces, name="strip")
    plan = build_plan(part, Job(mould="two-part", n_directions=40, n_attitudes=40))
    for name in step_pictures.list_names(plan):
        picture = step_pictures.draw_picture(plan, name)
        if name.startswith("weigh") or name in ("mix", "turn"):  # the last holds two of them
            continue
        # Whole it would not fit: it runs 600 mm at 30 degrees to the paper.
        assert picture.px_per_mm * 600 * np.cos(np.pi / 6) > picture.pixels.shape[1], name
