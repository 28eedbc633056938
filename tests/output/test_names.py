"""Codes of the records in words: what matches by a code holds in every language."""

import io
import xml.etree.ElementTree as ElementTree
import zipfile

import numpy as np
import pytest
import shapes
from output.greek import greek_catalogue, in_greek
from output.left_english import RENAMED
from output.neutral import filled
from output.plan_variants import VARIANTS
from output.test_sheet_build import plan_of

from castplan import texts
from castplan.bench import amounts, fit, heat, weigh
from castplan.files import solids
from castplan.files.drawings import lay_out
from castplan.materials import rubber
from castplan.materials.cards import class_cards
from castplan.paper import paper
from castplan.paper.sheet_build import build_pages
from castplan.records import Job, Solid, Split
from castplan.texts import names
from castplan.words import bench as bench_view
from castplan.words import formats
from castplan.words import shop as shop_view

PLAN = VARIANTS["as made"]
BOXES = {shape: plan_of("tower", box=shape) for shape in ("rectangle", "round", "outline")}
CODES = {
    names.pour_name: {*amounts.SILICONE_POURS, amounts.RESIN_POUR},
    names.board_name: {board.name for p in BOXES.values() for board in p.mould.boards.boards},
    names.vessel_name: {"pressure pot", "vacuum chamber"},
    names.body_name: {"upper half", "lower half", "bed", "box wall 1 of 2", "case lower"},
    names.length_name: set(fit.ALONG_AXES),
    names.place_name: set(heat.PLACES),
}


@pytest.fixture
def greek():
    texts.use(greek_catalogue())
    yield
    texts.use({})


@pytest.mark.parametrize("name", CODES, ids=lambda name: name.__name__)
def test_a_code_has_its_word_in_english_and_another_in_greek(name):
    for code in CODES[name]:
        assert str(name(code)) == RENAMED.get(code, code)
    texts.use(greek_catalogue())
    try:
        for code in CODES[name]:
            assert str(name(code)) == in_greek(RENAMED.get(code, code))
        assert name("KLIP 3") == "KLIP 3"  # what the shop called so
    finally:
        texts.use({})


def test_every_board_has_a_word():
    words = {key.removeprefix("board_name.") for key in texts.english() if key[:6] == "board_"}
    assert {code.replace(" ", "_") for code in CODES[names.board_name]} == words


def test_the_record_keeps_codes_and_the_cards_say_words(greek):
    job = Job(brush_mm=1.0)
    split = filled(Split, draw=PLAN.split.draw, parting=PLAN.split.parting)
    sized = weigh.size_cups(PLAN.bench.amounts, PLAN.part, split, job)
    mixes = {mix.name for mix in PLAN.bench.amounts.mixes}
    assert {cup.pour for cup in sized.cups} == {limit.pour for limit in sized.limits} == mixes
    # A brush coat is one whatever it is called.
    coats = [str(cup.name) for cup in sized.cups if cup.is_brush_coat]
    assert coats == [in_greek("First half, brush coat"), in_greek("Second half, brush coat")]
    for mix, _ in bench_view.cups_as_mixes(PLAN):
        assert mix.name == in_greek(mix.name)
    assert in_greek("First half") in " ".join(shop_view.buy_sentences(PLAN))


def test_units_that_are_words_are_said_and_symbols_stay(greek):
    symbols = {"mPa s", "J/(kg K)", "Shore A", "Shore D"}
    numbers = [n for card in class_cards().values() for n in card.numbers.values()]
    numbers += [*PLAN.bench.weigh.assumptions, weigh.rise(), rubber.safety_factor()]
    worded = {n.unit for n in numbers if " " in n.unit} - symbols | {"casts", "times"}
    assert worded >= {"parts by weight", "times the mix"}
    for unit in worded:
        assert formats.unit_text(unit, value=2.0) == in_greek(RENAMED.get(unit, unit))
    for unit in symbols | {"mm", "g/ml"}:
        assert formats.unit_text(unit, value=2.0) == unit


def test_the_picture_of_the_box_is_the_same_in_every_language():
    def rubber(plan):
        return [
            item.shape.bounds()
            for item in build_pages(plan)[0].items
            if isinstance(item, paper.Hatch)
        ]

    plan = BOXES["rectangle"]
    english = rubber(plan)
    texts.use(greek_catalogue())
    try:
        shown = rubber(plan)
    finally:
        texts.use({})
    # The lower half stays on its board, where it was cut.
    assert len(english) >= 4
    np.testing.assert_allclose(shown, english)


def test_boards_and_bodies_are_named_in_greek_and_files_are_not(greek):
    for plan in BOXES.values():
        for piece in lay_out(plan.mould.boards)[0]:
            assert piece.name == in_greek(piece.name)
    body = shapes.box()
    bed = Solid(name="bed 1 of 2", vertices_mm=body.vertices_mm, faces=body.faces)
    assert solids.file_name(bed, ".stl") == "bed_1_of_2.stl"
    package = zipfile.ZipFile(io.BytesIO(solids.threemf_bytes((bed,), title="a")))
    model = ElementTree.fromstring(package.read("3D/3dmodel.model"))
    (named,) = [item.get("name") for item in model.iter() if item.tag.endswith("}object")]
    assert named == in_greek("bed 1 of 2")
