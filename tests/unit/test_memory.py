"""Stages are done again when, and only when, something they read has changed.

Values are invented here.
"""

from dataclasses import replace
from functools import partial

import numpy as np
import pytest

from castplan.memory import KEPT, LARGE, MOST_TIMES, ROOM_BYTES, Memory, remembered
from castplan.record import record
from castplan.records import Job


@record
class Thing:
    size_mm: float
    places_mm: np.ndarray


done = []


@remembered
def weigh(thing, job, *, progress=None):
    """Reads `copies`, and `vent_mm` only of several copies."""
    done.append("weigh")
    return thing.size_mm * job.copies + (job.vent_mm if job.copies > 1 else 0)


@remembered
def outer(thing, job):
    done.append("outer")
    return weigh(thing, job) + 1


@pytest.fixture(autouse=True)
def _nothing_done():
    done.clear()


@pytest.fixture
def thing():
    return Thing(size_mm=3.0, places_mm=np.zeros((2, 3)))


def test_without_a_memory_every_call_works(thing):
    assert [weigh(thing, Job()), weigh(thing, Job())] == [3.0, 3.0]
    assert done == ["weigh", "weigh"]


def test_a_field_that_was_not_read_costs_nothing(thing):
    with Memory().at_work() as memory:
        assert weigh(thing, Job()) == weigh(thing, Job(resin="other", vent_mm=9.0))
    assert done == ["weigh"] and (memory.n_asked, memory.n_worked) == (2, 1)


def test_a_field_read_only_under_another_choice_is_seen(thing):
    with Memory().at_work():
        assert weigh(thing, Job(copies=2)) == 8.5
        assert weigh(thing, Job(copies=2, vent_mm=4.0)) == 10.0
        assert weigh(thing, Job(copies=1, vent_mm=4.0)) == 3.0
        assert weigh(thing, Job(copies=2)) == 8.5
    assert done == ["weigh"] * 3


def test_what_an_inner_stage_reads_counts_for_the_outer(thing):
    with Memory().at_work():
        assert outer(thing, Job(copies=2)) == 9.5
        assert outer(thing, Job(copies=2, shop_temperature_c=15.0)) == 9.5
        assert done == ["outer", "weigh"]
        # The inner answers from memory here; its reading must reach the outer still.
        weigh(thing, Job(copies=2, vent_mm=4.0))
        assert outer(thing, Job(copies=2, vent_mm=4.0)) == 11.0
        assert outer(thing, Job(copies=2, vent_mm=2.0)) == 9.0


def test_another_record_of_the_same_content_is_the_same(thing):
    with Memory().at_work():
        weigh(thing, Job())
        weigh(Thing(size_mm=3.0, places_mm=np.zeros((2, 3))), Job())
        assert done == ["weigh"]
        weigh(Thing(size_mm=3.0, places_mm=np.ones((2, 3))), Job())
        assert done == ["weigh", "weigh"]


def test_a_long_array_is_the_same_only_where_it_is_one(thing):
    long = np.zeros(LARGE + 1)
    with Memory().at_work():
        weigh(replace(thing, places_mm=long), Job())
        weigh(replace(thing, places_mm=long), Job())
        assert done == ["weigh"]
        weigh(replace(thing, places_mm=long.copy()), Job())
        assert done == ["weigh", "weigh"]


def test_progress_is_not_compared_and_a_job_inside_a_partial_is_watched(thing):
    @remembered
    def through(ask):
        done.append("through")
        return ask()

    with Memory().at_work():
        weigh(thing, Job(), progress=lambda fraction: None)
        weigh(thing, Job(), progress=lambda fraction: None)
        assert done == ["weigh"]
        through(partial(weigh, thing, Job()))
        through(partial(weigh, thing, Job(resin="other")))
        assert done == ["weigh", "through"]
        through(partial(weigh, thing, Job(copies=4)))
        assert done == ["weigh", "through", "through", "weigh"]


def test_a_stage_that_was_stopped_has_no_answer(thing):
    @remembered
    def stopped(job, is_stopped):
        done.append("stopped")
        if is_stopped[0]:
            raise KeyboardInterrupt
        return job.copies

    with Memory().at_work():
        with pytest.raises(KeyboardInterrupt):
            stopped(Job(), [True])
        assert stopped(Job(), [False]) == 1
    assert done == ["stopped", "stopped"]


@pytest.mark.parametrize(
    ("n_numbers", "n_kept"),
    # Of large arguments, which fill the room for all, the fewest; of small ones the most.
    [(int(ROOM_BYTES / 8), KEPT), (6, MOST_TIMES * KEPT)],
)
def test_only_the_latest_answers_are_kept(n_numbers, n_kept):
    thing = Thing(size_mm=3.0, places_mm=np.zeros(n_numbers))
    with Memory().at_work():
        for copies in range(1, n_kept + 2):
            weigh(thing, Job(copies=copies))
        done.clear()
        for copies in range(2, n_kept + 2):
            weigh(thing, Job(copies=copies))
        assert done == []
        weigh(thing, Job(copies=1))
        assert done == ["weigh"]
