"""The split sheet and the clay strip: measured from the PDF, read off the figures."""

from dataclasses import replace

import bodies
import manifold3d
import numpy as np
import pdfplumber
import pytest
from matplotlib.patches import Circle
from output.page_check import faults
from output.plan_fixture import make_plan
from output.plan_split import line_height_mm

from castplan import model
from castplan.columns.rim import find_rims
from castplan.output import formats, paper, view, view_split
from castplan.output.sheet_line import strip_pages
from castplan.output.sheet_split import split_pages
from castplan.output.sheets import build_sheets, write_sheets

MM_PER_PT = 25.4 / 72  # ISO 32000-1, 8.3.2.3
# As on the pour sketch: a tenth of a line's width.
TOLERANCE_MM = 0.05
FLOOR_MM = -12.0  # of the invented box


def text_of(sheets):
    return " ".join(text.get_text() for sheet in sheets for text in sheet.axes.texts)


# -- the strip, measured ------------------------------------------------------


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
    write_sheets(plan, path)
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
    for one, other in zip(pieces, pieces[1:], strict=False):
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
    for end, start in zip(ends, starts[1:], strict=False):
        assert end - start == pytest.approx(10.0, abs=TOLERANCE_MM)


def test_the_strip_is_as_high_as_the_clay(strip):
    kind, pieces, _ = strip
    laid = laid_out(pieces)
    origin = laid[0][0].board[0][0]
    found = {}
    for piece, shift in laid:
        for x, height in piece.uprights:
            found[round(x + shift - origin, 2)] = height
    wanted = {s.along_mm: s.height_mm for s in KINDS[kind].line.strips[0].stations}
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
    write_sheets(KINDS["following"], tmp_path / "sheets.pdf")
    with pdfplumber.open(tmp_path / "sheets.pdf") as document:
        pages = [p for p in document.pages if p.extract_text().startswith("Clay strip")]
        for page in pages:
            lengths = [line["width"] * MM_PER_PT for line in page.lines]
            assert any(length == pytest.approx(100.0, abs=TOLERANCE_MM) for length in lengths)
            assert "100 mm" in page.extract_text() and "4 in" in page.extract_text()


def test_a_level_split_needs_no_strip():
    titles = {sheet.title for sheet in build_sheets(replace_plugs(make_plan()))}
    assert "Split" in titles
    assert not {title for title in titles if title.startswith("Clay")}


def replace_plugs(plan):
    return replace(plan, line=replace(plan.line, plugs=plan.line.plugs[:1]))


def high_plan(factor):
    """A following split over a part `factor` times as high."""
    plan = KINDS["following"]
    (loop,), (strip,) = plan.line.outlines, plan.line.strips

    def grown(z_mm):
        return FLOOR_MM + factor * (z_mm - FLOOR_MM)

    stations = tuple(replace(s, height_mm=s.height_mm * factor) for s in strip.stations)
    heights = {
        name: grown(getattr(loop, name)) for name in ("low_mm", "high_mm", "line_mm")
    }
    line = replace(
        plan.line,
        outlines=(replace(loop, **heights),),
        strips=(replace(strip, stations=stations),),
        plugs=(),
    )
    return replace(plan, line=line)


@pytest.mark.parametrize(("factor", "starts_at"), [(4.0, 0.0), (8.0, 190.0), (20.0, 510.0)])
def test_a_high_strip_starts_over_the_board_or_goes_over_several_rows(factor, starts_at):
    plan = high_plan(factor)
    sheets = strip_pages(plan)
    assert [fault for sheet in sheets for fault in faults(sheet)] == []
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


# -- the map ------------------------------------------------------------------


def marks_on(sheet):
    """(centre, radius) of the map's own circle, and centres of the marks on it."""
    circles = [artist for artist in sheet.axes.get_children() if isinstance(artist, Circle)]
    rim = max(circles, key=lambda circle: circle.radius)
    small = [c for c in circles if c.radius < 2.0]
    inside = [c for c in small if np.hypot(*np.subtract(c.center, rim.center)) < rim.radius]
    return np.array(rim.center), rim.radius, inside


def test_the_map_keeps_areas():
    sheet = split_pages(make_plan())[0]
    centre, radius, marks = marks_on(sheet)
    away = np.array([np.hypot(*(np.array(mark.center) - centre)) for mark in marks])
    assert len(away) == 256
    # A cap of 60 degrees is half of the hemisphere (Archimedes), and half of the map's area;
    # the map ends 1.5 mm inside its rim, and a mark of the spiral more or less is 0.4 %.
    share = np.mean(away < (radius - 1.5) * np.sqrt(0.5))
    assert share == pytest.approx(0.5, abs=0.01)
    # Directions within 14 degrees of the draw trap nothing: hollow marks, all in the middle.
    hollow = [a for a, mark in zip(away, marks, strict=True) if mark.get_facecolor()[0] == 1.0]
    assert 0 < len(hollow) < 20 and max(hollow) < 0.18 * radius


def test_marks_grow_with_what_is_held():
    sheet = split_pages(make_plan())[0]
    centre, _, marks = marks_on(sheet)
    away = [float(np.hypot(*(np.array(mark.center) - centre))) for mark in marks]
    filled = [m for _, m in sorted(zip(away, marks, strict=True), key=lambda pair: pair[0])][12:]
    radii = [mark.radius for mark in filled]
    assert radii[-1] > 1.4 * radii[0]
    # So that a grey print tells them apart: no two marks run into each other.
    places = np.array([mark.center for mark in marks])
    gaps = np.linalg.norm(places[:, None] - places[None], axis=2) + 10 * np.eye(len(places))
    assert gaps.min() > 1.2 * max(radii)


def test_a_direction_that_was_asked_for_has_no_map():
    plan = make_plan()
    draw = replace(plan.draw, is_asked_for=True, candidates=plan.draw.candidates[:1])
    sheets = split_pages(replace(plan, draw=draw))
    assert "as asked, no other tried" in text_of(sheets)
    assert "the file's axes." not in text_of(sheets)


# -- words and rows -----------------------------------------------------------


@pytest.fixture(scope="module", params=["level", *KINDS])
def pages(request):
    plan = make_plan(line_kind=request.param)
    return plan, split_pages(plan)


def test_every_row_stands_on_the_sheet(pages):
    plan, sheets = pages
    text = text_of(sheets)
    sentences = [
        *view_split.candidate_reasons(plan),
        view_split.weights_sentence(plan),
        view_split.flex_sentence(plan),
        view_split.seam_sentence(plan),
        view.decision_sentences(plan)[1],
    ]
    for sentence in sentences:
        assert formats.raised(sentence) in text
    tables = [view_split.candidate_rows, view_split.pocket_rows, view_split.remedy_rows]
    tables += [view_split.thin_rows, view_split.option_rows, view_split.plug_rows]
    for table in tables:
        for row in table(plan):
            for cell in row:
                for word in formats.raised(cell).split():
                    assert word in text, cell


def test_candidates_are_compared_in_physical_terms():
    rows = {name: cells for name, *cells in view_split.candidate_rows(make_plan())}
    assert rows["held by the best level split [c]"] == ["0.81 ml", "2.3 ml", "6.1 ml"]
    assert rows["mould height [c]"] == ["74 mm", "88 mm", "94 mm"]
    assert rows["pockets, holes across it"] == ["1, 1"] * 3
    assert rows["seam on the face that shows [c]"] == ["34 mm"] * 3
    assert rows["all in minutes [a]"][0] == "74 min"
    assert "and 2 more alike" in view_split.candidate_reasons(make_plan())[1]


def test_without_a_show_face_nothing_is_said_of_it():
    plan = make_plan()
    hidden = [replace(c, seam_on_show_mm=None) for c in plan.draw.candidates]
    plan = replace(plan, draw=replace(plan.draw, candidates=tuple(hidden)))
    assert not any("shows" in row[0] for row in view_split.candidate_rows(plan))


def test_pockets_carry_interval_and_verdict():
    tip, bridge = view_split.pocket_rows(make_plan())
    assert tip[3] == "4.2 +- 0.3 mm"
    assert formats.raised(tip[3]) == "4.2 ± 0.3 mm"
    assert tip[5] == "needs 43 %, forgiven 20 %, limit 110 %"
    assert tip[6] == "◕ may tear, 17 mm of rubber round it"
    assert bridge[6].startswith("● locked: the rubber in it is a pin")
    sentence = view_split.flex_sentence(make_plan())
    assert "Gent 1958" in sentence and "20 to 80 A" in sentence
    assert "Friction and suction are not modelled" in sentence


def test_a_sealed_void_has_no_stretch():
    plan = make_plan()
    pocket = replace(plan.undercuts.pockets[0], kind="sealed", n_mouths=0)
    flex = replace(plan.flex.pockets[0], verdict="none", is_all_round=False)
    plan = replace(
        plan,
        undercuts=replace(plan.undercuts, pockets=(pocket,)),
        flex=replace(plan.flex, pockets=(flex,)),
    )
    assert view_split.pocket_rows(plan) == [
        ("1", "closed void", "0.57 ml", "", "", "", "– no rubber in it")
    ]


def test_plugs_say_where_and_how_high():
    level, follows = view_split.plug_rows(make_plan())
    # Corner of the box at (-12, -12), its floor at -12 mm; 16 mm are 5/8 in (0.63 in).
    assert level == ("H1", "27, 47 mm", "10 mm", "12.0 to 20.0 mm", "16 mm (5/8 in)", "level")
    assert follows[3] == "none"
    assert "strip H2" in follows[5]


def test_a_plug_at_the_board_is_the_board():
    plan = make_plan()
    line = replace(
        plan.line, box_height_mm=0.0, plugs=(replace(plan.line.plugs[0], height_mm=0.0),)
    )
    (row,) = view_split.plug_rows(replace(plan, line=line))
    assert row[4] == "0 mm (0 in)" and "the board shuts it" in row[5]
    text = text_of(split_pages(replace(plan, line=line)))
    assert "no clay goes into them" in text and "Where the clay goes" not in text


def test_what_is_built_is_marked():
    for kind, name in (("level", "level"), ("following", "follows the part")):
        rows = view_split.option_rows(make_plan(line_kind=kind))
        assert [row[0] for row in rows if "▶" in row[0]] == [f"▶ {name}"]
        assert [row[5].endswith("built") for row in rows].count(True) == 1


def test_a_place_without_a_free_height_is_told():
    assert "Crossed: no height is free." in text_of(strip_pages(KINDS["following"]))
    plan = KINDS["following"]
    loop = plan.line.outlines[0]
    loop = replace(loop, low_mm=loop.line_mm - 1.0, high_mm=loop.line_mm + 1.0)
    plan = replace(plan, line=replace(plan.line, outlines=(loop,), plugs=()))
    assert "Crossed" not in text_of(strip_pages(plan))


def test_every_station_is_in_the_table():
    plan = KINDS["stepped"]
    sheets = [sheet for sheet in strip_pages(plan) if sheet.title == "Clay heights"]
    text = text_of(sheets)
    for station in plan.line.strips[0].stations:
        assert f"{station.along_mm:.0f} mm" in text
    # 30.2 mm - 3 mm over the floor on the low stretch: 1 2/32 in.
    assert "27.2 mm" in text and "1 1/16″" in text


def test_many_pockets_and_thin_places_go_on_overleaf():
    plan = make_plan()
    pockets = tuple(replace(plan.undercuts.pockets[k % 2], number=k + 1) for k in range(40))
    flexes = tuple(replace(plan.flex.pockets[k % 2], number=k + 1) for k in range(40))
    plan = replace(
        plan,
        undercuts=replace(plan.undercuts, pockets=pockets),
        flex=replace(plan.flex, pockets=flexes, thin=plan.flex.thin * 20),
    )
    sheets = split_pages(plan)
    assert [fault for sheet in sheets for fault in faults(sheet)] == []
    assert "And 28 more." in text_of(sheets)


def test_nothing_undercut_is_said():
    plan = make_plan()
    nothing = replace(plan.undercuts, pockets=())
    flex = replace(plan.flex, pockets=(), thin=())
    sheets = split_pages(replace(plan, undercuts=nothing, flex=flex, remedies=()))
    assert "No pocket is closed off both ways" in text_of(sheets)
    assert "Thin places" not in text_of(sheets)


def test_classes_survive_a_grey_print():
    # Clay, free heights and held heights differ by hatch, not by colour alone.
    assert len({paper.CLAY, paper.TRAPPED, paper.LOWER, paper.UPPER}) == 4
    signs = [words[0] for words in view_split.VERDICT_SIGNS.values()]
    assert len(set(signs)) == len(signs)
    assert isinstance(make_plan().line, model.PartingLine)
