"""Work on the desk that does not report: ended where it is no longer wanted or over a limit.

No outside truth: the order of events. Planning is replaced by a loop that never reports.
"""

import builtins
import importlib
import threading
import time
from types import SimpleNamespace

import page_server
import pytest

from castplan.errors import ResourceError
from castplan.page import desk as desks
from castplan.page import turn as turns
from castplan.page.desk import Desk
from castplan.page.store import Store
from castplan.page.turn import Limits

# Parts in whose planning something is caught: a fault of a kind that nobody asked for; what a
# finalizer lets go of; what a library makes an error of its own of, as numba does.
CATCHES = {"goes on": Exception, "turns": BaseException}


class Spin:
    """Stands in for planning: of a part named so it works for ever, or reports for ever."""

    def __init__(self):
        self.begun = threading.Semaphore(0)
        self.ended = []

    def plan(self, part, job, progress):
        self.begun.release()
        try:
            while part.name.startswith(("spins", "reports", *CATCHES)):
                try:
                    if part.name.startswith("reports"):
                        progress("air", 0.5)
                    time.sleep(0.0005)
                except CATCHES.get(part.name, ()) as error:
                    if part.name == "turns":
                        raise SystemError("returned a result with an exception set") from error
        finally:
            self.ended.append(part.name)
        return SimpleNamespace(name=part.name)


@pytest.fixture
def spin(monkeypatch):
    made = Spin()
    monkeypatch.setattr(turns, "LOOK_S", 0.01)
    monkeypatch.setattr(
        desks, "read_again", lambda path, name, choices: SimpleNamespace(name=name, faces=range(10))
    )
    monkeypatch.setattr(desks, "came_to", lambda plan: {"state": "done"})
    monkeypatch.setattr(desks, "own_stands", lambda plan: (None, ()))
    monkeypatch.setattr(desks, "draw_once", lambda part, path: None)
    monkeypatch.setattr(desks, "build_plan", made.plan)
    return made


@pytest.fixture
def store(tmp_path):
    kept = Store(tmp_path / "jobs")
    yield kept
    kept.close()


@pytest.fixture
def opened(store, spin):
    """A desk with limits."""
    made = []

    def opened(**limits):
        made.append(Desk(store, limits=Limits(**limits)))
        return made[-1]

    yield opened
    for desk in made:
        desk.close()
        assert not desk._thread.is_alive()


def add(store, name):
    return store.get(store.add(name=name, mesh="0" * 64, suffix="stl", choices={}))


@pytest.mark.parametrize("name", ["spins", "reports"])
def test_stop_ends_what_runs_and_the_next_begins(store, spin, opened, name):
    desk = opened()
    for number in range(20):  # wherever in a report it is met
        job, other = add(store, f"{name} {number}"), add(store, f"next {number}")
        desk.ask(job)
        assert spin.begun.acquire(timeout=20)
        desk.stop(job.key)
        assert desk.wait(other, seconds=20).state == "done"
        assert desk.ask(job).state == "stopped"
        assert spin.begun.acquire(timeout=20)


@pytest.mark.parametrize("name", CATCHES)
def test_nothing_that_is_caught_under_way_keeps_it_going(store, spin, opened, name, capfd):
    desk = opened()
    job, other = add(store, name), add(store, "next")
    desk.ask(job)
    assert spin.begun.acquire(timeout=20)
    desk.stop(job.key)
    assert desk.wait(other, seconds=20).state == "done"
    assert desk.ask(job).state == "stopped" and capfd.readouterr() == ("", "")


def test_what_was_lost_is_sent_again(store, spin, opened, monkeypatch):
    monkeypatch.setattr(turns, "AGAIN_S", 0.05)
    lost, really = [], spin.plan

    def plan(part, job, progress):
        if part.name == "finalizes":
            spin.begun.release()
            try:
                while True:
                    time.sleep(0.0005)
            except turns.Stop as error:
                lost.append(error)
            while True:
                time.sleep(0.0005)
        return really(part, job, progress)

    monkeypatch.setattr(desks, "build_plan", plan)
    desk = opened()
    job, other = add(store, "finalizes"), add(store, "next")
    desk.ask(job)
    assert spin.begun.acquire(timeout=20)
    desk.stop(job.key)
    assert desk.wait(other, seconds=20).state == "done" and len(lost) == 1


def test_a_change_ends_the_plan_of_the_version_before(store, spin, opened):
    desk, job = opened(), add(store, "spins")
    desk.ask(job)
    assert spin.begun.acquire(timeout=20)
    newer = store.change(job.key, choices={"copies": 2}, what="copies", at=job.at)
    desk.ask(newer)
    page_server.until(lambda: spin.ended == ["spins"])
    assert spin.begun.acquire(timeout=20)  # the newer one is at it
    desk.stop(job.key)


def test_what_takes_too_long_is_one_line_and_costs_itself_alone(store, spin, opened):
    desk = opened(seconds=0.1)
    found = desk.wait(add(store, "spins"), seconds=20)
    assert (found.state, found.exit_code) == ("wrong", 4)
    assert found.error.startswith("castplan: found no end after 0.1 s, need one within the limit.")
    assert "castplan serve with a higher --limit-s" in found.error
    assert desk.wait(add(store, "next"), seconds=20).state == "done"


def test_what_takes_too_much_memory_is_one_line(store, spin, opened):
    found = opened(memory_mb=1.0).wait(add(store, "spins"), seconds=20)
    assert (found.state, found.exit_code) == ("wrong", 4)
    assert found.error.startswith("castplan: found over 1 MB in use, need less. Make the mesh")


def test_work_on_a_finished_plan_has_the_same_limits(store, spin, opened):
    desk, job = opened(seconds=0.3), add(store, "part")

    def work(plan, folder):
        while True:
            time.sleep(0.0005)

    with pytest.raises(ResourceError, match=r"found no end after 0\.3 s"):
        desk.make(job, work).result(timeout=20)
    assert desk.make(job, lambda plan, folder: "on").result(timeout=20) == "on"


@pytest.mark.parametrize("where", ["an import", "a compiler"])
def test_what_is_being_loaded_is_loaded_to_its_end(tmp_path, monkeypatch, where):
    """Half registered, numba refuses all that comes after: what holds it is a name of a module."""
    (tmp_path / "slow_to_load.py").write_text(
        "import time\nfor _ in range(400):\n    time.sleep(0.0005)\nends.append('loaded')\n"
    )
    monkeypatch.syspath_prepend(tmp_path)
    ends, step = [], {"__name__": "numba.core.made_up", "sleep": time.sleep}
    monkeypatch.setattr(builtins, "ends", ends, raising=False)
    exec("def compiled():\n    for _ in range(400):\n        sleep(0.0005)", step)
    monkeypatch.setattr(turns, "LOOK_S", 0.01)
    watch = turns.Watch()
    try:
        # Wanted no more from the start: it is stopped as soon as it may be.
        with pytest.raises(turns.Stop), watch.over(turns.Turn(Limits(), lambda: False)):
            if where == "an import":
                importlib.import_module("slow_to_load")
            else:
                step["compiled"]()
                ends.append("loaded")
            while True:
                time.sleep(0.0005)
        assert ends == ["loaded"]
    finally:
        watch.close()


def test_closing_ends_what_does_not_report(store, spin, opened):
    desk = opened()
    desk.ask(add(store, "spins"))
    assert spin.begun.acquire(timeout=20)
    desk.close()
    assert spin.ended == ["spins"]
