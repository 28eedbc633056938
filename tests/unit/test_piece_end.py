"""Where a loose piece leaves its box: lengths of a box of right angles, by hand."""

from types import SimpleNamespace

import numpy as np
import pytest
import shapely
import shapes

from castplan.columns.field import sample
from castplan.record import Frame
from castplan.split.piece import Freed, Site, make_piece


def test_a_piece_whose_end_would_miss_the_box_is_none():
    # Its section stands 5 mm past the wall at y = 100, its way rises by 1 in 1000: from there
    # it meets the lid only after 30 m, while nothing in the box is farther than its diagonal.
    slope = 1e-3
    rotation = np.array([[0.0, 1.0, 0.0], [-slope, 0.0, 1.0], [1.0, 0.0, slope]])
    frame = Frame(rotation=rotation / np.linalg.norm(rotation, axis=1)[:, None])
    outline = np.array([(0, 0), (100, 0), (100, 100), (0, 100)], dtype=float)
    box = SimpleNamespace(
        low_mm=(0.0, 0.0, 0.0), high_mm=(100.0, 100.0, 60.0), wall_mm=12.0, outline_mm=outline
    )
    body = shapes.box(20, 20, 20)
    field = sample(
        body.vertices_mm, body.faces, np.zeros((0, 3), int), frame.rotation, pitch_mm=1.0
    )
    site = Site(study=None, draw=Frame(rotation=np.eye(3)), box=box, frame=frame, field=field)

    def freed_at(y_mm):
        points = frame.to_frame(np.array([(50.0, y, 30.0) for y in (y_mm - 5, y_mm + 5)]))
        section = shapely.box(y_mm - 5, points[0, 1] - 4, y_mm + 5, points[0, 1] + 4)
        none = shapely.Polygon()
        return Freed(points_mm=points, section=section, through=none, volume_mm3=400.0, n_pockets=1)

    assert make_piece(site, freed_at(100.0), label="L1") is None
    inside = make_piece(site, freed_at(50.0), label="L1")
    assert inside.end_mm == pytest.approx(100.0, abs=1.0)  # the wall at x = 100, within a column
