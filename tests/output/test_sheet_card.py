"""Mould card and cup labels: every cup has its labels, every planned cast its box."""

from dataclasses import replace

import pytest
from output.page_check import faults
from output.plan_fixture import make_plan
from output.plan_variants import VARIANTS

from castplan.materials.wording import weight_text
from castplan.paper.sheet_card import card_pages
from castplan.paper.sheet_labels import label_pages
from castplan.words import card as card_view

PLAN = make_plan()


def texts_of(sheets):
    return [text.text for sheet in sheets for text in sheet.texts]


def test_every_cup_has_a_label_for_each_part():
    labels = card_view.cup_labels(PLAN)
    times = sum(cup.times for cup in PLAN.bench.weigh.cups)
    assert times <= card_view.MOST_NUMBERED
    assert len(labels) == 2 * times
    for cup in PLAN.bench.weigh.cups:
        of_pour = [label for label in labels if label.pour.startswith(cup.pour)]
        assert {label.part for label in of_pour} == {"PART A", "PART B"}
        assert weight_text(cup.a_g) in [label.weight for label in of_pour]
        assert weight_text(cup.b_g) in [label.weight for label in of_pour]
    assert len(set(labels)) == len(labels)  # no two cups can be taken for each other


def test_labels_read_large_and_by_when():
    pages = label_pages(PLAN)
    sizes = {}
    for sheet in pages:
        for text in sheet.texts:
            sizes[text.text] = text.size_pt
    for label in card_view.cup_labels(PLAN):
        assert sizes[label.weight] >= 14.0
        assert sizes[label.within] >= 14.0
    assert texts_of(pages).count("mixed: pour by") == len(card_view.cup_labels(PLAN))


def test_many_cups_that_are_alike_share_a_label_with_a_blank():
    labels = card_view.cup_labels(VARIANTS["40 copies"])
    assert sum(label.cup == "cup ___ of 40" for label in labels) == 2


@pytest.mark.parametrize(
    ("life", "low", "first"), [(20.0, 10.0, 11), (7.0, None, 8), (100, 60, 61)]
)
def test_the_counter_has_a_box_for_every_cast_of_the_planned_life(life, low, first):
    number = replace(PLAN.bench.buy.mould_life_casts, value=life, low=low, high=life)
    plan = replace(
        PLAN, bench=replace(PLAN.bench, buy=replace(PLAN.bench.buy, mould_life_casts=number))
    )
    pages = card_pages(plan)
    (sheet,) = pages
    words = texts_of(pages)
    told = next(text for text in sheet.texts if text.text.startswith("Casts:"))
    boxes = [text.text for text in sheet.texts if text.y < told.y and text.text.isdigit()]
    assert boxes == [str(number) for number in range(1, round(life) + 1)]
    assert f"From cast {first} on" in " ".join(words)
    assert sum(item.shape.rings[0].shape == (3, 2) for item in _fills(sheet)) >= life - first + 1
    assert faults(pages) == []


def _fills(sheet):
    return [item for item in sheet.items if getattr(item, "fill", None) and hasattr(item, "shape")]


def test_the_card_says_how_much_for_a_copy_and_which_way_up():
    words = " ".join(texts_of(card_pages(PLAN)))
    resin = next(cup for cup in PLAN.bench.weigh.cups if cup.pour.startswith("Resin"))
    assert f"A {weight_text(resin.a_g)} + B {weight_text(resin.b_g)}" in words
    assert "the file's +y points up" in words
    assert "Write this number on both halves" in words


def test_the_arrow_points_the_way_that_is_up():
    # Up at the pour is +y of the file; the draw frame of this plan is the file's own axes,
    # so the side view shows it, to the right.
    (sheet,) = card_pages(PLAN)
    heads = [item.shape.rings[0] for item in _fills(sheet) if item.fill == "#1a1a1a"]
    tip, left, right = next(ring for ring in heads if ring.shape == (3, 2))
    way = tip - (left + right) / 2
    assert way[0] == pytest.approx(5.0) and abs(way[1]) < 1e-9
