"""The sheet of box, keys and boards, for bodies whose moulds are really laid out."""

import bodies
import moulds
import numpy as np
import pytest
import shapes
from output.neutral import filled
from output.page_check import faults

from castplan import records
from castplan.bench.equipment import Boxed, check_equipment
from castplan.mould.boards import cut_boards
from castplan.mould.holddown import weigh_lift
from castplan.mould.section import cut_sections
from castplan.paper.sheet_boards import board_pages
from castplan.paper.sheet_build import build_pages
from castplan.words import build as build_view

BODIES = {
    "bezel": (shapes.torus(), 0.0, (30.0, 0.0, 10.0)),
    "tray": (shapes.tray(), 10.0, (27.5, 0.0, 15.0)),
    "tower": (shapes.frustum(high_radius_mm=5.0, height_mm=120.0), 0.0, (0.0, 0.0, 120.0)),
    "strip": (shapes.box(300.0, 12.0, 3.0), 0.0, (140.0, 0.0, 1.5)),
    "slot block": (bodies.slot_block(), 10.0, (20.0, 15.0, 20.0)),
}


def plan_of(name, *, paper="A4", **choices):
    body, height, gate = BODIES[name]
    job = records.Job(paper=paper, pot_mm=(200.0, 180.0), scale_max_g=500.0, **choices)
    mould = moulds.make_mould(body, height, job=job, ports=[(gate, "gate", 8.0)])
    boards = cut_boards(mould.field, mould.box, mould.surface, job)
    boxed = Boxed(box=mould.box, boards=boards, block=mould.mould, up=np.array([0.0, 0.0, 1.0]))
    mix = filled(records.Mix, mass_g=400.0, density_g_ml=1.08)
    amounts = filled(records.AmountsResult, mixes=(mix, mix))
    sketch = filled(
        records.Sketch,
        name="draw",
        outline=(np.array([(-20, -10), (20, -10), (20, 10), (-20, 10)], float),),
    )
    return filled(
        records.Plan,
        part=mould.part,
        job=job,
        sketches=(sketch,),
        split=filled(records.Split, box=mould.box),
        mould=filled(
            records.Mould,
            keys=mould.keys,
            boards=boards,
            hold=weigh_lift(mould.mould, job, part_mm3=body.volume_mm3),
            sections=cut_sections(mould.part, mould.cut),
        ),
        bench=filled(records.Bench, equipment=check_equipment(boxed, amounts, job)),
    )


@pytest.fixture(scope="module", params=[(n, p) for n in BODIES for p in ("A4", "Letter")], ids=str)
def pages(request):
    name, paper = request.param
    plan = plan_of(name, paper=paper, box="outline" if name == "bezel" else None)
    return plan, build_pages(plan)


def words(sheets):
    return " ".join(text.text for sheet in sheets for text in sheet.texts)


def test_no_text_overlaps_or_leaves_the_page(pages):
    _, sheets = pages
    assert faults(sheets) == []


def test_every_board_is_listed(pages):
    plan, sheets = pages
    text = words(sheets)
    for board in plan.mould.boards.boards:
        assert board.name in text
        for side in board.size_mm:
            assert f"{side:.1f}".removesuffix(".0") in text


def test_the_pieces_are_named_in_the_picture(pages):
    text = words(pages[1])
    for name in ("turning board", "upper half", "part", "lower half", "base board"):
        assert name in text


def test_numbers_of_the_records_stand_on_the_sheet(pages):
    plan, sheets = pages
    text = words(sheets)
    assert f"{len(plan.mould.keys.places_mm)} keys" in text
    assert f"{plan.mould.boards.pressure_kpa:.2f} kPa" in text
    assert f"{plan.mould.boards.thickness_mm:.3g} mm" in text


def test_a_plan_without_boards_has_no_such_sheet():
    assert build_pages(filled(records.Plan)) == []


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_board_with_marks_is_named_at_true_size_however_it_is_tiled(paper):
    # The strip's boards are longer than any of these papers.
    plan = plan_of("strip", paper=paper)
    sheets = board_pages(plan)
    told = [text.text for sheet in sheets for text in sheet.texts]
    for board in plan.mould.boards.boards:
        is_marked = board.name == "base board"
        assert (build_view.board_title(board) in told) is is_marked
    assert faults(sheets) == []
