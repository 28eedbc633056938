"""A plan made in another language holds no English: record, sheets, drawings, view.

Samples are planned while a catalogue of Greek letters is spoken. A Latin word
in a text is then one that no translation could reach.
"""

from dataclasses import fields, is_dataclass

import numpy as np
import pytest
from output.greek import greek_catalogue
from output.left_english import CODES, JOBS, SAMPLE_PARTS, latin, left_in, sentences

from castplan import texts
from castplan.part.load import load_part
from castplan.planning import build_plan
from castplan.view.scene import build_scene

pytestmark = pytest.mark.long

# Together they bring pockets of every kind, a riser, and splits that are not level.
PLANNED = (("coat_hook", "every way"), ("louvre_grille", "no way"))


def planned(name, job):
    return build_plan(load_part(SAMPLE_PARTS / f"{name}.stl", unit="mm"), JOBS[job])


@pytest.fixture(scope="module", params=PLANNED, ids=" ".join)
def in_english(request):
    return planned(*request.param), request.param


@pytest.fixture(scope="module")
def in_greek(in_english):
    """The same plan made in Greek, and (place, text) of what it says in English."""
    texts.use(greek_catalogue())
    try:
        plan = planned(*in_english[1])
        return plan, left_in(plan, build_scene(plan))
    finally:
        texts.use({})


def no_texts(value):
    """Numbers, arrays and codes of a record, in order."""
    if isinstance(value, tuple):
        for item in value:
            yield from no_texts(item)
    elif is_dataclass(value):
        for entry in fields(value):
            held = getattr(value, entry.name)
            if entry.name in CODES:
                yield held
            else:
                yield from no_texts(held)
    elif not isinstance(value, str):
        yield value


def is_same(one, other):
    if isinstance(one, np.ndarray) and one.dtype.kind == "f":
        return np.array_equal(one, other, equal_nan=True)
    return np.array_equal(one, other)


def test_a_plan_in_another_language_holds_no_english(in_greek):
    _, left = in_greek
    assert left == []


def test_the_language_changes_no_number_and_no_code(in_english, in_greek):
    pairs = list(zip(no_texts(in_english[0]), no_texts(in_greek[0]), strict=True))
    assert len(pairs) > 1000
    assert [pair for pair in pairs if not is_same(*pair)] == []


def test_the_search_finds_english_and_passes_codes(in_english):
    plan, _ = in_english
    found = dict(sentences(plan))
    assert ".draw.candidates[].why" in found and ".findings[].message" in found
    assert not {"from memory", "may tear", "parts by weight"} & set(found.values())
    assert {place for place, _ in left_in(plan)} >= {"plan.draw.candidates[].why"}
    assert latin("Cast epoxy-slow-80d, --parting level, 4 mm") == ["Cast"]
