"""Wall sheets: ratios, times and verdicts as the cards and the matrix have them."""

from dataclasses import replace

import pytest
from output.page_check import faults

from castplan.materials.cards import load_cards
from castplan.materials.compat import load_matrix
from castplan.paper.sheet_wall import wall_pages
from castplan.records import DEFECTS
from castplan.words import wall as wall_view

CARDS = list(load_cards().values())
TIN = load_cards()["silicone-tin-25a"]


@pytest.fixture(scope="module", params=["A4", "Letter"])
def pages(request):
    return wall_pages(CARDS, paper_name=request.param)


def words(sheets, title=""):
    found = [sheet for sheet in sheets if sheet.title.startswith(title)]
    return " ".join(text.text for sheet in found for text in sheet.texts)


def test_no_text_overlaps_or_leaves_the_page(pages):
    assert faults(pages) == []


def test_a_chart_for_every_card(pages):
    for card in CARDS:
        for title in ("Ratio chart", "Pot life by temperature"):
            assert str(card.title) in words(pages, title)


def test_twenty_to_one_on_a_hundred_grams_is_five():
    # Closed form: 20:1 on 100 g is 5 g.
    rows = {a: (b, both) for a, b, both in wall_view.ratio_rows(TIN)}
    assert rows["100 g"] == ("5.00 g", "105.00 g")


def test_weights_and_times_stand_in_14_pt(pages):
    sizes = {t.text: t.size_pt for sheet in pages for t in sheet.texts}
    for row in wall_view.ratio_rows(TIN):
        assert {sizes[text] for text in row} == {14.0}
    assert {sizes[text] for text in wall_view.pot_life_row(TIN)} == {14.0}


def test_pot_life_halves_for_ten_degrees():
    # The rule of thumb itself (common practice, no source): 24 min at 20 C is 12 min at 30 C.
    number = replace(TIN.pot_life_min, value=24.0, low=None, high=None)
    at = replace(TIN.pot_life_at_c, value=20.0)
    times = wall_view.pot_life_row(replace(TIN, pot_life_min=number, pot_life_at_c=at))
    by_c = dict(zip(wall_view.TEMPERATURES_C, times, strict=True))
    assert (by_c[20.0], by_c[30.0]) == ("24 min", "12 min")


def test_fahrenheit_beside_celsius():
    # 15 C is 59 F, 25 C is 77 F: the definition, exact.
    heads = wall_view.temperature_heads()
    assert "15 °C, 59 °F" in heads and "25 °C, 77 °F" in heads


def test_every_stop_of_the_matrix_is_said_with_its_reason(pages):
    text = words(pages, "What stops a cure")
    n_stops = 0
    for things in load_matrix().values():
        for thing in things.values():
            for meeting in thing.meets.values():
                if meeting.verdict == "stop":
                    n_stops += 1
                    assert str(meeting.reason) in text
    assert text.count("STOP") == n_stops > 5


def test_only_the_chemistries_of_the_cards_are_shown():
    pages = wall_pages([TIN], paper_name="A4")
    assert "platinum cure" not in words(pages, "What stops a cure")
    assert "tin cure" in words(pages, "What stops a cure")


def test_every_defect_that_can_be_logged_has_its_causes(pages):
    rows = dict(wall_view.defect_rows())
    assert len(rows) == len(DEFECTS)
    text = words(pages, "From defect to cause")
    for told in rows.values():
        assert len(told) == wall_view.N_CAUSES
        assert all(cause in text and do in text for cause, do in told)
