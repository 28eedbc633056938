"""Damaged plan folders: the plan as it was written, or one line; never anything else.

Short version of `tests/bench/fuzz_folders.py`, on the reader that every command shares.
What is under test is the promise of `castplan/errors.py`; there is no outside source
for it. A folder whose seal was made anew over the damage has to stand the checks of
its numbers and arrays alone. Values are invented here.
"""

import io
import json
import os

import mutate_plan
import numpy as np
import plan_folders
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from castplan.errors import CastplanError, InputError
from castplan.files.cast_file import read_log
from castplan.files.plan_folder import read_plan
from castplan.files.record import plan_json

share = st.floats(0, 1, exclude_max=True)
recipes = st.lists(
    st.tuples(st.sampled_from(sorted(mutate_plan.KINDS)), share, share), min_size=1, max_size=2
)


@pytest.fixture(scope="module")
def sound(tmp_path_factory):
    """The files of a folder that is as it was written."""
    return plan_folders.sound_files(tmp_path_factory.mktemp("sound") / "plan")


@pytest.fixture
def ending(tmp_path):
    """Read the folder of these files: the plan, or the error."""
    folder = tmp_path / "damaged"

    def ending(files):
        plan_folders.clear(folder)
        plan_folders.lay_out(folder, files)
        try:
            plan = read_plan(folder)
            read_log(folder)
        except CastplanError as error:
            assert error.exit_code == 2
            assert "\n" not in str(error) and len(str(error)) < 700
            return error
        return plan

    return ending


def run_all(sound, ending, n_folders):
    """How many of so many damaged folders are read, sealed again or not."""
    n_read = {"": 0, "sealed": 0}
    whole = sound["plan.json"]

    @settings(
        max_examples=n_folders,
        deadline=None,
        derandomize=True,
        database=None,
        suppress_health_check=list(HealthCheck),
    )
    @given(recipe=recipes)
    def run(recipe):
        files = mutate_plan.damage(sound, recipe)
        found = ending(files)
        if not isinstance(found, CastplanError):
            n_read[""] += 1
            # Nothing of what the commands go by is other than it was written.
            assert plan_json(found) == whole
        if files.get("plan.json") != whole or files.get("part.npz") != sound["part.npz"]:
            found = ending(plan_folders.sealed(files))
            n_read["sealed"] += not isinstance(found, CastplanError)

    run()
    return n_read


def test_damage_ends_in_the_plan_as_written_or_in_one_line(sound, ending):
    n_read = run_all(sound, ending, 120)
    # A hand that seals its changes anew gets some of them through: the search reaches that far.
    assert n_read["sealed"] > 0


@pytest.mark.long
def test_two_thousand_damaged_folders(sound, ending):
    assert run_all(sound, ending, 2000)["sealed"] > 0


def test_the_folder_is_sound_before(sound, ending):
    assert plan_json(ending(sound)) == sound["plan.json"]
    assert plan_json(ending(plan_folders.sealed(sound))) == sound["plan.json"]


@pytest.mark.parametrize("kind", sorted(mutate_plan.KINDS))
def test_each_kind_of_damage_can_be_told_from_none(sound, kind):
    assert mutate_plan.damage(sound, [(kind, 0.04, 0.6)]) != sound


def with_arrays(sound, **changed):
    """The folder with other arrays in its mesh, sealed anew where there can be a seal."""
    with np.load(io.BytesIO(sound["part.npz"])) as stored:
        arrays = {name: stored[name] for name in stored.files} | changed
    out = io.BytesIO()
    np.savez_compressed(out, **arrays)
    return plan_folders.sealed(sound | {"part.npz": out.getvalue()})


def moved(array, value):
    out = array.copy()
    out.flat[7] = value
    return out


# The two that ended in a segmentation fault, and what else a kernel would read as an address.
@pytest.mark.parametrize("corner", [-1, -(2**31), 2**31 - 1, "n", 10**8])
@pytest.mark.parametrize("name", ["faces", "cap_faces"])
def test_a_corner_that_is_no_vertex_is_refused(sound, ending, name, corner):
    part = plan_folders.coarse_plan().part
    n = len(part.vertices_mm)
    found = ending(with_arrays(sound, **{name: moved(part.faces, n if corner == "n" else corner)}))
    assert isinstance(found, InputError) and "part.npz: found no mesh of the plan" in str(found)


def test_the_last_vertex_is_a_corner_that_may_be(sound, ending):
    part = plan_folders.coarse_plan().part
    files = with_arrays(sound, cap_faces=np.full((1, 3), len(part.vertices_mm) - 1, np.int32))
    assert len(ending(files).part.cap_faces) == 1


@pytest.mark.parametrize("value", [np.nan, np.inf, -np.inf, 1e300])
def test_a_vertex_that_is_nowhere_is_refused(sound, ending, value):
    points = moved(plan_folders.coarse_plan().part.vertices_mm, value)
    assert "part.npz: found no mesh" in str(ending(with_arrays(sound, vertices_mm=points)))


def test_a_number_that_was_changed_is_refused_and_one_out_of_reach_too_if_sealed(sound, ending):
    def changed(value):
        document = json.loads(sound["plan.json"])
        document["bench"]["amounts"]["mixes"][0]["a_g"] = value
        return sound | {"plan.json": json.dumps(document).encode()}

    assert "another plan than was written with its mesh" in str(ending(changed(12.5)))
    found = ending(plan_folders.sealed(changed(12.5)))
    assert found.bench.amounts.mixes[0].a_g == 12.5
    for value in (1e15, -1e300, 10**400):
        found = str(ending(plan_folders.sealed(changed(value))))
        assert "is out of reach" in found
    for word in ("NaN", "Infinity", "-Infinity"):
        text = sound["plan.json"].replace(b'"volume_mm3":', b'"volume_mm3":%s' % word.encode(), 1)
        assert "found no plan (" in str(ending(sound | {"plan.json": text}))
        assert "found no plan (" in str(ending(changed(float(word.lower()))))


def test_the_same_record_otherwise_laid_out_is_the_same(sound, ending):
    laid_out = json.dumps(json.loads(sound["plan.json"]), indent=2).encode()
    assert plan_json(ending(sound | {"plan.json": laid_out})) == sound["plan.json"]


def test_an_array_of_objects_runs_nothing(sound, ending, tmp_path):
    class Trap:
        def __reduce__(self):
            return os.mkdir, (str(tmp_path / "sprung"),)

    trap = np.array([[Trap(), 0, 0]], dtype=object)
    assert "found no mesh" in str(ending(with_arrays(sound, cap_faces=trap)))
    assert not (tmp_path / "sprung").exists()


@pytest.mark.parametrize(
    "seal", [np.zeros(32, "V8"), np.zeros(32), np.zeros((4, 8), np.uint8), np.uint8(0)]
)
def test_a_seal_that_is_none_is_refused(sound, ending, seal):
    with np.load(io.BytesIO(sound["part.npz"])) as stored:
        arrays = {name: stored[name] for name in stored.files}
    out = io.BytesIO()
    np.savez_compressed(out, **arrays | {"seal": seal})
    assert isinstance(ending(sound | {"part.npz": out.getvalue()}), InputError)


@pytest.mark.parametrize("name", ["plan.json", "part.npz"])
def test_a_folder_or_a_link_to_itself_under_that_name_is_one_line(sound, tmp_path, name):
    for number, make in enumerate((os.mkdir, lambda path: os.symlink(path, path))):
        folder = tmp_path / str(number)
        plan_folders.lay_out(folder, {each: sound[each] for each in sound if each != name})
        make(folder / name)
        with pytest.raises(InputError, match=r"found no "):
            read_plan(folder)


def test_a_mesh_that_unpacks_past_what_is_told_is_refused_unread(sound, ending):
    wide = np.zeros((3_000_000, 3))  # 72 MB of nothing, 70 kB packed
    found = ending(with_arrays(sound, vertices_mm=wide))
    assert "found no mesh of the plan (ValueError)" in str(found)
