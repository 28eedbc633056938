"""The choices: every kind at its limits; the schema says what the check does.

Values are invented here.
"""

import math

import jsonschema
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from output.greek import greek_catalogue, in_greek

from castplan import texts
from castplan.errors import InputError
from castplan.page.choices import (
    CHOICES,
    JOB,
    check_choices,
    in_words,
    job_from,
    reading_from,
    schema,
)
from castplan.records import Job

# The other judge is the jsonschema package, which knows JSON Schema and nothing of castplan.

PACK = {"name": "1 kg kit", "card": "silicone-tin-25a", "part": "kit", "mass_g": 1050, "price": 32}
GOOD = {
    "number": [0.5, 1, 50],
    "count": [1, 2, 3.0, 200],
    "flag": [True, False],
    "text": ["x", "longest=5.6in", "é" * 200],
    "way": [[0, 0, 1], [0.1, -2, 3.5]],
    "lengths": [[240, 300]],
    "places": [[], [[0, 0, 0], [-3.5, 20, 1e5]]],
    "spots": [[], [[0, 0, 0, 5], [-3.5, 20, 1e5, 0.1]]],
    "packs": [[], [PACK], [PACK | {"most": 2, "shelf_life_months": 12}] * 50],
    "parts": [[]],
}
BAD = {
    "number": ["1", True, [1], {}, math.inf, 1e300, 10**400],
    "count": [-1, 1.5, "2", True, 10**400, 10**9],
    "flag": [0, 1, "yes", []],
    "word": ["", "no such word", 1, [], {}, True],
    "text": ["", "x" * 201, "two\nlines", "\x00", "\ud800", 5, [], True],
    "way": [[0, 0, 0], [0, 0], [0, 0, 1, 0], [0, 0, "1"], [0, 0, True], "z", {}, [1e9, 0, 0]],
    "lengths": [[240], [0, 300], [240, 1e9], "240,300"],
    "places": [[[0, 0]], [[0, 0, 0, 0]], [0, 0, 0], [[0, 0, "1"]], [[0, 0, 1e9]], [[0] * 3] * 201],
    "spots": [
        [[0, 0, 0]],
        [[0] * 5],
        [0, 0, 0, 5],
        [[0, 0, "1", 5]],
        [[0, 0, 0, 0]],
        [[0] * 4] * 201,
    ],
    "packs": [
        PACK,
        ["kit"],
        [[]],
        [{}],
        [PACK | {"part": "C"}],
        [PACK | {"part": []}],
        [PACK | {"mass_g": 0}],
        [PACK | {"mass_g": 10**400}],
        [PACK | {"mass_g": True}],
        [PACK | {"price": -1}],
        [PACK | {"most": 1.5}],
        [PACK | {"name": "\ud800"}],
        [PACK | {"name": None}],
        [PACK | {"path": "/etc"}],
        [PACK] * 51,
    ],
    "parts": ["0" * 64, {}, [5], [[]], [{}], 1, True],
}
NAMES = sorted(CHOICES)


def good(name):
    choice = CHOICES[name]
    if choice.kind == "word":
        return choice.words
    if choice.kind in ("number", "count"):
        return [value for value in (choice.least, choice.most) if value is not None]
    return GOOD[choice.kind]


@pytest.mark.parametrize("name", NAMES)
def test_what_may_be_chosen_is_taken_as_it_is(name):
    for value in good(name):
        assert check_choices({name: value}) == {name: value}
        jsonschema.validate({name: value}, schema())


@pytest.mark.parametrize("name", NAMES)
def test_what_may_not_be_chosen_is_told(name):
    for value in BAD[CHOICES[name].kind]:
        with pytest.raises(InputError) as caught:
            check_choices({name: value})
        assert name in str(caught.value)
        str(caught.value).encode("utf-8")


@pytest.mark.parametrize("name", [name for name in NAMES if CHOICES[name].least is not None])
def test_limits_hold_on_both_sides(name):
    choice = CHOICES[name]
    step = 1 if choice.kind == "count" else 1e-9
    for value in (choice.least - step, choice.most + max(step, choice.most * 1e-9)):
        stated = {"lengths": [value, value], "places": [[value, 0, 0]]}.get(choice.kind, value)
        with pytest.raises(InputError):
            check_choices({name: stated})


@pytest.mark.parametrize("name", NAMES)
def test_null_is_castplans_own_choice(name):
    assert check_choices({name: None}) == {}
    jsonschema.validate({name: None}, schema())


@pytest.mark.parametrize("stated", [[], "units", None, 5, {"path": 1}, {"": 1}, {"shop": {}}])
def test_what_is_no_choice_is_told(stated):
    with pytest.raises(InputError, match="choices: found "):
        check_choices(stated)


PLAIN = st.one_of(
    st.none(), st.booleans(), st.integers(), st.floats(allow_nan=False), st.text(max_size=12)
)
ANYTHING = st.recursive(
    PLAIN,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=6), inner),
    max_leaves=6,
)
NEAR = st.one_of(
    st.integers(-3, 3000),
    st.floats(-3, 3000),
    st.lists(st.floats(-2000, 2000), min_size=2, max_size=3),
    st.sampled_from([word for choice in CHOICES.values() for word in choice.words]),
)


@settings(max_examples=400, derandomize=True, deadline=None)
@given(st.sampled_from(NAMES), ANYTHING | NEAR)
def test_schema_and_check_agree(name, value):
    is_meant = jsonschema.Draft202012Validator(schema()).is_valid({name: value})
    try:
        check_choices({name: value})
        is_taken = True
    except InputError:
        is_taken = False
    # What the schema cannot say: signs that print, directions that are not zero.
    if CHOICES[name].kind == "text" and isinstance(value, str):
        assume(value.isprintable())
    if CHOICES[name].kind == "way" and is_meant and isinstance(value, list):
        assume(1e-6 < math.hypot(*value) < 1e6)
    assert is_taken == is_meant


def frozen(value):
    return tuple(map(frozen, value)) if isinstance(value, list) else value


@pytest.mark.parametrize("name", [name for name in JOB if name not in ("silicone", "resin")])
def test_every_choice_of_the_job_reaches_it(name):
    value = good(name)[-1]
    job = job_from(check_choices({name: value}))
    if name == "packs":
        assert [pack.name for pack in job.shop.packs] == [pack["name"] for pack in value]
    else:
        assert getattr(job, name) == frozen(value)
    others = set(JOB) - {name, "packs"}
    assert {other: getattr(job, other) for other in others} == {
        other: getattr(Job(), other) for other in others
    }


def test_a_card_that_is_not_there_is_told():
    with pytest.raises(InputError, match="no-such-rubber"):
        job_from({"silicone": "no-such-rubber"})
    assert job_from({"silicone": "silicone-platinum-20a"}).silicone == "silicone-platinum-20a"


def test_how_the_file_is_read():
    told = reading_from({"units": "in", "thickness_mm": 3.0})
    assert (told["unit"], told["closing"].thickness_mm) == ("in", 3.0)
    assert reading_from({})["closing"] is None
    assert reading_from({"close_to_plane": True})["closing"].thickness_mm is None


def test_people_are_told_in_their_language_and_programs_in_english():
    english = schema()
    assert in_words("copies, place, opened") == "castings wanted; where the part will live; opened"
    texts.use(greek_catalogue())
    try:
        assert schema() == english
        assert in_words("copies") == in_greek("castings wanted")
        assert check_choices({"place": "shade"}) == {"place": "shade"}
    finally:
        texts.use({})
