"""Drawings over many sheets: tiled up to a bound, told in a line beyond it."""

import numpy as np
import pytest
from output.neutral import filled

from castplan.paper.sheet_tiles import OVERLAP_MM, fit_tiles
from castplan.paper.sheet_true import Drawing, tiles_of, true_sheets
from castplan.part.size import MOST_TILES
from castplan.records import Job, Part, Plan

PLAN = filled(Plan, part=filled(Part, name="bench end"), job=Job())


def drawing(width_mm, height_mm, drawn):
    return Drawing(
        title="template",
        note="",
        low_mm=np.zeros(2),
        high_mm=np.array([width_mm, height_mm]),
        draw=drawn.append,
    )


@pytest.mark.parametrize(("width_mm", "height_mm"), [(100.0, 100.0), (900.0, 700.0)])
def test_a_drawing_of_few_sheets_is_drawn_on_each(width_mm, height_mm):
    drawn = []
    sheets, _ = true_sheets(PLAN, drawing(width_mm, height_mm, drawn))
    tiling, _ = tiles_of(drawing(width_mm, height_mm, drawn), paper_name="A4")
    # By hand: as few windows as cover the drawing where neighbours share the overlap.
    counts = [
        max(1, int(np.ceil((size - OVERLAP_MM) / (room - OVERLAP_MM))))
        for size, room in zip((width_mm, height_mm), tiling.window_mm, strict=True)
    ]
    assert len(sheets) == len(drawn) == tiling.n_tiles == np.prod(counts) <= MOST_TILES


@pytest.mark.parametrize("size_mm", [3_000.0, 72_000.0])
def test_a_drawing_of_too_many_sheets_is_one_line(size_mm):
    drawn = []
    sheets, room = true_sheets(PLAN, drawing(size_mm, size_mm, drawn))
    assert len(sheets) == 1 and drawn == [] and room is None
    tiling = fit_tiles((0, 0), (size_mm, size_mm), window_mm=(186.0, 194.0))
    assert tiling.is_too_large and tiling.n_tiles > MOST_TILES


@pytest.mark.parametrize("size_mm", [0.5 * OVERLAP_MM, OVERLAP_MM, 1.5 * OVERLAP_MM])
def test_what_fits_one_window_takes_one_however_low_it_is(size_mm):
    tiling = fit_tiles((0, 0), (100, size_mm), window_mm=(186.0, size_mm))
    assert (tiling.n_columns, tiling.n_rows) == (1, 1)
    assert tiling.low_mm[1] == pytest.approx(0.0)
