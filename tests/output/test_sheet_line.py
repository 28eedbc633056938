"""The clay strip at 1:1, measured from the PDF.

Lengths and heights are closed forms of the bodies made here.
"""

from dataclasses import replace
from itertools import pairwise

import bodies
import manifold3d
import numpy as np
import pdfplumber
import pytest
from output.page_check import faults
from output.plan_fixture import make_plan
from output.plan_split import line_height_mm

from castplan.columns.rim import find_rims
from castplan.paper.pdf import save_pdf
from castplan.paper.sheet_line import strip_pages

MM_PER_PT = 25.4 / 72  # ISO 32000-1, 8.3.2.3
# As on the pour sketch: a tenth of a line's width.
TOLERANCE_MM = 0.05
FLOOR_MM = -12.0  # of the invented box


def text_of(sheets):
    return " ".join(text.text for sheet in sheets for text in sheet.texts)


class Piece:
    """One framed piece of a strip, as measured on a page, in mm."""

    def __init__(self, page, frame):
        self.low = np.array([frame["x0"], frame["y0"]]) * MM_PER_PT
        self.high = np.array([frame["x1"], frame["y1"]]) * MM_PER_PT
        lines = [
            (
                np.array([line["x0"], line["y0"]]) * MM_PER_PT,
                np.array([line["x1"], line["y1"]]) * MM_PER_PT,
                line["linewidth"] * MM_PER_PT,
            )
            for line in page.lines
        ]
        on_foot = [each for each in lines if self.is_on_foot(each[0])]
        self.board = [
            (start[0], end[0])
            for start, end, width in on_foot
            if abs(start[1] - end[1]) < 0.001 and width == pytest.approx(0.5, abs=0.01)
        ]
        self.uprights = [
            (start[0], end[1] - start[1])
            for start, end, _ in on_foot
            if abs(start[0] - end[0]) < 0.001 and end[1] < self.high[1] - 0.5
        ]
        self.joints = sorted(
            round((curve["x0"] + curve["x1"]) / 2 * MM_PER_PT, 3)
            for curve in page.curves
            if abs(curve["width"] * MM_PER_PT - 4.0) < 0.01
            and abs(curve["height"] * MM_PER_PT - 4.0) < 0.01
            and self.low[1] < curve["y0"] * MM_PER_PT < self.high[1]
        )

    def is_on_foot(self, point):
        is_low = abs(point[1] - self.low[1]) < 0.01
        return is_low and self.low[0] - 0.01 < point[0] < self.high[0] + 0.01


def pieces_of(plan, path):
    """All pieces in the order of the pages, from top to bottom."""
    save_pdf(strip_pages(plan), path, title="strip", version="0")
    found = []
    with pdfplumber.open(path) as document:
        for page in document.pages:
            if not page.extract_text().startswith("Clay strip"):
                continue
            assert "SCALE 1:1" in page.extract_text()  # the designation of ISO 5455
            grey = [
                rect
                for rect in page.rects
                if rect["linewidth"] * MM_PER_PT < 0.3 and rect["height"] * MM_PER_PT > 15
            ]
            found += [Piece(page, r) for r in sorted(grey, key=lambda r: -r["y1"])]
    return found


def laid_out(pieces):
    """(pieces, their shifts): each laid over the one before it at its round marks."""
    shifts = [0.0]
    for one, other in pairwise(pieces):
        shifts.append(shifts[-1] + max(one.joints) - min(other.joints))
    return list(zip(pieces, shifts, strict=True))


KINDS = {
    "tilted": make_plan(line_kind="tilted"),
    "stepped": make_plan(line_kind="stepped", paper="Letter"),
    "following": make_plan(line_kind="following"),
}


@pytest.fixture(scope="module", params=KINDS)
def strip(request, tmp_path_factory):
    path = tmp_path_factory.mktemp("strip") / "sheets.pdf"
    pieces = pieces_of(KINDS[request.param], path)
    return request.param, [p for p in pieces if p.joints], [p for p in pieces if not p.joints]


def test_the_strip_is_as_long_as_the_outline(strip):
    _, pieces, _ = strip
    assert len(pieces) == 3
    laid = laid_out(pieces)
    starts = [shift + piece.board[0][0] for piece, shift in laid]
    ends = [shift + piece.board[0][1] for piece, shift in laid]
    # Round a plate of 120 x 70 mm.
    assert ends[-1] - starts[0] == pytest.approx(2 * (120 + 70), abs=TOLERANCE_MM)
    # Neighbours overlap by 10 mm, so that they can be glued.
    for end, start in zip(ends[:-1], starts[1:], strict=True):
        assert end - start == pytest.approx(10.0, abs=TOLERANCE_MM)


def test_the_strip_is_as_high_as_the_clay(strip):
    kind, pieces, _ = strip
    laid = laid_out(pieces)
    origin = laid[0][0].board[0][0]
    found = {}
    for piece, shift in laid:
        for x, height in piece.uprights:
            found[round(x + shift - origin, 2)] = height
    wanted = {s.along_mm: s.height_mm for s in KINDS[kind].split.line.strips[0].stations}
    assert sorted(found) == pytest.approx(sorted(wanted), abs=TOLERANCE_MM)
    # The first 120 mm run along x: the invented split in closed form, from the box's floor.
    for along, height in found.items():
        assert height == pytest.approx(wanted[round(along)], abs=TOLERANCE_MM)
        if along < 119:
            closed_form = float(line_height_mm(kind, np.array(along))) - FLOOR_MM
            # The slope is below 0.27 or a step: 0.01 mm of rounding along adds 0.003 mm.
            assert height == pytest.approx(closed_form, abs=TOLERANCE_MM)


def test_a_hole_whose_rim_climbs_has_its_own_strip(strip):
    _, _, (hole,) = strip
    (board,) = hole.board
    assert board[1] - board[0] == pytest.approx(np.pi * 8.0, abs=TOLERANCE_MM)
    # 6 mm in the draw frame, half a period of the rim's 2 mm further on 6 mm again.
    heights = dict((round(x - board[0]), height) for x, height in hole.uprights)
    for along in (0, 10, 20):
        angle = 2 * np.pi * along / (np.pi * 8.0)
        # The rim is given at 60 points: a chord lies 2 mm x (1 - cos 3 degrees) = 0.003 mm off.
        assert heights[along] == pytest.approx(18.0 - 2 * np.sin(angle), abs=TOLERANCE_MM)


def test_the_check_ruler_stands_under_every_strip(tmp_path):
    pages = strip_pages(KINDS["following"])
    save_pdf(pages, tmp_path / "sheets.pdf", title="strip", version="0")
    with pdfplumber.open(tmp_path / "sheets.pdf") as document:
        pages = [p for p in document.pages if p.extract_text().startswith("Clay strip")]
        for page in pages:
            lengths = [line["width"] * MM_PER_PT for line in page.lines]
            assert any(length == pytest.approx(100.0, abs=TOLERANCE_MM) for length in lengths)
            assert "100 mm" in page.extract_text() and "4 in" in page.extract_text()


def test_a_level_split_needs_no_strip():
    plan = make_plan()
    level_plug = replace(plan.split.line, plugs=plan.split.line.plugs[:1])
    assert strip_pages(replace(plan, split=replace(plan.split, line=level_plug))) == []
    # Its second hole has a rim that climbs.
    assert len(strip_pages(plan)) == 1


def high_plan(factor):
    """A following split over a part `factor` times as high."""
    plan = KINDS["following"]
    (loop,), (strip,) = plan.split.line.outlines, plan.split.line.strips

    def grown(z_mm):
        return FLOOR_MM + factor * (z_mm - FLOOR_MM)

    stations = tuple(replace(s, height_mm=s.height_mm * factor) for s in strip.stations)
    heights = {name: grown(getattr(loop, name)) for name in ("low_mm", "high_mm", "line_mm")}
    line = replace(
        plan.split.line,
        outlines=(replace(loop, **heights),),
        strips=(replace(strip, stations=stations),),
        plugs=(),
    )
    return replace(plan, split=replace(plan.split, line=line))


@pytest.mark.parametrize(("factor", "starts_at"), [(4.0, 0.0), (8.0, 190.0), (20.0, 510.0)])
def test_a_high_strip_starts_over_the_board_or_goes_over_several_rows(factor, starts_at):
    plan = high_plan(factor)
    sheets = strip_pages(plan)
    assert faults(sheets) == []
    text = text_of(sheets)
    # The lowest point is factor x 26.2 mm; 10 mm of margin, down to a whole 10 mm.
    assert f" {starts_at:.0f} " in text
    lowest = max(0.0, np.floor((factor * 26.2 - 10) / 10) * 10)
    assert lowest == starts_at or starts_at == 0.0
    assert ("B1 of" in text) is (factor == 20.0)  # 0.08 m of climb do not fit on one row
    assert ("above the base board, not on it" in text) is (starts_at > 0)


def test_the_part_stays_at_the_left_of_the_walk():
    # The note on the strip says so: outlines run counter-clockwise, holes clockwise.
    solid = manifold3d.Manifold.cube((40.0, 30.0, 20.0)) - manifold3d.Manifold.cylinder(
        60.0, 6.0, 6.0, 64
    ).translate((18.0, 14.0, -10.0))
    field = bodies.look(*bodies.arrays(solid))
    for rim in find_rims(field):
        x, y = rim.points_mm.T
        area = 0.5 * float(x @ np.roll(y, -1) - y @ np.roll(x, -1))
        assert (area < 0) is rim.is_hole


def test_a_place_without_a_free_height_is_told():
    assert "Crossed: every height traps some silicone." in text_of(strip_pages(KINDS["following"]))
    plan = KINDS["following"]
    loop = plan.split.line.outlines[0]
    loop = replace(loop, low_mm=loop.line_mm - 1.0, high_mm=loop.line_mm + 1.0)
    plan = replace(
        plan, split=replace(plan.split, line=replace(plan.split.line, outlines=(loop,), plugs=()))
    )
    assert "Crossed" not in text_of(strip_pages(plan))


def test_every_station_is_in_the_table():
    plan = KINDS["stepped"]
    sheets = [sheet for sheet in strip_pages(plan) if sheet.title == "Clay heights"]
    text = text_of(sheets)
    for station in plan.split.line.strips[0].stations:
        assert f"{station.along_mm:.0f} mm" in text
    # 30.2 mm - 3 mm over the floor on the low stretch: 1 2/32 in.
    assert "27.2 mm" in text and "1 1/16″" in text
