"""The split sheet: its map, its rows and its words, read off the figures.

Directions and shares are counted here.
"""

from dataclasses import replace

import numpy as np
import pytest
from output.page_check import faults
from output.plan_fixture import bedding, make_plan

from castplan.paper.paper import Disc
from castplan.paper.sheet_split import split_pages
from castplan.records import PocketGroup
from castplan.words import formats
from castplan.words import plan as view
from castplan.words import split as view_split


def text_of(sheets):
    return " ".join(text.text for sheet in sheets for text in sheet.texts)


# -- the map ------------------------------------------------------------------


def marks_on(sheet):
    """(centre, radius) of the map's own circle, and centres of the marks on it."""
    circles = [item for item in sheet.items if isinstance(item, Disc)]
    rim = max(circles, key=lambda circle: circle.radius)
    small = [c for c in circles if c.radius < 2.0]
    inside = [c for c in small if np.hypot(*np.subtract((c.x, c.y), (rim.x, rim.y))) < rim.radius]
    return np.array((rim.x, rim.y)), rim.radius, inside


def test_the_map_keeps_areas():
    sheet = split_pages(make_plan())[0]
    centre, radius, marks = marks_on(sheet)
    away = np.array([np.hypot(*(np.array((mark.x, mark.y)) - centre)) for mark in marks])
    assert len(away) == 256
    # A cap of 60 degrees is half of the hemisphere (Archimedes), and half of the map's area;
    # the map ends 1.5 mm inside its rim, and a mark of the spiral more or less is 0.4 %.
    share = np.mean(away < (radius - 1.5) * np.sqrt(0.5))
    assert share == pytest.approx(0.5, abs=0.01)
    # Directions within 14 degrees of the draw trap nothing: hollow marks, all in the middle.
    hollow = [a for a, mark in zip(away, marks, strict=True) if mark.fill == "white"]
    assert 0 < len(hollow) < 20 and max(hollow) < 0.18 * radius


def test_marks_grow_with_what_is_held():
    sheet = split_pages(make_plan())[0]
    centre, _, marks = marks_on(sheet)
    away = [float(np.hypot(*(np.array((mark.x, mark.y)) - centre))) for mark in marks]
    filled = [m for _, m in sorted(zip(away, marks, strict=True), key=lambda pair: pair[0])][12:]
    radii = [mark.radius for mark in filled]
    assert radii[-1] > 1.4 * radii[0]
    # So that a grey print tells them apart: no two marks run into each other.
    places = np.array([(mark.x, mark.y) for mark in marks])
    gaps = np.linalg.norm(places[:, None] - places[None], axis=2) + 10 * np.eye(len(places))
    assert gaps.min() > 1.2 * max(radii)


def test_a_direction_that_was_asked_for_has_no_map():
    plan = make_plan()
    draw = replace(plan.split.draw, is_asked_for=True, candidates=plan.split.draw.candidates[:1])
    sheets = split_pages(replace(plan, split=replace(plan.split, draw=draw)))
    assert "as you chose; no other was tried" in text_of(sheets)
    assert "the file's axes." not in text_of(sheets)


# -- words and rows -----------------------------------------------------------


@pytest.fixture(scope="module", params=["level", "tilted", "stepped", "following"])
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
        view.decisions(plan)[1].sentence,
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
    assert rows["undercut with the best flat parting"] == ["0.81 ml", "2.3 ml", "6.1 ml"]
    assert rows["height of the mould"] == ["74 mm", "88 mm", "94 mm"]
    assert rows["pockets, holes across it"] == ["1, 1"] * 3
    assert rows["seam on the side that will be seen"] == ["34 mm"] * 3
    assert rows["effort in points (assumed)"][0] == "74"
    assert "and 2 more alike" in view_split.candidate_reasons(make_plan())[1]


def test_without_a_show_face_nothing_is_said_of_it():
    plan = make_plan()
    hidden = [replace(c, seam_on_show_mm=None) for c in plan.split.draw.candidates]
    plan = replace(
        plan, split=replace(plan.split, draw=replace(plan.split.draw, candidates=tuple(hidden)))
    )
    assert not any("seen" in row[0] for row in view_split.candidate_rows(plan))


def test_pockets_carry_interval_and_verdict():
    tip, bridge = view_split.pocket_rows(make_plan())
    assert tip[3] == "4.2 +- 0.3 mm"
    assert formats.raised(tip[3]) == "4.2 ± 0.3 mm"
    assert tip[5] == "43 % (22 to 86 %); usually allows 20 %"
    assert tip[6] == "◕ may tear, 17 mm of silicone round it"
    assert bridge[6].startswith("● will not come out: the silicone in it is a pin")
    sentence = view_split.flex_sentence(make_plan())
    assert "Gent 1958" in sentence and "20 to 80 A" in sentence
    assert "leaves out friction and suction" in sentence


def test_a_sealed_void_has_no_stretch():
    plan = make_plan()
    pocket = replace(plan.split.undercuts.pockets[0], kind="sealed", n_mouths=0)
    flex = replace(plan.split.flex.pockets[0], verdict="none", is_all_round=False)
    plan = replace(
        plan,
        split=replace(
            plan.split,
            undercuts=replace(plan.split.undercuts, pockets=(pocket,)),
            flex=replace(plan.split.flex, pockets=(flex,), groups=plan.split.flex.groups[:1]),
        ),
    )
    assert view_split.pocket_rows(plan) == [
        ("1", "closed void", "0.57 ml", "", "", "", "no silicone in it")
    ]


def test_plugs_say_where_and_how_high():
    level, follows = view_split.plug_rows(make_plan())
    # Corner of the box at (-12, -12), its floor at -12 mm; 16 mm are 5/8 in (0.63 in).
    assert level == ("H1", "27, 47 mm", "10 mm", "12.0 to 20.0 mm", "16 mm (5/8 in)", "flat")
    assert follows[3] == "none"
    assert "strip H2" in follows[5]


def test_a_plug_at_the_board_is_the_board():
    plan = make_plan()
    line = replace(
        plan.split.line,
        box_height_mm=0.0,
        plugs=(replace(plan.split.line.plugs[0], height_mm=0.0),),
    )
    mould = replace(plan.mould.block, bedding=bedding("flat-back", shut_holes=(1,)))
    plan = replace(
        plan, split=replace(plan.split, line=line), mould=replace(plan.mould, block=mould)
    )
    (row,) = view_split.plug_rows(plan)
    assert row[4] == "0 mm (0 in)" and "the board shuts it" in row[5]
    text = text_of(split_pages(plan))
    assert "no clay goes into them" in text and "Where the clay goes" not in text


def test_what_is_built_is_marked():
    for kind, name in (("level", "flat"), ("following", "shaped")):
        rows = view_split.option_rows(make_plan(line_kind=kind))
        assert [row[0] for row in rows if "▶" in row[0]] == [f"▶ {name}"]
        assert [row[5].endswith("this plan") for row in rows].count(True) == 1


def each_alone(pockets):
    return tuple(
        PocketGroup(
            numbers=(p.number,), volume_mm3=p.volume_mm3, depth_mm=p.depth_mm, is_trifle=False
        )
        for p in pockets
    )


def test_pockets_that_are_alike_stand_in_one_row_with_one_set_of_remedies():
    # 23 tooth gaps of 0.2 ml and a bridge, by hand.
    plan = make_plan()
    gap, bridge = plan.split.undercuts.pockets
    gaps = tuple(replace(gap, number=k, volume_mm3=200.0, depth_mm=1.1) for k in range(1, 24))
    flexes = tuple(replace(plan.split.flex.pockets[0], number=k, group=1) for k in range(1, 24))
    alike = PocketGroup(
        numbers=tuple(range(1, 24)), volume_mm3=23 * 200.0, depth_mm=1.1, is_trifle=False
    )
    alone = PocketGroup(numbers=(24,), volume_mm3=bridge.volume_mm3, depth_mm=4.2, is_trifle=False)
    remedies = [replace(r, pocket={1: 1, 2: 24}[r.pocket]) for r in plan.split.remedies]
    plan = replace(
        plan,
        split=replace(
            plan.split,
            undercuts=replace(plan.split.undercuts, pockets=(*gaps, replace(bridge, number=24))),
            flex=replace(
                plan.split.flex,
                pockets=(*flexes, replace(plan.split.flex.pockets[1], number=24, group=24)),
                groups=(alike, alone),
            ),
            remedies=tuple(remedies),
        ),
    )
    rows = view_split.pocket_rows(plan)
    assert [row[0] for row in rows] == ["1 to 23", "24"]
    assert rows[0][1:3] == ("23 pockets, alike", "each 0.20 ml")
    assert [row[0] for row in view_split.remedy_rows(plan)] == ["1 to 23"] * 2 + ["24"] * 2
    sheets = split_pages(plan)
    assert faults(sheets) == []
    assert "23 pockets, alike" in text_of(sheets)


def test_many_pockets_and_thin_places_go_on_overleaf():
    plan = make_plan()
    pockets = tuple(replace(plan.split.undercuts.pockets[k % 2], number=k + 1) for k in range(40))
    flexes = tuple(replace(plan.split.flex.pockets[k % 2], number=k + 1) for k in range(40))
    plan = replace(
        plan,
        split=replace(
            plan.split,
            undercuts=replace(plan.split.undercuts, pockets=pockets),
            flex=replace(
                plan.split.flex,
                pockets=flexes,
                groups=each_alone(pockets),
                thin=plan.split.flex.thin * 20,
            ),
        ),
    )
    sheets = split_pages(plan)
    assert faults(sheets) == []
    assert "The part has 28 more." in text_of(sheets)


def test_nothing_undercut_is_said():
    plan = make_plan()
    nothing = replace(plan.split.undercuts, pockets=())
    flex = replace(plan.split.flex, pockets=(), groups=(), thin=())
    sheets = split_pages(
        replace(plan, split=replace(plan.split, undercuts=nothing, flex=flex, remedies=()))
    )
    assert "There is no undercut" in text_of(sheets)
    assert "Thin places" not in text_of(sheets)


def test_verdicts_survive_a_grey_print():
    names = ("leaves freely", "flexes out", "may tear", "locked", "none")
    signs = {view_split.verdict_sign(name)[0] for name in names}
    assert len(signs) == 5
