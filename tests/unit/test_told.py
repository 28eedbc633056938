"""Texts as records hold them: a key and fields, said when they are shown.

Truth: Python's own formatting (str.format), and the catalogue as it stands.

Values are invented here.
"""

import re

import numpy as np
import pytest
from output.greek import greek_catalogue, in_greek

from castplan import texts
from castplan.files.reading import from_plain
from castplan.files.record import plain
from castplan.texts import options_named
from castplan.texts.told import (
    UNTOLD,
    Told,
    clauses,
    in_a_row,
    tell,
    tell_data,
    together,
)


@pytest.fixture
def greek():
    texts.use(greek_catalogue())
    yield
    texts.use({})


VENTS = tell("count.vent", n=4, number="4")
PAGE = tell("foot.page", page=3, pages=28)


def test_what_is_told_is_said_in_the_language_of_the_moment():
    assert (str(PAGE), f"{PAGE}", f"{PAGE:>20}") == ("page 3 of 28",) * 2 + (
        f"{'page 3 of 28':>20}",
    )
    texts.use(greek_catalogue())
    try:
        assert str(PAGE) == in_greek("page {page} of {pages}").format(page=3, pages=28)
    finally:
        texts.use({})
    assert str(PAGE) == "page 3 of 28"


def test_a_text_that_counts_keeps_its_number():
    assert (str(VENTS), str(tell("count.vent", n=1, number="1"))) == ("4 vents", "1 vent")


def test_texts_hold_texts_and_lists_of_them():
    told = together([PAGE, UNTOLD, VENTS])
    assert str(told) == "page 3 of 28 4 vents"
    assert str(clauses([PAGE, VENTS])) == "page 3 of 28; 4 vents"
    assert str(in_a_row(["a", VENTS, 7])) == "a, 4 vents, 7"
    assert together([UNTOLD, PAGE]) is PAGE and together([]) is UNTOLD
    assert str(UNTOLD) == "" and not UNTOLD and PAGE


def test_two_are_the_same_where_they_say_the_same_in_every_language():
    assert tell("foot.page", pages=28, page=3) == PAGE != tell("foot.page", pages=28, page=4)
    assert len({PAGE, tell("foot.page", page=np.int64(3), pages=28.0), VENTS}) == 2


def test_what_a_text_does_not_name_is_left_out_and_what_it_names_is_needed():
    assert tell("foot.page", page=3, pages=28, colour="red") == PAGE
    with pytest.raises(KeyError, match="pages"):
        tell("foot.page", page=3)
    with pytest.raises(KeyError, match="n"):
        tell("count.vent", number="4")
    with pytest.raises(KeyError, match=r"foot\.none"):
        tell("foot.none")
    with pytest.raises(TypeError, match="a field is"):
        tell("foot.page", page=3, pages=object())


def test_numbers_have_the_digits_that_a_plans_file_keeps():
    fields = dict(tell("foot.page", page=np.float64(1 / 3), pages=-0.0).fields)
    assert fields["page"] == 0.333333 and str(fields["pages"]) == "0.0"


def test_nobody_can_look_into_one():
    own = {name for name in dir(str) if not name.startswith("__")}
    assert own & set(dir(Told)) == set()
    for look in (
        len,
        iter,
        lambda told: "page" in told,
        lambda told: told + ".",
        re.compile("a").search,
    ):
        with pytest.raises(TypeError):
            look(PAGE)


def test_words_of_a_file_are_told_and_those_of_the_shop_stay(greek):
    assert str(tell_data("acrylic sheet")) == in_greek("acrylic sheet")
    assert str(tell_data("Smith's tin")) == "Smith's tin"
    assert tell_data("") is UNTOLD


def test_an_option_is_named_by_who_shows_it():
    told = tell("air_finding.other_attitude_do", up="0,0,1")
    assert dict(told.fields) == {"up": "0,0,1"}
    assert str(told) == "Leave --up to the plan, or set --up=0,0,1."
    with options_named(lambda option, value: f"<{option[2:]}{value}>"):
        assert str(told) == "Leave <up> to the plan, or set <up=0,0,1>."
    assert str(told) == "Leave --up to the plan, or set --up=0,0,1."


def test_one_is_written_and_read_back():
    told = together([PAGE, in_a_row(["a", VENTS, 0.5]), tell_data("Smith's tin")])
    assert from_plain(Told, plain(told)) == told
    assert from_plain(Told, plain(UNTOLD)) == UNTOLD


@pytest.mark.parametrize(
    "broken",
    [
        "page 3 of 28",
        {"key": "foot.page"},
        {"key": "foot.page", "fields": {"page": 3}},
        {"key": "foot.page", "fields": {"page": 3, "pages": 28, "colour": "red"}},
        {"key": "foot.page", "fields": {"page": 3, "pages": None}},
        {"key": "foot.none", "fields": {}},
        {"key": "foot.page", "fields": {"page": 3, "pages": {"key": "count.vent", "fields": {}}}},
    ],
)
def test_what_no_catalogue_says_is_not_read(broken):
    with pytest.raises((ValueError, KeyError, TypeError)):
        from_plain(Told, broken)
