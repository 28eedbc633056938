"""Cards, cautions, the matrix and the steps in another language.

The language is one of Greek letters, so that a letter that is left Latin is
one that no translation could reach.
"""

import ast
import re
import tomllib
from pathlib import Path

import pytest
from invented import TIN
from output.greek import greek_catalogue

import castplan
from castplan import texts
from castplan.materials import folder
from castplan.materials.cards import class_cards, load_cards, pot_life_factor
from castplan.materials.cautions import load_cautions
from castplan.materials.compat import load_matrix
from castplan.materials.sheet import card_or_problems, card_text, stated_on
from castplan.materials.sheet_entries import CHEMISTRIES
from castplan.materials.wording import chemistry_head, chemistry_text, mix_text, thing_text

BENCH = Path(castplan.__file__).parent / "bench"


@pytest.fixture
def greek():
    texts.use(greek_catalogue())
    yield
    texts.use({})


def words_of_cards():
    for card in class_cards().values():
        yield card.title
        yield from card.incompatible
        yield from (number.source for number in card.numbers.values())


def words_of_cautions():
    for caution in load_cautions().values():
        yield from (caution.title, caution.text, caution.source, caution.limits)


def words_of_matrix():
    for things in load_matrix().values():
        for thing in things.values():
            yield thing.words
            for meeting in thing.meets.values():
                yield from (meeting.reason, meeting.source)


WORDS = (words_of_cards, words_of_cautions, words_of_matrix)


def latin(told):
    return [text for text in map(str, told) if re.search("[A-Za-z]", text)]


@pytest.mark.parametrize("words", WORDS)
def test_material_files_are_told_in_the_language(greek, words):
    assert latin(words()) == []


@pytest.mark.parametrize("words", WORDS)
def test_what_is_kept_from_call_to_call_holds_no_language(words):
    made = list(words())
    texts.use(greek_catalogue())
    try:
        assert list(words()) == made and latin(made) == []
    finally:
        texts.use({})
    assert latin(made)


def test_codes_stay_and_have_words(greek):
    matrix = load_matrix()
    assert {card.chemistry for card in class_cards().values()} == set(CHEMISTRIES)
    assert {
        code for what in matrix.values() for thing in what.values() for code in thing.meets
    } <= (set(CHEMISTRIES))
    told = [*map(chemistry_text, CHEMISTRIES), *map(chemistry_head, CHEMISTRIES)]
    told += [*map(thing_text, matrix), pot_life_factor().source]
    assert len(set(told)) >= len(matrix) + len(CHEMISTRIES) and latin(told) == []
    # A card that was written by hand may name a chemistry that has no words.
    assert chemistry_text("polyurea-fast") == "polyurea-fast"


def test_the_shops_own_card_stays_as_it_was_written():
    made = card_or_problems("ours", TIN)
    folder.keep(folder.card_file("ours"), card_text(made))
    texts.use(greek_catalogue())
    try:
        read = load_cards()["ours"]
        said = {name: str(number.source) for name, number in read.numbers.items()}
        assert str(read.title) == str(made.title)
    finally:
        texts.use({})
    # What it has of a class was written down in English, and is no text of the catalogue.
    assert said == {name: str(number.source) for name, number in made.numbers.items()}


def kept(entry):
    return tomllib.loads(card_text(card_or_problems("ours", entry)))["ours"]


def test_what_a_sheet_stated_is_told_apart_in_every_language(greek):
    entry = kept(TIN)
    # In Greek letters but for the id of the class.
    assert not entry["viscosity_mpa_s"]["source"].startswith("not on the sheet")
    stated = stated_on(entry)
    texts.use({})
    assert set(stated) == set(stated_on(kept(TIN)))
    assert "viscosity_mpa_s" not in stated and "pot_life_min" in stated


def test_a_mix_is_told_in_the_language(greek):
    assert re.findall("[A-Za-z]+", str(mix_text(a_g=593.758, b_g=29.688))) == ["g"] * 4


def kinds_done(source):
    """First words of all calls of `do` that a module makes."""
    return {
        node.args[0].value
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.Call) and getattr(node.func, "attr", "") == "do"
    }


def test_every_kind_of_step_has_a_name():
    named = {key.partition(".")[2] for key in texts.english() if key.startswith("step_name.")}
    done = [kinds_done(path.read_text(encoding="utf-8")) for path in BENCH.glob("*.py")]
    assert set().union(*done) == named
