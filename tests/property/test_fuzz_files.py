"""Damaged files of every format: a part, or one line; never anything else.

Short version of `tests/bench/fuzz_files.py`. What is under test is the promise
of `castplan/errors.py`; there is no outside source for it.
"""

import mutate
import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from castplan.columns import field
from castplan.errors import CastplanError
from castplan.part.health import examine
from castplan.part.load import load_part

SOUND = mutate.sound_files()
# STEP goes through a program of its own, seconds each: the bench has it.
QUICK = tuple(name for name in mutate.FORMATS if name != "step")

share = st.floats(0, 1, exclude_max=True)
recipes = st.lists(
    st.tuples(st.sampled_from(sorted(mutate.KINDS)), share, share), min_size=1, max_size=2
)


def outcome(path):
    """Load and sample a file: the part, or the error."""
    try:
        part = load_part(path, unit=None if path.suffix == ".3mf" else "mm")
    except CastplanError as error:
        assert error.exit_code in (2, 3, 4)
        assert "\n" not in str(error) and len(str(error)) < 500
        return error
    examine(part)
    columns = field.sample(
        part.vertices_mm,
        part.faces,
        part.cap_faces,
        np.eye(3),
        pitch_mm=max(part.check.extent_mm) / 32,
    )
    assert np.isfinite(columns.top_mm).all() and np.isfinite(columns.bottom_mm).all()
    return part


def written(folder, name, data):
    path = folder / f"part.{mutate.SUFFIX.get(name, name)}"
    path.write_bytes(data)
    return path


@pytest.mark.parametrize("name", QUICK)
def test_damage_of_every_kind_ends_in_a_part_or_one_line(tmp_path_factory, name):
    folder = tmp_path_factory.mktemp("fuzz")

    @settings(
        max_examples=30,
        deadline=10_000,
        derandomize=True,
        database=None,
        suppress_health_check=list(HealthCheck),
    )
    @given(recipe=recipes)
    def run(recipe):
        outcome(written(folder, name, mutate.damage(SOUND[name], recipe, SOUND)))

    run()


@pytest.mark.parametrize("kind", sorted(mutate.KINDS))
def test_each_kind_of_damage_can_be_told_from_none(tmp_path, kind):
    # A campaign whose damage did nothing would prove nothing.
    name = "3mf" if kind in ("in_zip", "bomb", "entities") else "stl_text"
    assert mutate.damage(SOUND[name], [(kind, 0.4, 0.6)], SOUND) != SOUND[name]


@pytest.mark.parametrize("name", QUICK)
def test_the_files_are_sound_before(tmp_path, name):
    part = outcome(written(tmp_path, name, SOUND[name]))
    assert not isinstance(part, CastplanError)


def test_nothing_is_printed_by_the_libraries(tmp_path, capfd):
    rng = np.random.default_rng(1)
    kinds = sorted(mutate.KINDS)
    for number in range(40):
        name = QUICK[number % len(QUICK)]
        recipe = [(kinds[rng.integers(len(kinds))], float(rng.random()), float(rng.random()))]
        outcome(written(tmp_path, name, mutate.damage(SOUND[name], recipe, SOUND)))
    assert capfd.readouterr() == ("", "")
