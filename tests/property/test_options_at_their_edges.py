"""Every field of a job at its edges: a value within its range, or one line.

Through the command's own options, as a batch list and the TOML beside a part give
them; through the job itself, as a program makes it; and through the page's check.
What is under test is the promise of `castplan/errors.py`; values are invented here.
"""

import math
import subprocess
import sys
from dataclasses import fields

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from castplan.choices import CHOICES
from castplan.cli.batch_list import read_choices
from castplan.cli.job_options import ARGUMENTS, read_options
from castplan.cli.quantities import MOST_MM
from castplan.errors import InputError
from castplan.job import Gauge, Job
from castplan.page.choices import CHOICES as ON_PAGE
from castplan.page.choices import check_choices

EDGES = (math.nan, math.inf, -math.inf, -0.0, 0.0, 1e-300, 1e308, -1e308, 1e20, 1e18, 1e5)
EDGES += (10**400, -1, 0.5, True, None)
TYPED = ("nan", "inf", "-inf", "-0", "1e-300", "1e308", "1e20", "1e18", "1e5", "\uff11\uff12")
TYPED += ("", " ", "x" * 100_000, "9" * 5000, "0,0", "1,1,1", "1e308,1e308,1e308", "nan,0,1")
TYPED += ("1e-300,0,0", "\u202e1", "1\n2", "\x00", "a=1e308", "a=" + "9" * 400, "=1", "a=0")
TYPED += (f"{'a' * 10_000}=5", "a=5:+-" + "9" * 400, "9" * 400 + "ml", "0ml", "1/0 ml", "1e308ml")
NAMES = [entry.name for entry in fields(Job)]
# A shop and what the bench's minutes weigh are records that no option or page gives as text.
WHOLE = {"draw_weights", "air_weights", "shop"}


def numbers_in(value):
    """All numbers of a value, inside of rows and gauges too."""
    if isinstance(value, Gauge):
        value = [value.length_mm, value.tolerance_mm]
    if isinstance(value, list | tuple):
        return [number for inner in value for number in numbers_in(inner)]
    is_number = isinstance(value, int | float) and not isinstance(value, bool)
    return [value] if is_number else []


def bounded(name, value):
    """Whether a value that was taken is one that a workshop could mean."""
    choice = CHOICES[name]
    numbers = numbers_in(value)
    if choice.kind in ("number", "count", "lengths", "places"):
        return all(choice.least <= number <= choice.most for number in numbers)
    return all(math.isfinite(number) and abs(number) <= 1e6 for number in numbers)


def one_line(error, most=700):
    said = str(error)
    return "\n" not in said and len(said) < most


def taken_by_job(name, value):
    """The field, or None where it is refused in one line."""
    try:
        return getattr(Job(**{name: value}), name)
    except InputError as error:
        assert one_line(error)
        return None


def taken_by_option(name, text):
    """The same of what is typed after the option."""
    option = CHOICES[name].option
    try:
        told = read_choices({option: text}, where="row 2")
        return getattr(Job(**read_options(told)), name)
    except InputError as error:
        # What was typed may be said again in full, but in one line.
        assert one_line(error, most=200_000)
        return None


numbers = st.sampled_from(EDGES) | st.floats() | st.integers(-(10**30), 10**30)
anything = st.one_of(
    numbers,
    st.lists(numbers, max_size=4).map(tuple),
    st.lists(st.lists(numbers, max_size=4).map(tuple), max_size=2).map(tuple),
    st.sampled_from(["", "\uff11", "x" * 10_000, "a\nb", "\u202e"]),
)


@settings(max_examples=1500, derandomize=True, deadline=None, database=None)
@given(st.sampled_from(sorted(set(NAMES) - WHOLE - {"gauges"})), anything)
def test_a_job_takes_what_is_within_its_range(name, value):
    taken = taken_by_job(name, value)
    assert taken is None or bounded(name, taken)


@pytest.mark.parametrize("name", sorted(ARGUMENTS))
def test_an_option_takes_what_is_within_its_range(name):
    texts = [*TYPED, *(str(edge) for edge in EDGES)] if CHOICES[name].option else ()
    assert texts
    for text in texts:
        taken = taken_by_option(name, text)
        assert taken is None or bounded(name, taken), (text[:80], taken)


@settings(max_examples=600, derandomize=True, deadline=None, database=None)
@given(st.sampled_from(sorted(set(ON_PAGE) & set(NAMES))), anything)
def test_the_page_takes_what_is_within_its_range(name, value):
    def plain(inner):
        return [plain(each) for each in inner] if isinstance(inner, tuple) else inner

    try:
        taken = check_choices({name: plain(value)})
    except InputError as error:
        assert one_line(error)
        return
    assert all(bounded(each, told) for each, told in taken.items())


@pytest.mark.parametrize("edge", [math.nan, math.inf, -1.0, 2 * MOST_MM, 1e308])
def test_a_gauge_is_a_length_that_can_be_measured(edge):
    for told in ({"length_mm": edge}, {"length_mm": 40.0, "tolerance_mm": edge}):
        with pytest.raises(InputError) as refused:
            Gauge(name="slot", **told)
        assert one_line(refused.value)
    for name in ("", "x" * 201, "a\nb"):
        with pytest.raises(InputError):
            Gauge(name=name, length_mm=40.0)
    assert Gauge(name="slot", length_mm=MOST_MM, tolerance_mm=0.3).length_mm == MOST_MM


def test_what_counts_as_within_its_range_can_be_told_from_what_does_not():
    assert bounded("gate_mm", 5.0) and not bounded("gate_mm", 1e5)
    assert not bounded("printer_mm", (200.0, math.nan, 200.0))
    assert not bounded("gauges", (Gauge(name="a", length_mm=1.0), 1e308))
    assert taken_by_option("over_mm", "14") == 14.0


# The worst of them through the whole command, before any mesh is looked at.
@pytest.mark.parametrize(
    "words",
    [
        ("plan", "none.stl", "--out", "out", "--gate", "1e308"),
        ("plan", "none.stl", "--out", "out", "--gauge", "a=" + "9" * 400),
        ("mix", "--card", "silicone-tin-25a", "--volume", "99999999999999l"),
    ],
)
def test_the_command_refuses_it_at_once_and_writes_nothing(tmp_path, words):
    ended = subprocess.run(
        [sys.executable, "-m", "castplan", *words],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )
    assert ended.returncode == 2 and len(ended.stderr.strip().splitlines()) == 1
    assert list(tmp_path.iterdir()) == []
