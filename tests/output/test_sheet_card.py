"""Mould card and cup labels: every cup has its labels, every planned cast its box.

That weights stand in 14 pt is the sheets' own rule (assumed).
"""

from dataclasses import replace

import pytest
from output.left_english import RENAMED
from output.page_check import faults
from output.plan_fixture import make_plan
from output.plan_variants import VARIANTS

from castplan.materials.cards import load_cards
from castplan.materials.wording import grams_text
from castplan.paper.book_labels import labels_pages
from castplan.words import bench as bench_view
from castplan.words import card as card_view
from castplan.words import mix as mix_view

PLAN = make_plan()


def texts_of(sheets):
    return [text.text for sheet in sheets for text in sheet.texts]


def test_every_cup_has_a_label_for_each_part():
    labels = card_view.cup_labels(PLAN)
    times = sum(cup.times for cup in PLAN.bench.weigh.cups)
    assert times <= card_view.MOST_NUMBERED
    assert len(labels) == 2 * times
    for cup in PLAN.bench.weigh.cups:
        pour = RENAMED.get(cup.pour, cup.pour)
        of_pour = [label for label in labels if label.pour.startswith(pour)]
        assert {label.part for label in of_pour} == {"PART A", "PART B"}
        for mass_g in (cup.a_g, cup.b_g):
            weight = grams_text(mass_g, step_g=cup.aim_step_g)
            assert weight in [label.weight for label in of_pour]
    assert len(set(labels)) == len(labels)  # no two cups can be taken for each other


def test_labels_sheet_and_terminal_show_the_same_readings_with_the_cup_counted():
    # A cup of 12.3 g on a scale of 0.1 g; sums by hand, 100:90 by weight.
    cups = tuple(
        replace(
            cup,
            tare_g=12.3,
            step_g=0.1,
            reading_a_g=12.3 + cup.a_g,
            reading_b_g=12.3 + cup.a_g + cup.b_g,
        )
        for cup in PLAN.bench.weigh.cups
    )
    weigh = replace(PLAN.bench.weigh, cups=cups)
    plan = replace(PLAN, bench=replace(PLAN.bench, weigh=weigh))
    labels = card_view.cup_labels(plan)
    for mix, cup in bench_view.cups_as_mixes(plan):
        shown = [f"{12.3 + cup.a_g:.1f} g", f"{12.3 + cup.a_g + cup.b_g:.1f} g"]
        of_cup = [label for label in labels if label.pour == mix.name][:2]
        assert all(text in label.shows for label, text in zip(of_cup, shown, strict=True))
        assert [label.weight for label in of_cup] == [f"{cup.a_g:.1f} g", f"{cup.b_g:.1f} g"]
        assert [row[4] for row in mix_view.mix_rows(mix, cup, None)][:2] == shown
        terminal = bench_view.cup_rows(load_cards()[mix.card], cup)
        assert [row[4] for row in terminal][:2] == shown
        if mix.half is None:
            ((name, cells),) = card_view.shots(plan)
            assert f"shows {shown[1]}" in name and f"= {cup.a_g + cup.b_g:.1f} g" in cells


def test_labels_read_large_and_by_when():
    pages = labels_pages(PLAN)
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
    pages = labels_pages(plan)
    sheet = pages[-1]
    words = texts_of(pages)
    told = next(text for text in sheet.texts if text.text.startswith("Planned:"))
    boxes = [text.text for text in sheet.texts if text.y < told.y and text.text.isdigit()]
    assert boxes == [str(number) for number in range(1, round(life) + 1)]
    assert f"From casting {first} on" in " ".join(words)
    assert sum(item.shape.rings[0].shape == (3, 2) for item in _fills(sheet)) >= life - first + 1
    assert faults(pages) == []


def _fills(sheet):
    return [item for item in sheet.items if getattr(item, "fill", None) and hasattr(item, "shape")]


def test_the_card_says_how_much_for_a_copy_and_which_way_up():
    words = " ".join(texts_of(labels_pages(PLAN)))
    resin = next(cup for cup in PLAN.bench.weigh.cups if cup.pour.startswith("Resin"))
    cup = PLAN.bench.weigh.cups[-1]
    a, b = (grams_text(mass_g, step_g=cup.aim_step_g) for mass_g in (resin.a_g, resin.b_g))
    assert f"A {a} + B {b}" in words
    assert "(the file's +y) points up" in words
    assert "Write this number on both halves" in words


def test_the_arrow_points_the_way_that_is_up():
    # Up at the pour is +y of the file; the draw frame of this plan is the file's own axes,
    # so the side view shows it, to the right.
    sheet = labels_pages(PLAN)[-1]
    heads = [item.shape.rings[0] for item in _fills(sheet) if item.fill == "#1a1a1a"]
    tip, left, right = next(ring for ring in heads if ring.shape == (3, 2))
    way = tip - (left + right) / 2
    assert way[0] == pytest.approx(5.0) and abs(way[1]) < 1e-9
