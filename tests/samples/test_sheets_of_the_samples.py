"""Sheets of every sample part on both papers, read back from the PDF.

Lengths are measured in the file, in points of 1/72 inch (ISO 32000-1, 8.3.2.3).
"""

import io
from dataclasses import replace
from pathlib import Path

import numpy as np
import pdfplumber
import pypdfium2 as pdfium
import pytest
from output.page_check import page_faults

from castplan.paper.booklet import build_booklet
from castplan.paper.pdf import pdf_bytes
from castplan.paper.sheet_template import true_drawings
from castplan.paper.sheet_true import true_sheets
from castplan.paper.sheets import build_sheets
from castplan.part.load import load_part
from castplan.planning import build_plan
from castplan.records import Job
from castplan.words import build as build_view

PARTS = sorted((Path(__file__).parents[2] / "sample_parts").glob("*.stl"))
MM_PER_PT = 25.4 / 72
# The file writes six decimals of a point; what is measured lies millimetres apart.
TOLERANCE_MM = 0.05
AIR = (0.0, 0x72 / 255, 0xB2 / 255)


# A hook with many pages and a flat grille; the others are long.
SOON = ("coat_hook", "louvre_grille")


@pytest.fixture(
    scope="module",
    params=[
        pytest.param(path, id=path.stem, marks=() if path.stem in SOON else pytest.mark.long)
        for path in PARTS
    ],
)
def plan(request):
    # Coarse: the paper is tested, not the search.
    return build_plan(load_part(request.param, unit="mm"), Job(pitch_mm=1.0, mould="two-part"))


@pytest.fixture(scope="module", params=["A4", pytest.param("Letter", marks=pytest.mark.long)])
def printed(request, plan):
    plan = replace(plan, job=replace(plan.job, paper=request.param))
    # Each look on a sheet of its own, then as the booklet and the details have them.
    looks = [sheet for each in true_drawings(plan) for sheet in true_sheets(plan, each)[0]]
    pages = [*looks, *build_booklet(plan), *build_sheets(plan)]
    return plan, pages, pdf_bytes(pages, title="", version="")


def pages_titled(printed, title):
    """pdfplumber's pages of the sheets with this title."""
    _, pages, data = printed
    numbers = [number for number, sheet in enumerate(pages, start=1) if sheet.title == title]
    return pdfplumber.open(io.BytesIO(data), pages=numbers).pages


def rectangles(page):
    """(low, high) corner in mm of every rectangle drawn in a wide line, largest first."""
    wide = [r for r in page.rects if abs(r["linewidth"] * MM_PER_PT - 0.5) < 0.01]
    wide.sort(key=lambda r: -r["width"] * r["height"])
    return [
        (np.array([r["x0"], r["y0"]]) * MM_PER_PT, np.array([r["x1"], r["y1"]]) * MM_PER_PT)
        for r in wide
    ]


def centres(page, *, diameter_mm):
    """Middles in mm of all circles this wide."""
    return np.array(
        [
            ((c["x0"] + c["x1"]) / 2 * MM_PER_PT, (c["y0"] + c["y1"]) / 2 * MM_PER_PT)
            for c in page.curves
            if abs(c["width"] * MM_PER_PT - diameter_mm) < TOLERANCE_MM
            and abs(c["height"] * MM_PER_PT - diameter_mm) < TOLERANCE_MM
        ]
    )


def joints(page):
    """Joining marks: circles of 2 mm radius."""
    return centres(page, diameter_mm=4.0)


def test_no_text_overlaps_or_leaves_the_page(printed):
    _, _, data = printed
    assert [fault for page in pdfium.PdfDocument(data) for fault in page_faults(page)] == []


def level_lengths(page):
    return {round((line["x1"] - line["x0"]) * MM_PER_PT, 2) for line in page.lines}


def test_every_page_has_a_ruler_of_100_mm_and_4_in(printed):
    _, pages, data = printed
    # A ruler is drawn from its left end: 100 mm, and on to 4 in = 101.6 mm or whole again.
    picked = [1, len(pages) // 2, len(pages)]
    for page in pdfplumber.open(io.BytesIO(data), pages=picked).pages:
        lengths = level_lengths(page)
        assert 100.0 in lengths
        assert 101.6 in lengths or 1.6 in lengths
    for sheet in pages:
        told = " ".join(text.text for text in sheet.texts)
        assert "100 mm" in told and "4 in" in told


SIDES = ("First silicone pour", "Second silicone pour, mirrored")


@pytest.mark.parametrize("title", SIDES)
def test_openings_and_keys_stand_where_the_plan_has_them(printed, title):
    plan, *_ = printed
    sheets = pages_titled(printed, title)
    assert sheets
    low, high = rectangles(sheets[0])[0]
    size = np.subtract(plan.mould.block.high_mm, plan.mould.block.low_mm)[:2]
    assert high - low == pytest.approx(size, abs=TOLERANCE_MM)
    is_mirrored = title == SIDES[1]
    datum = np.array([high[0], low[1]]) if is_mirrored else low
    way = np.array([-1.0, 1.0]) if is_mirrored else np.ones(2)
    keys = plan.mould.keys
    found = (centres(sheets[0], diameter_mm=keys.diameter_mm) - datum) * way
    corner = np.array(plan.mould.block.low_mm[:2])
    for place in keys.places_mm:
        away = np.abs(found - (place[:2] - corner)).max(axis=1)
        assert away.min() < TOLERANCE_MM
    for _, what, x, y, _ in build_view.bed_rows(plan):
        assert what and " mm (" in x and " mm (" in y
    mouths = {route.label: route.path_mm[0][:2] for route in plan.mould.vents.routes}
    for port in plan.mould.block.ports:
        wanted = mouths[port.label] - corner
        found = (centres(sheets[0], diameter_mm=port.diameter_mm) - datum) * way
        assert np.abs(found - wanted).max(axis=1).min() < TOLERANCE_MM, port.label


def test_sections_and_boards_have_their_size(printed):
    plan, *_ = printed
    found = [
        tuple(high - low)
        for title in ("Sections", "Boards")
        for page in pages_titled(printed, title)
        for low, high in rectangles(page)
    ]
    wanted = [
        np.subtract(section.high_corner_mm, section.low_corner_mm)
        for section in plan.mould.sections
    ]
    # Only the one that carries marks is drawn: the others are cut by the list.
    drawn = [board for board in plan.mould.boards.boards if board.name == "base board"]
    assert drawn
    wanted += [np.array(board.size_mm) for board in drawn]
    for size in wanted:
        away = np.abs(np.array(found) - size).max(axis=1)
        assert away.min() < TOLERANCE_MM, size


def test_tiles_of_a_board_lie_over_each_other(printed):
    tiled = [page for page in pages_titled(printed, "Boards") if len(joints(page))]
    for left, right in zip(tiled[::2], tiled[1::2], strict=True):
        shift = joints(left) - joints(right)
        assert len(shift) == 2
        assert shift[0] == pytest.approx(shift[1], abs=TOLERANCE_MM)
        # The board's outline, whole on either tile, moves by the same way.
        one, two = (np.array(rectangles(page)[0]) for page in (left, right))
        assert one - two == pytest.approx(np.array([shift[0], shift[0]]), abs=TOLERANCE_MM)
