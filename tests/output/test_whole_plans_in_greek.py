"""A plan is the same in every language, and holds no English when it is shown in another.

Samples are planned in English and shown while a catalogue of Greek letters is
spoken. A Latin word in a text is then one that no translation could reach.
"""

import pytest
from output.greek import greek_catalogue
from output.left_english import JOBS, SAMPLE_PARTS, latin, left_in, sentences

from castplan import texts
from castplan.files.record import plan_json
from castplan.part.load import load_part
from castplan.planning import build_plan
from castplan.view.scene import build_scene

pytestmark = pytest.mark.long

# Together they bring pockets of every kind, a riser, splits that are not level, and a cut.
PLANNED = (("coat_hook", "every way"), ("louvre_grille", "no way"), ("louvre_grille", "cut open"))


def planned(name, job):
    return build_plan(load_part(SAMPLE_PARTS / f"{name}.stl", unit="mm"), JOBS[job])


@pytest.fixture(scope="module", params=PLANNED, ids=" ".join)
def in_english(request):
    return planned(*request.param), request.param


@pytest.fixture
def greek():
    texts.use(greek_catalogue())
    yield
    texts.use({})


def test_a_plan_shown_in_another_language_holds_no_english(in_english, greek):
    plan, _ = in_english
    assert left_in(plan, build_scene(plan)) == []


def test_a_plan_is_the_same_in_every_language(in_english, greek):
    plan, named = in_english
    assert plan_json(planned(*named)) == plan_json(plan)


def test_the_search_finds_english_and_passes_codes(in_english):
    plan, _ = in_english
    found = dict(sentences(plan))
    assert ".split.draw.candidates[].why" in found and ".findings[].message" in found
    assert not {"from memory", "may tear", "parts by weight"} & set(found.values())
    assert {place for place, _ in left_in(plan)} >= {"plan.split.draw.candidates[].why"}
    assert latin("Cast epoxy-slow-80d, --parting level, 4 mm") == ["Cast"]
