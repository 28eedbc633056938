"""Damaged result folders: the runs compared as they were written, or one line.

What is under test is the promise of `castplan/errors.py`; there is no outside source for
it. Damage that leaves a record in its form cannot be told from another record: what is
asked then is that comparison, table and page can be made of it.
"""

import json
import os

import mutate_plan
import plan_folders
import pytest
from batch_parts import DIGEST, entry
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from castplan.batch.compare import compare, comparison_lines
from castplan.batch.digest import digest_of
from castplan.batch.outcome import Outcome
from castplan.batch.run import write_catalogue
from castplan.batch.store import Store, read_entries
from castplan.errors import InputError
from castplan.job import Shop

KINDS = ("number", "scaled", "word", "anything", "gone", "emptied", "twice", "deep", "foreign")
POT = {
    "inner_mm": [240.0, 300.0],
    "is_fitting": True,
    "way": "draw",
    "need_mm": [120.0, 90.0],
    "base_mm": [90.0, 60.0],
    "height_mm": 80.0,
    "resin_g": 85.0,
    "filler": "",
    "filler_fraction": 0.0,
    "largest_cup_g": 400.0,
}
POCKET = {"number": 1, "verdict": "may tear", "needs_fraction": 0.4, "allowed_fraction": 0.2}
share = st.floats(0, 1, exclude_max=True)


def results(place, **digest):
    """A result folder of two parts that are planned and one that is not."""
    store = Store(place)
    entries = [
        entry("hook", digest={"pot": POT} | digest),
        entry("rail", digest={"pockets": [POCKET], "split": "following"}),
        entry("cup", status="time", error="cup.stl: found no plan after 9 s"),
    ]
    store.list_parts({each.name: each.key for each in entries})
    for each in entries:
        store.keep(each, Outcome(status=each.status, files=(("plan.json", b"{}"),)))
    return store


@pytest.fixture
def both(tmp_path):
    return results(tmp_path / "before"), results(tmp_path / "after", verdict="locked")


def refused(place):
    with pytest.raises(InputError) as error:
        read_entries(place)
    said = str(error.value)
    assert "\n" not in said and len(said) < 700
    return said


def test_what_a_plan_tells_is_of_the_form_that_is_read(tmp_path):
    made = digest_of(plan_folders.coarse_plan())
    store = Store(tmp_path / "out")
    told = entry("hook", digest=made)
    store.list_parts({"hook": told.key})
    store.keep(told, Outcome(status="planned", files=(("plan.json", b"{}"),)))
    assert read_entries(store.place) == [told] and told.digest == made


@pytest.mark.parametrize("name", ["batch.json", "records/hook.json"])
def test_what_is_damaged_is_one_line_and_what_is_not_can_be_told(both, name):
    before, after = both
    sound = read_entries(before.place)
    path = before.place / name
    whole = path.read_bytes()
    n_read = []

    @settings(
        max_examples=250,
        deadline=None,
        derandomize=True,
        database=None,
        suppress_health_check=list(HealthCheck),
    )
    @given(kind=st.sampled_from(KINDS), place=share, amount=share)
    def run(kind, place, amount):
        damaged = mutate_plan.damage(
            {"plan.json": whole, "part.npz": b"PK\3\4"}, [(kind, place, amount)]
        )
        path.write_bytes(damaged["plan.json"])
        try:
            found = read_entries(before.place)
        except InputError as error:
            assert "\n" not in str(error) and len(str(error)) < 700
        else:
            n_read.append(found != sound)
            comparison_lines(compare(found, read_entries(after.place)))
            # What is damaged may stand where the run is gone on with: it is left out.
            write_catalogue(before, title="t", n_asked=3, shop=Shop(), pot_mm=(240.0, 300.0))

    run()
    # Some damage gets through the form: the search reaches that far.
    assert 0 < len(n_read) < 200 and any(n_read)
    path.write_bytes(whole)
    assert read_entries(before.place) == sound


@pytest.mark.parametrize("name", ["../before/records/hook", "/etc/passwd", "a\\b", "", "a\nb", "."])
def test_no_name_reads_beside_the_records(both, name):
    before, _ = both
    (before.place / "batch.json").write_text(json.dumps({"parts": {name: "k"}}))
    if name == ".":  # a name like any other: there is no record of it
        assert read_entries(before.place) == []
    else:
        assert "found no batch's results" in refused(before.place)


def test_a_record_of_another_part_or_with_markup_for_a_picture_is_refused(both):
    place = both[0].place / "records"
    (place / "hook.json").write_bytes((place / "rail.json").read_bytes())
    assert "it is of another part" in refused(both[0].place)
    picture = DIGEST["picture"] | {"outline": '"><script>alert(1)</script>'}
    results(both[0].place, picture=picture)
    assert "outline is none of its kind" in refused(both[0].place)


@pytest.mark.parametrize("name", ["batch.json", "records/hook.json"])
def test_a_folder_under_that_name_is_one_line_or_a_part_that_has_not_ended(both, name):
    path = both[0].place / name
    path.unlink()
    os.mkdir(path)
    if name == "batch.json":
        assert "found no batch's results" in refused(both[0].place)
    else:
        assert [each.name for each in read_entries(both[0].place)] == ["rail", "cup"]


def test_going_on_plans_anew_what_is_damaged(both):
    store = both[0]
    (store.place / "records" / "hook.json").write_text("{")
    assert not store.holds("hook", "k", limits=None)
    assert [each.name for each in store.entries()] == ["rail", "cup"]
