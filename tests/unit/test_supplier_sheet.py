"""A supplier's sheet becomes a card, or is told what on it cannot be."""

import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st
from invented import TIN

from castplan.errors import InputError
from castplan.materials.cards import card_from, class_cards
from castplan.materials.sheet import card_or_problems, card_text, read_line, read_sheet, stated_on
from castplan.materials.sheet_entries import CHEMISTRIES, ENTRIES


def problem_of(**changes):
    entry = {key: value for key, value in (TIN | changes).items() if value is not None}
    reading = read_sheet("ours", entry)
    assert reading.card is None
    assert len(reading.problems) == 1, reading.problems
    return reading.problems[0]


def test_a_sheet_becomes_a_card_of_the_shop():
    card = card_or_problems("ours", TIN)
    assert (card.origin, card.kind, card.card_id) == ("shop", "silicone", "ours")
    life = card.pot_life_min
    assert (life.value, life.low, life.high, life.basis) == (35, 30, 40, "data sheet")
    assert card.viscosity_mpa_s.basis == "assumed"
    assert str(card.viscosity_mpa_s.source).startswith("not on the sheet")


def test_what_is_missing_is_named_and_no_more():
    missing = read_sheet("ours", TIN).missing
    stated = {ENTRIES[name].words for name in TIN if name in ENTRIES}
    tin_only = {"tear strength", "casts from one mould"}
    assert stated.isdisjoint(missing)
    assert tin_only < set(missing)
    assert "heat of reaction" not in missing  # a silicone has none to state


# One of each alternative unit with its exact definition: 1 lb = 453.59237 g,
# 1 in = 25.4 mm, 1 US gal = 231 in3, 1 lbf = 4.4482216152605 N (NIST SP 811).
@pytest.mark.parametrize(
    ("name", "stated", "value"),
    [
        ("density_g_ml", "1080 kg/m3", 1.08),
        ("density_g_ml", "0.039 lb/in3", 0.039 * 453.59237 / 16.387064),
        ("density_g_ml", "9.0 lb/gal", 9 * 453.59237 / (231 * 16.387064)),
        ("viscosity_mpa_s", "26 Pa s", 26000),
        ("viscosity_mpa_s", "26000 cP", 26000),
        ("pot_life_min", "0.75 h", 45),
        ("demould_h", "30 min", 0.5),
        ("demould_h", "2 d", 48),
        ("pot_life_at_c", "77 F", 25),
        ("shrinkage_fraction", "0.4 %", 0.004),
        ("elongation_fraction", "480 %", 4.8),
        ("tear_n_mm", "150 lbf/in", 26.27),  # 0.17513 kN/m each: A-A-59588 rounds to 26.25
        ("tear_n_mm", "26.25 kN/m", 26.25),
        ("max_section_mm", "0.5 in", 12.7),
    ],
)
def test_units_of_sheets(name, stated, value):
    number, problem = read_line(name, stated, source="sheet")
    assert problem is None
    # Four digits are given above at least.
    assert number.value == pytest.approx(value, rel=2e-4)
    assert number.unit == ENTRIES[name].unit


def test_a_slip_of_unit_is_told_with_the_unit_it_looks_like():
    assert "if the sheet says 1080 kg/m3" in problem_of(density_g_ml=1080)
    assert "if the sheet says 0.4 %" in problem_of(shrinkage_fraction=0.4)
    assert "500 or more for a silicone" in problem_of(viscosity_mpa_s=26)
    assert "if the sheet says 480 %" in problem_of(elongation_fraction=480)


def test_what_contradicts_is_refused():
    both = {"density_a_g_ml": 1.10, "density_b_g_ml": 0.99, "ratio_a": 100}
    # 100:90 by weight is 1:1 by volume with these densities; 1:1 by weight is not.
    fast = {"chemistry": "polyurethane", "shore": "70 D", "density_g_ml": 1.05}
    good = read_sheet("ours", TIN | both | fast | {"ratio_b": 90, "ratio_b_by_volume": 100})
    assert good.problems == ()
    text = problem_of(**both, **fast, ratio_b=100, ratio_b_by_volume=100)
    assert "100:111 by volume, but the sheet says 100:100" in text
    text = problem_of(**both, **(fast | {"density_g_ml": 1.2}), ratio_b=90)
    assert "the parts make 1.04 g/ml, but the sheet says 1.2" in text
    assert "no longer than the pot life" in problem_of(demould_h="20 min")
    assert "full cure: found shorter" in problem_of(full_cure_h=2)


def test_ratio_and_density_follow_from_volume_and_parts():
    entry = TIN | {
        "chemistry": "polyurethane",
        "shore": "70 D",
        "density_a_g_ml": 1.10,
        "density_b_g_ml": 0.99,
        "ratio_b_by_volume": 100,
    }
    for name in ("ratio_a", "ratio_b", "density_g_ml"):
        del entry[name]
    card = card_or_problems("ours", entry)
    # Closed form: 1:1 by volume of 1.10 and 0.99 g/ml is 100:90 by weight; mixed
    # 190 / (2 * 100/1.10).
    assert card.ratio_b.value / card.ratio_a.value == pytest.approx(0.9, rel=1e-12)
    assert card.density_g_ml.value == pytest.approx(1.045, rel=1e-12)
    assert card.ratio_b.basis == card.density_g_ml.basis == "computed"


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"title": " "}, "title: found none"),
        ({"chemistry": "rubber"}, "need one of tin-cure"),
        ({"ratio_b": None}, "ratio by weight: found none"),
        ({"density_g_ml": None}, "17 % off"),
        ({"pot_life_min": None}, "pot life: found none"),
        ({"demould_h": "soon"}, "need a number with its unit"),
        ({"shore": 25}, "need a number with A or D"),
        ({"pot_life_min": "40 moons"}, "found the unit 'moons'"),
        ({"colour": "blue"}, "colour: found an entry that no card has"),
        ({"max_section_mm": 20}, "only a resin has it"),
        ({"density_g_ml": {"value": 1.1, "low": 1.2, "high": 1.3}}, "outside its own range"),
        ({"density_g_ml": {"value": 1.1, "basis": "hearsay"}}, "basis"),
    ],
)
def test_what_cannot_be_is_named(changes, words):
    assert words in problem_of(**changes)


@pytest.mark.parametrize("name", ["Ours", "a b", "../x", "", "silicone-tin-25a"])
def test_ids_that_are_none(name):
    with pytest.raises(InputError, match="id: found"):
        card_or_problems(name, TIN)


SHOWN = st.characters(exclude_categories=("C", "Z"))


@pytest.mark.parametrize("name", ["title", "sheet"])
@pytest.mark.parametrize("words", ["a\nb", "\x1b[31mred", "\u202egnp", "x" * 201])
def test_words_that_are_no_line_are_refused(name, words):
    assert f"{name}: found" in problem_of(**{name: words})
    with pytest.raises(InputError, match="incompatible: found"):
        card_or_problems("ours", TIN | {"incompatible": [words]})


@st.composite
def sheets(draw):
    """A sheet of any chemistry with any numbers inside the usual ranges."""
    chemistry = draw(st.sampled_from(sorted(CHEMISTRIES)))
    pot_life = draw(st.floats(1, 60))
    demould = draw(st.floats(1.5, 48))
    entry = {
        "title": draw(st.text(SHOWN, min_size=1, max_size=200)),
        "sheet": draw(st.text(SHOWN, max_size=200)),
        "chemistry": chemistry,
        "density_g_ml": draw(st.floats(0.9, 2.0)),
        "ratio_a": draw(st.floats(1, 200)),
        "ratio_b": draw(st.floats(1, 200)),
        "pot_life_min": pot_life,
        "demould_h": demould,
        "full_cure_h": demould * draw(st.floats(1, 5)),
        "shore": f"{draw(st.integers(1, 95))} {'A' if 'cure' in chemistry else 'D'}",
    }
    return entry


@given(entry=sheets())
def test_a_card_reads_back_as_it_was_written(entry):
    card = card_or_problems("ours", entry)
    again = card_from("ours", tomllib.loads(card_text(card))["ours"])
    told = [
        {n: vars(s) | {"source": str(s.source)} for n, s in one.numbers.items()}
        for one in (again, card)
    ]
    assert told[0] == told[1]
    assert (again.title, again.hazards, again.origin) == (card.title, card.hazards, "shop")
    # What was stated is what a later check looks at.
    kept = tomllib.loads(card_text(card))["ours"]
    stated = set(stated_on(kept)) & set(ENTRIES)
    assert set(entry) & set(ENTRIES) <= stated
    assert read_sheet("ours", stated_on(kept)).problems == ()


@pytest.mark.parametrize("card", class_cards().values(), ids=lambda card: card.card_id)
def test_the_classes_pass_the_shops_own_check(card):
    entry = tomllib.loads(card_text(card))[card.card_id]
    del entry["origin"]
    assert read_sheet("ours", entry).problems == ()


@pytest.mark.parametrize(
    ("shore", "stretch", "is_fine"),
    [
        ("75 D", "12 %", True),
        ("75 D", "500 %", False),
        ("60 D", "500 %", False),
        ("40 D", "300 %", True),
        ("80 A", "500 %", True),
    ],
)
def test_a_hard_resin_does_not_stretch_five_times(shore, stretch, is_fine):
    entry = stated_on_class("polyurethane-fast-70d") | {
        "shore": shore,
        "elongation_fraction": stretch,
    }
    problems = read_sheet("ours", entry).problems
    assert problems == () or not is_fine
    assert is_fine or (
        len(problems) == 1 and problems[0].startswith("elongation at break: found 500 %")
    )


def stated_on_class(card_id):
    """Some lines of a resin's sheet."""
    card = class_cards()[card_id]
    return {
        "title": "Invented resin",
        "chemistry": card.chemistry,
        "sheet": "invented",
        "density_g_ml": "1.05 g/ml",
        "ratio_a": 100,
        "ratio_b": 90,
        "pot_life_min": "3 min",
        "demould_h": "30 min",
    }
