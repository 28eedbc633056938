"""A plan holds no language: made in any it is the same, and it is shown in any without planning.

Truth is the plan made and written while the other language is spoken, byte for byte.
"""

import json

import pytest
from output.greek import greek_catalogue
from output.left_english import CODES, JOBS, NAMES, RENAMED, SAMPLE_PARTS

import castplan
from castplan import door, texts
from castplan.errors import InputError
from castplan.files.plan_folder import read_plan
from castplan.files.record import plan_json
from castplan.page.cards import cards_of
from castplan.page.scene_data import room_json
from castplan.part.load import load_part

# Pockets of each kind, a riser, high points that keep air, a face that is open.
PLANNED = (("coat_hook", "every way"), ("posts", "no way"), ("lamp_bezel", "as it comes"))


def planned(name, job):
    return door.plan_part(load_part(SAMPLE_PARTS / f"{name}.stl", unit="mm"), JOBS[job])


def files_of(folder):
    """Bytes of a plan folder's files by name."""
    return {path.name: path.read_bytes() for path in folder.iterdir()}


@pytest.fixture(scope="module", params=PLANNED, ids=" ".join)
def both(request, tmp_path_factory):
    """A folder planned and written in English, one in Greek, and the plan made in Greek."""
    home = tmp_path_factory.mktemp("plans")
    planned(*request.param).write(home / "english")
    texts.use(greek_catalogue())
    try:
        made = planned(*request.param)
        made.write(home / "greek")
    finally:
        texts.use({})
    return home, made


@pytest.fixture
def greek():
    texts.use(greek_catalogue())
    yield
    texts.use({})


def test_the_record_is_the_same_bytes_in_every_language(both):
    home, made = both
    english, greek = (files_of(home / name) for name in ("english", "greek"))
    assert english["plan.json"] == greek["plan.json"] == plan_json(made.record)
    assert {name for name in english if english[name] != greek[name]} >= {"sheets.pdf", "view.html"}


def test_a_plan_read_back_is_the_same_record(both):
    home, made = both
    assert plan_json(read_plan(home / "english")) == plan_json(made.record)


def test_a_plan_made_in_english_is_written_in_greek_as_if_made_there(both, greek, tmp_path):
    home, _ = both
    castplan.read_plan(home / "english").write(tmp_path / "again")
    assert files_of(tmp_path / "again") == files_of(home / "greek")


def test_the_page_shows_it_in_greek_as_if_made_there(both, greek):
    home, made = both
    again = read_plan(home / "english")
    as_made = castplan.read_plan(home / "greek").record
    assert cards_of(again, {}) == cards_of(as_made, {})
    assert room_json(again) == room_json(as_made)
    # Digits past the sixth change no sentence of the cards either.
    steps = [[step["text"] for step in cards_of(p, {})["steps"]] for p in (again, made.record)]
    assert steps[0] == steps[1]


def plain_texts(value, path=""):
    """(field, text) of every string of a document that is no part of a told text."""
    if isinstance(value, str):
        yield path, value
    elif isinstance(value, list):
        for item in value:
            yield from plain_texts(item, path)
    elif isinstance(value, dict) and value.keys() != {"key", "fields"}:
        for name, item in value.items():
            yield from plain_texts(item, name)


def sentences_in(document):
    """Plain strings that have a blank and are no code that has one, nor a name of the shop."""
    codes = {text for key, text in texts.english().items() if key.split(".")[0] in NAMES}
    codes |= {"mPa s", *RENAMED}
    job = {text for _, text in plain_texts(document["job"])}
    return sorted(
        text
        for field, text in plain_texts(document)
        if " " in text.strip() and text not in CODES.get(field, set()) | codes | job
    )


def test_no_plain_string_of_a_record_is_a_sentence(both):
    home, _ = both
    document = json.loads((home / "english" / "plan.json").read_bytes())
    assert len(list(plain_texts(document))) > 100
    assert sentences_in(document) == []


def test_the_search_for_sentences_can_fail(both):
    home, _ = both
    document = json.loads((home / "english" / "plan.json").read_bytes())
    document["findings"][0]["message"] = "Vent 3 would run through the part."
    document["show"]["why"] = "may tear"  # a code, where none belongs
    assert sentences_in(document) == ["Vent 3 would run through the part.", "may tear"]


def broken(folder, change):
    """The folder with its record changed."""
    document = json.loads((folder / "plan.json").read_bytes())
    change(document)
    (folder / "plan.json").write_text(json.dumps(document), encoding="utf-8")


def test_a_folder_of_an_earlier_form_is_refused_in_one_line(tmp_path):
    planned("posts", "no way").write(tmp_path / "plan")

    def as_first_form(document):
        # The first form held sentences.
        document["schema"] = "castplan-plan-1"
        for finding in document["findings"]:
            finding["message"] = finding["do"] = "As it was said when it was planned."

    broken(tmp_path / "plan", as_first_form)
    with pytest.raises(InputError, match=r"castplan-plan-1.*Plan the part again"):
        castplan.read_plan(tmp_path / "plan")
    broken(tmp_path / "plan", lambda document: document.update(schema="castplan-plan-2"))
    with pytest.raises(InputError, match=r"is no dict.*Plan the part again") as refused:
        castplan.read_plan(tmp_path / "plan")
    assert "\n" not in str(refused.value)


def test_a_text_that_castplan_has_not_is_refused(tmp_path):
    planned("posts", "no way").write(tmp_path / "plan")
    broken(tmp_path / "plan", lambda d: d["findings"][0]["message"].update(key="air_finding.gone"))
    with pytest.raises(InputError, match=r"air_finding\.gone.*Plan the part again"):
        castplan.read_plan(tmp_path / "plan")
