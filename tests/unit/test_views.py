"""The pitch of a view: as usual on what is compact, finer on what is long and thin.

25 columns across a thin side are assumed, no source.
"""

import bodies
import numpy as np
import pytest
import shapes

from castplan.columns import rim
from castplan.columns.views import MOST_CELLS, THIN_COLUMNS, sample_view, view_pitch

# Lengths, and the thinnest of each.
THIN = {
    "strip": ((600.0, 25.0, 2.0), 2.0),
    "sheet": ((400.0, 300.0, 1.5), 1.5),
    "foil": ((120.0, 80.0, 0.45), 0.45),
    "rod": ((1000.0, 8.0, 8.0), 8.0),
    "trim": ((900.0, 6.0, 6.0), 6.0),
}


def box_of(name):
    size, thin_mm = THIN[name]
    return shapes.box(*size), thin_mm


@pytest.mark.parametrize("way", "xyz")
def test_a_compact_part_keeps_the_pitch(way):
    body = shapes.box(40, 30, 20)
    pitch_mm = view_pitch(body.vertices_mm, body.faces, bodies.ALONG[way], pitch_mm=0.5)
    assert pitch_mm == 0.5


@pytest.mark.parametrize("across", [64, 256])
@pytest.mark.parametrize("way", "xyz")
@pytest.mark.parametrize("name", THIN)
def test_a_thin_part_is_seen_along_each_of_its_axes(name, way, across):
    body, thin_mm = box_of(name)
    usual_mm = max(THIN[name][0]) / across
    field = sample_view(
        body.vertices_mm, body.faces, bodies.NO_FACES, bodies.ALONG[way], pitch_mm=usual_mm
    )
    assert field.pitch_mm <= usual_mm
    # No finer than its thickness asks for: a box's is twice its volume by its area or more.
    assert field.pitch_mm >= min(usual_mm, 0.3 * thin_mm / THIN_COLUMNS)
    n_columns = np.count_nonzero(np.diff(field.first))
    assert n_columns >= 25
    if across == 256:
        # What is measured shows its outline; the shadow's area is a side of the box.
        (outline,) = [r for r in rim.find_rims(field) if not r.is_hole]
        shadow_mm2 = body.volume_mm3 / THIN[name][0]["xyz".index(way)]
        # At three columns across the ring on their middles loses a part of each side.
        assert outline.area_mm2 == pytest.approx(shadow_mm2, rel=0.35)


@pytest.mark.parametrize("seed", range(4))
def test_a_rod_however_it_lies(seed):
    body = shapes.frustum(4, 4, 1000, 32)
    vertices = shapes.rotated(body.vertices_mm, seed)
    for rotation in bodies.ALONG.values():
        field = sample_view(vertices, body.faces, bodies.NO_FACES, rotation, pitch_mm=1000 / 256)
        # Columns are a sum over its shadow, some thousands of them.
        assert field.volume_mm3 == pytest.approx(body.volume_mm3, rel=0.03)


def test_a_grid_stays_within_bounds():
    # A ring of wire fills little of the square that it spans.
    body = shapes.torus(500.0, 0.5, 96, 8)
    field = sample_view(
        body.vertices_mm, body.faces, bodies.NO_FACES, np.eye(3), pitch_mm=1000 / 64
    )
    # Of the square that the lattice spans, no larger than the turned one of 1001 mm.
    assert field.n_x * field.n_y < 1.1 * MOST_CELLS * 64**2
