"""The desk: one after the other, cancel, change, fault; what is kept and what goes."""

import threading
from types import SimpleNamespace

import page_server
import pytest

from castplan.errors import InputError
from castplan.page import desk as desks
from castplan.page.desk import Desk, Full
from castplan.page.store import Conflict, Store

# No outside truth: the order of a queue. Planning itself is replaced by a stage that waits.


class Planner:
    """Stands in for planning: each plan waits until it is let go."""

    def __init__(self):
        self.begun = []
        self.reached = threading.Semaphore(0)
        self.go = threading.Semaphore(0)
        self.raises = {}

    def read(self, path, name, reading):
        return SimpleNamespace(name=name, faces=range(10))

    def plan(self, part, job, progress):
        self.begun.append((part.name, job))
        self.reached.release()
        assert self.go.acquire(timeout=20)
        progress("air", 0.5)
        if part.name in self.raises:
            raise self.raises[part.name]
        return SimpleNamespace(name=part.name, copies=job)


@pytest.fixture
def planner(monkeypatch):
    made = Planner()
    monkeypatch.setattr(desks, "read_again", made.read)
    monkeypatch.setattr(desks, "came_to", lambda plan: {"state": "done"})
    monkeypatch.setattr(desks, "own_stands", lambda plan: (None, ()))
    monkeypatch.setattr(desks, "draw_once", lambda part, path: None)
    monkeypatch.setattr(desks, "build_plan", made.plan)
    monkeypatch.setattr(desks, "job_from", lambda choices: choices.get("copies", 1))
    return made


@pytest.fixture
def store(tmp_path):
    kept = Store(tmp_path / "jobs")
    yield kept
    kept.close()


@pytest.fixture
def desk(store, planner):
    made = Desk(store)
    yield made
    planner.go.release(1000)
    made.close()


def add(store, name):
    return store.get(store.add(name=name, mesh="0" * 64, suffix="stl", choices={}))


def change(store, job, copies):
    return store.change(job.key, choices={"copies": copies}, what="copies", at=job.at)


def begun(planner):
    assert planner.reached.acquire(timeout=20)


def test_one_at_a_time_in_the_order_asked(desk, store, planner):
    jobs = [add(store, name) for name in "abc"]
    assert [desk.ask(job).state for job in jobs] == ["waiting"] * 3
    begun(planner)
    assert [desk.ask(job).state for job in jobs] == ["busy", "waiting", "waiting"]
    assert desk.n_waiting() == 2
    planner.go.release(3)
    ends = [desk.wait(job, seconds=20) for job in jobs]
    assert [end.state for end in ends] == ["done"] * 3
    assert [end.plan.name for end in ends] == ["a", "b", "c"]
    assert planner.begun == [("a", 1), ("b", 1), ("c", 1)]
    desk.ask(jobs[0])
    assert desk.n_waiting() == 0  # what is ready is not planned again


def test_a_wait_ends_in_time_where_the_plan_does_not(desk, store, planner):
    job = add(store, "a")
    assert desk.wait(job, seconds=0.01).state in ("waiting", "busy")


def test_progress_is_told(desk, store, planner):
    job = add(store, "a")
    desk.ask(job)
    begun(planner)
    told = desk.ask(job)
    assert (told.state, told.stage, told.fraction) == ("busy", "draw", 0.0)
    planner.go.release()
    assert desk.wait(job, seconds=20).stage == "air"


def test_a_change_while_planning_plans_the_new_version(desk, store, planner):
    job = add(store, "a")
    desk.ask(job)
    begun(planner)
    job = change(store, job, 5)
    assert desk.ask(job).state == "waiting"
    planner.go.release(2)
    end = desk.wait(job, seconds=20)
    assert (end.state, end.at, end.plan.copies) == ("done", 2, 5)
    assert planner.begun == [("a", 1), ("a", 5)]


def test_an_old_versions_error_does_not_stop_the_new_one(desk, store, planner):
    job = add(store, "a")
    planner.raises["a"] = InputError("a", found="x", need="y", do="Z.")
    desk.ask(job)
    begun(planner)
    newer = change(store, job, 5)
    bench = desk._bench(newer)
    desk._fail(job.key, job.at, InputError("a", found="x", need="y", do="Z."))
    assert bench.outcome.state == "waiting"


def test_cancel_and_plan_it_after_all(desk, store, planner):
    one, other = add(store, "a"), add(store, "b")
    for job in (one, other):
        desk.ask(job)
    begun(planner)
    desk.stop(one.key)
    desk.stop(other.key)
    assert [desk.ask(job).state for job in (one, other)] == ["stopped", "stopped"]
    planner.go.release()
    page_server.until(lambda: desk.n_waiting() == 0)
    assert desk.ask(one).state == "stopped"
    assert desk.again(other).state == "waiting"
    planner.go.release()
    assert desk.wait(other, seconds=20).state == "done"
    assert desk.ask(one).plan is None
    assert planner.begun == [("a", 1), ("b", 1)]


def test_planned_again_at_once_after_a_cancel(desk, store, planner):
    job = add(store, "a")
    desk.ask(job)
    begun(planner)
    desk.stop(job.key)
    desk.again(job)
    planner.go.release(2)
    assert desk.wait(job, seconds=20).state == "done"


@pytest.mark.parametrize(
    ("error", "line", "status"),
    [
        (InputError("a", found="x", need="y", do="Z."), "a: found x, need y. Z.", 2),
        (MemoryError(), "castplan: found too little memory", 4),
        (ZeroDivisionError("no"), "castplan: found a fault of its own (ZeroDivisionError: no)", 1),
    ],
    ids=["input", "memory", "fault"],
)
def test_an_error_of_one_stops_no_other(desk, store, planner, capsys, error, line, status):
    bad, good = add(store, "bad"), add(store, "good")
    planner.raises["bad"] = error
    planner.go.release(2)
    for job in (bad, good):
        desk.ask(job)
    told = desk.wait(bad, seconds=20)
    assert (told.state, told.exit_code) == ("wrong", status)
    assert told.error.startswith(line)
    assert desk.wait(good, seconds=20).state == "done"
    assert ("ZeroDivisionError" in capsys.readouterr().err) == (status == 1)
    del planner.raises["bad"]
    planner.go.release()
    assert desk.again(bad).state == "waiting"
    assert desk.wait(bad, seconds=20).state == "done"


def test_only_the_latest_plans_are_kept(desk, store, planner):
    jobs = [add(store, f"part {k}") for k in range(desks.N_READY + 3)]
    planner.go.release(len(jobs))
    for job in jobs:
        assert desk.wait(job, seconds=20).state == "done"
    page_server.until(lambda: len(desk._benches) <= desks.N_READY)
    assert list(desk._benches) == [job.key for job in jobs[-desks.N_READY :]]
    planner.go.release()
    assert desk.wait(jobs[0], seconds=20).plan.name == "part 0"  # planned anew


def test_large_parts_push_others_off_the_desk(desk, store, planner, monkeypatch):
    monkeypatch.setattr(desks, "TRIANGLES_READY", 15)  # each of these has 10
    jobs = [add(store, f"part {k}") for k in range(3)]
    planner.go.release(3)
    for job in jobs:
        desk.wait(job, seconds=20)
    page_server.until(lambda: list(desk._benches) == [jobs[-1].key])


def test_who_waits_gets_a_plan_that_was_pushed_off(desk, store, planner, monkeypatch):
    monkeypatch.setattr(desks, "N_READY", 1)
    jobs = [add(store, f"part {k}") for k in range(6)]
    ends = {}

    def wait(job):
        ends[job.name] = desk.wait(job, seconds=20).state

    waiting = [threading.Thread(target=wait, args=[job]) for job in jobs]
    for thread in waiting:
        thread.start()
    page_server.until(lambda: desk.n_waiting() == 5)
    planner.go.release(6)
    for thread in waiting:
        thread.join(20)
    assert ends == {job.name: "done" for job in jobs}
    assert len(planner.begun) == 6


def test_a_full_queue_is_one_line_and_those_outside_come_in_later(
    desk, store, planner, monkeypatch
):
    monkeypatch.setattr(desks, "N_QUEUE", 2)
    jobs = [add(store, f"part {k}") for k in range(4)]
    desk.ask(jobs[0])
    begun(planner)
    for job in jobs[1:]:
        assert desk.ask(job).state == "waiting"
    assert desk.n_waiting() == 2
    with pytest.raises(Full, match="queue: found 2 plans waiting, need fewer"):
        desk.check_room()
    with pytest.raises(Full):
        desk.make(jobs[3], lambda plan, folder: 1)
    planner.go.release(4)
    page_server.until(lambda: desk.n_waiting() == 0)
    desk.check_room()
    assert desk.wait(jobs[3], seconds=20).state == "done"


def test_work_on_a_plan_waits_for_it(desk, store, planner):
    job, bad = add(store, "a"), add(store, "bad")
    planner.raises["bad"] = InputError("bad", found="x", need="y", do="Z.")
    made = desk.make(job, lambda plan, folder: f"files of {plan.name}")
    wrong = desk.make(bad, lambda plan, folder: "never")
    planner.go.release(2)
    assert made.result(timeout=20) == "files of a"
    with pytest.raises(Conflict, match="plan: found bad: found x"):
        wrong.result(timeout=20)

    def fault(plan, folder):
        raise OSError("disk")

    with pytest.raises(OSError, match="disk"):
        desk.make(job, fault).result(timeout=20)
    assert desk.make(job, lambda plan, folder: "on").result(timeout=20) == "on"


def test_work_that_a_change_overtook_is_done_on_the_newer_plan(desk, store, planner):
    job, other = add(store, "a"), add(store, "b")
    planner.go.release()
    assert desk.wait(job, seconds=20).state == "done"
    begun(planner)
    desk.ask(other)
    begun(planner)
    made = desk.make(job, lambda plan, folder: f"{plan.copies} of {plan.name}")
    newer = change(store, job, 2)
    assert desk.ask(newer).state == "waiting"
    planner.go.release(2)
    assert made.result(timeout=20) == "2 of a"
    assert planner.begun == [("a", 1), ("b", 1), ("a", 2)]


def test_closing_stops_what_runs(store, planner):
    desk = Desk(store)
    desk.ask(add(store, "a"))
    begun(planner)
    planner.go.release()
    desk.close()
    assert not desk._thread.is_alive()


def test_cancel_ends_within_a_second_what_reports_nothing(desk, store, monkeypatch):
    """A stage that would run on for ever; what waits behind it is begun at once."""
    reached, ended = threading.Event(), threading.Event()

    def plan(part, job, progress):
        if part.name == "quick":
            return SimpleNamespace(name=part.name)
        reached.set()
        try:
            while True:
                sum(range(1000))
        finally:
            ended.set()

    monkeypatch.setattr(desks, "build_plan", plan)
    endless, quick = add(store, "endless"), add(store, "quick")
    desk.ask(endless)
    desk.ask(quick)
    assert reached.wait(20)
    desk.stop(endless.key)
    assert ended.wait(1.0)
    assert desk.wait(quick, seconds=5).state == "done"
    assert desk.ask(endless).state == "stopped"
    # It can be planned again, and ended again.
    reached.clear()
    ended.clear()
    desk.again(endless)
    assert reached.wait(20)
    desk.stop(endless.key)
    assert ended.wait(1.0)
