"""The same bytes on both runs, on one thread or two."""

import os

import numpy as np
import pytest
import shapes

from castplan.columns.threads import n_threads
from castplan.files import record
from castplan.planning import build_plan
from castplan.records import Job

# The search is the threaded part: no draw given, few directions, coarse columns.
JOB = Job(n_directions=8, memory_mb=0.3, n_attitudes=8)


def punched():
    """A part whose holes the winding number decides."""
    body = shapes.lipped_cup(n_sides=24)
    is_kept = np.random.default_rng(2).random(len(body.faces)) > 0.03
    return shapes.part_of(shapes.rotated(body.vertices_mm, 4), body.faces[is_kept])


@pytest.mark.long
@pytest.mark.parametrize("make", [punched])
def test_the_number_of_threads_changes_no_byte(make, monkeypatch):
    plans = []
    for n_cores in (1, 2):
        monkeypatch.setattr(os, "cpu_count", lambda n=n_cores: n)
        plans.append(record.plan_json(build_plan(make(), JOB)))
    assert plans[0] == plans[1]
    assert len(plans[0]) > 1000


@pytest.mark.parametrize(("told", "count"), [("1", 1), ("3", 3), ("", 5), ("0", 5), ("many", 5)])
def test_the_environment_may_ask_for_fewer_threads(told, count, monkeypatch):
    monkeypatch.setattr(os, "cpu_count", lambda: 5)
    monkeypatch.setenv("CASTPLAN_THREADS", told)
    assert n_threads() == count
