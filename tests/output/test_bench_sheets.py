"""Buy, fit, heat, chemistry and times on paper: what the records hold stands there, readable."""

import re
from dataclasses import replace

import pytest
from output.page_check import faults
from output.plan_fixture import make_plan

from castplan import records
from castplan.materials.wording import grams_text, weight_text
from castplan.paper import paper
from castplan.paper.sheets import build_sheets
from castplan.words import bench as bench_view
from castplan.words import formats
from castplan.words import shop as shop_view

PLAN = make_plan()
SHEETS = build_sheets(PLAN)


def text_of(sheets, title):
    found = [sheet for sheet in sheets if sheet.title == title]
    assert found, title
    return " ".join(text.text for sheet in found for text in sheet.texts)


def test_packs_quote_and_the_usual_guess_stand_beside_each_other():
    text = text_of(SHEETS, "Buy and fit")
    for line in PLAN.bench.buy.lines:
        for cell in shop_view.buy_row(line, "EUR"):
            words = formats.raised(cell).split()
            assert all(word in text for word in words), cell
    assert f"{PLAN.bench.buy.total_cost:.2f} EUR" in text
    assert weight_text(PLAN.bench.amounts.silicone_g) in text
    assert weight_text(PLAN.bench.amounts.bounding_box_g) in text


def test_sizes_and_verdicts():
    text = text_of(SHEETS, "Buy and fit")
    for line in PLAN.bench.fit.lines:
        assert f"{line.low_mm:.2f} to {line.high_mm:.2f}" in text
    assert "screw spacing" in text and "\u00b1 0.2 mm" in text
    assert f"{PLAN.bench.fit.print_scale.value:.4f}" in text


def test_heat_place_and_chemistry():
    text = text_of(SHEETS, "Buy and fit")
    assert "too hot for it" in text  # on deck up to 99 C, softens from 50 C
    assert "STOP" in text and "latex" in text
    assert "so they were not checked: box, original, paint, silicone" in text


def test_every_task_has_its_clock_time():
    text = text_of(SHEETS, "Times")
    for task in PLAN.bench.timeline.tasks:
        if task.copy <= 1:
            assert shop_view.clock_text(PLAN, at_min=task.start_min) in text
    assert "Tue 1 Dec 08:00" in text  # 1 December 2026 is a Tuesday


def test_without_a_start_days_are_counted():
    plan = replace(
        PLAN, bench=replace(PLAN.bench, timeline=replace(PLAN.bench.timeline, start=None))
    )
    assert shop_view.clock_text(plan, at_min=0.0) == "day 1 08:00"
    assert shop_view.clock_text(plan, at_min=16 * 60.0) == "day 2 00:00"
    assert shop_view.clock_text(plan, at_min=15 * 60 + 59.0) == "day 1 23:59"


def test_many_copies_and_long_names_stay_on_their_pages():
    pack = records.Pack(
        name="a very long name of a pack that a supplier might well give it",
        card="silicone-tin-25a",
        part="kit",
        mass_g=1050.0,
        price=1234.56,
    )
    line = replace(PLAN.bench.buy.lines[0], packs=((pack, 123),))
    unknown = replace(PLAN.bench.compat.lines[0], used="something from the shed " * 4)
    plan = make_plan(copies=40)
    plan = replace(
        plan,
        bench=replace(
            plan.bench,
            buy=replace(PLAN.bench.buy, lines=(line, PLAN.bench.buy.lines[1])),
            compat=replace(PLAN.bench.compat, lines=(unknown, *PLAN.bench.compat.lines)),
        ),
    )
    for sheet in build_sheets(plan):
        if sheet.title in ("Buy and fit", "Times"):
            assert faults([sheet]) == []
            sizes = {text.size_pt for text in sheet.texts}
            assert min(sizes) >= paper.FOOT_PT


def test_nothing_measured_priced_or_said():
    plan = replace(
        PLAN,
        mould=replace(PLAN.mould, water=None),
        bench=replace(
            PLAN.bench,
            heat=replace(PLAN.bench.heat, place_c=None, peak_c=None),
            compat=replace(PLAN.bench.compat, lines=(), unsaid=()),
            buy=replace(
                PLAN.bench.buy,
                lines=tuple(replace(line, packs=(), cost=None) for line in PLAN.bench.buy.lines),
                total_cost=None,
            ),
        ),
    )
    text = text_of(build_sheets(plan), "Buy and fit")
    assert "The original was not measured" in text
    assert "no packs that cover it" in text and "There is no quote" in text
    assert "Nobody has said where it will live" in text


def test_cups_that_are_alike_share_a_card():
    cup = PLAN.bench.weigh.cups[0]
    three = tuple(replace(cup, mass_g=cup.mass_g / 3, a_g=cup.a_g / 3) for _ in range(3))
    plan = replace(
        PLAN,
        bench=replace(
            PLAN.bench, weigh=replace(PLAN.bench.weigh, cups=(*three, *PLAN.bench.weigh.cups[1:]))
        ),
    )
    cards = bench_view.cups_as_mixes(plan)
    assert [mix.name for mix, _ in cards][:2] == ["First half, 3 cups", "Second half"]
    assert (cards[0][0].times, cards[0][0].mass_g) == (3, pytest.approx(cup.mass_g / 3))
    assert sum(mix.times for mix, _ in cards) == 3 + 1 + PLAN.bench.buy.copies


def test_tare_pigment_and_making_up_are_told():
    cup = replace(
        PLAN.bench.weigh.cups[-1],
        tare_g=12.0,
        pigment_g=2.4,
        made_up_g=30.0,
        step_g=0.1,
        reading_a_g=75.2,
        reading_b_g=132.0,
        reading_pigment_g=134.4,
    )
    notes = " ".join(bench_view.cup_notes(cup))
    assert "Pigment comes on top: 2.4 g" in notes
    assert (
        "the cup of 12.0 g counted in, the scale shows 75.2 g, then 132.0 g, then 134.4 g" in notes
    )
    assert "30.0 g were added" in notes
    assert not re.search(r"vacuum|degas", notes)  # resin


@pytest.mark.parametrize(
    ("mass_g", "step_g", "text"),
    [(246.857, 0.1, "246.9 g"), (246.857, 1, "247 g"), (12.34, 5, "10 g"), (0.754, 0.05, "0.75 g")],
)
def test_grams_as_the_scale_shows_them(mass_g, step_g, text):
    assert grams_text(mass_g, step_g=step_g) == text
