"""A real scheduler and two worker processes on loopback, some of them lost."""

import contextlib
import logging
import os
import signal
import threading
import time
from concurrent.futures import CancelledError

import batch_parts
import distributed
import pytest
import trimesh
from batch_parts import EASY, box_order, files_of, serial_files, starts
from distributed.scheduler import KilledWorker

from castplan.batch import cluster
from castplan.batch.cluster import Settings, run_orders
from castplan.batch.order import Order, key_of, mesh_hash, read_mesh
from castplan.batch.outcome import FAULT, LOST, MEMORY, PLANNED, TIME
from castplan.batch.run import plan_missing, write_catalogue
from castplan.batch.store import Store
from castplan.errors import InputError, ResourceError
from castplan.records import Shop

LOCAL = Settings(limits=EASY, n_workers=1)


@pytest.fixture
def log(tmp_path, monkeypatch):
    return batch_parts.watch_children(tmp_path / "watch", monkeypatch)


@contextlib.contextmanager
def some_cluster():
    """A scheduler and two worker processes, as one that stands elsewhere."""
    with distributed.LocalCluster(
        n_workers=2,
        threads_per_worker=1,
        host="127.0.0.1",
        dashboard_address="127.0.0.1:0",
        silence_logs=logging.CRITICAL,
    ) as elsewhere:
        yield elsewhere.scheduler_address


def run(orders, store, settings, *, is_wanted=lambda: True):
    kept = plan_missing(
        orders, store, settings, is_wanted=is_wanted, report=lambda n_done, n_all: None
    )
    write_catalogue(store, title="t", n_asked=len(orders), shop=Shop(), pot_mm=None)
    return kept


def wait_for(seen, *, at_most_s=60.0):
    """Wait until something is seen; what it is."""
    end = time.monotonic() + at_most_s
    while time.monotonic() < end:
        if found := seen():
            return found
        time.sleep(0.02)
    raise AssertionError("nothing seen in time")


def kill_owner_of(name, log):
    """Kill the worker that has this part planned, then let the part go on elsewhere."""
    pid = wait_for(lambda: [owner for part, owner, _ in starts(log) if part == name])[0]
    os.kill(pid, signal.SIGKILL)
    (log.parent / "go").touch()


@pytest.mark.long
def test_a_worker_lost_on_an_existing_cluster_costs_nothing(tmp_path, log):
    orders = [
        box_order(tmp_path, name, size_mm=(20.0 + k, 14.0, 10.0))
        for k, name in enumerate(["waits", "a", "b", "c"])
    ]
    store = Store(tmp_path / "out")
    with some_cluster() as address:
        settings = Settings(limits=EASY, n_workers=2, scheduler=address)
        killer = threading.Thread(target=kill_owner_of, args=("waits", log))
        killer.start()
        assert run(orders, store, settings) == 0
        killer.join()
        # All planned, the one that lost its worker begun once more, by another.
        begun = starts(log)
        assert sorted(name for name, _, _ in begun) == ["a", "b", "c", "waits", "waits"]
        first, second = (owner for name, owner, _ in begun if name == "waits")
        assert first != second
        assert [entry.status for entry in store.entries()] == [PLANNED] * 4
        # Truth: what one process writes alone, without Dask.
        for order in orders:
            alone = serial_files(order.path, tmp_path / f"alone-{order.name}")
            assert files_of(store.plan_folder(order.name)) == alone
        # Again: nothing to do. With one mesh changed: that one.
        page = (store.place / "index.html").read_bytes()
        assert run(orders, store, settings) == 4
        assert len(starts(log)) == 5
        assert (store.place / "index.html").read_bytes() == page
        orders[1] = box_order(tmp_path, "a", size_mm=(30.0, 14.0, 10.0))
        assert run(orders, store, settings) == 3
        assert [name for name, _, _ in starts(log)[5:]] == ["a"]


@pytest.mark.long
def test_bad_parts_cost_themselves_alone(tmp_path, log):
    names = ["hangs", "eats", "dies", "faulty", "good"]
    orders = [box_order(tmp_path, name) for name in names]
    # A part here takes 2 s and 350 MB: both limits are far above that.
    limits = cluster.Limits(seconds=25.0, memory_mb=700.0)
    store = Store(tmp_path / "out")
    settings = Settings(limits=limits, n_workers=1)
    assert run(orders, store, settings) == 0
    found = {entry.name: entry for entry in store.entries()}
    assert {name: entry.status for name, entry in found.items()} == {
        "hangs": TIME,
        "eats": MEMORY,
        "dies": LOST,
        "faulty": FAULT,
        "good": PLANNED,
    }
    assert "after 25 s" in found["hangs"].error
    assert "700 MB" in found["eats"].error
    assert "signal 9" in found["dies"].error
    assert "RuntimeError: no such thing" in found["faulty"].error
    for name in names[:4]:
        assert found[name].error.startswith(f"{name}.stl: found ")
        assert not store.plan_folder(name).exists()
    table = (store.place / "summary.csv").read_text()
    assert all(found[name].error in table.replace('""', '"') for name in names[:4])
    # No child is left behind: the hanging one is gone too.
    for _, _, child in starts(log):
        with pytest.raises(ProcessLookupError):
            os.kill(child, 0)


@pytest.mark.long
def test_stopping_keeps_what_is_finished(tmp_path, log):
    orders = [box_order(tmp_path, name) for name in ("one", "two", "waits")]
    store = Store(tmp_path / "out")
    # Stop once two are kept; the third waits for a sign that never comes.
    begun_s = time.monotonic()
    run(orders, store, LOCAL, is_wanted=lambda: len(store.entries()) < 2)
    assert time.monotonic() - begun_s < EASY.seconds / 2
    assert [entry.name for entry in store.entries()] == ["one", "two"]
    assert [
        store.holds(order.name, key_of(order, mesh_hash(read_mesh(order))), EASY)
        for order in orders
    ] == [True, True, False]
    assert "2 of 3 parts planned" in (store.place / "index.html").read_text()


def test_no_scheduler_is_one_clear_line(monkeypatch):
    monkeypatch.setattr(cluster, "CONNECT_S", 0.3)
    settings = Settings(limits=EASY, n_workers=1, scheduler="tcp://127.0.0.1:9")
    with pytest.raises(InputError, match=r"--scheduler tcp://127\.0\.0\.1:9: found no scheduler"):
        list(run_orders([], settings))


def test_a_worker_of_another_version_is_refused(monkeypatch):
    class Client:
        def nthreads(self):
            return {"tcp://a": 1}

        def run(self, ask, on_error):
            return {"tcp://a": "0.0.1"}

    with pytest.raises(InputError, match=r"worker tcp://a: found castplan 0\.0\.1"):
        cluster.check_workers(Client(), "tcp://a")


class Ended:
    """A future that ended with an error."""

    def __init__(self, error):
        self.error = error

    def result(self):
        raise self.error


def test_a_part_that_brings_workers_down_is_lost_alone(tmp_path):
    order = box_order(tmp_path, "heavy")
    error = KilledWorker("task", "tcp://a", allowed_failures=3)
    outcome = cluster.outcome_of(Ended(error), order)
    assert outcome.status == LOST
    assert outcome.error.startswith("heavy.stl: found 4 workers lost")


@pytest.mark.parametrize("error", [CancelledError("scheduler-connection-lost"), OSError("gone")])
def test_a_scheduler_that_goes_ends_the_run_in_one_line(tmp_path, error):
    with pytest.raises(ResourceError, match="scheduler: found none that goes on") as caught:
        cluster.outcome_of(Ended(error), box_order(tmp_path, "a"))
    assert "\n" not in str(caught.value)


def test_the_largest_mesh_is_begun_first(tmp_path, log):
    orders = [box_order(tmp_path, name) for name in ("a", "b")]
    ball = trimesh.creation.icosphere(subdivisions=3, radius=12.0)
    (tmp_path / "z.stl").write_bytes(ball.export(file_type="stl"))
    orders.append(Order(name="z", path=tmp_path / "z.stl", job=batch_parts.QUICK, unit="mm"))
    run(orders, Store(tmp_path / "out"), LOCAL)
    assert [name for name, _, _ in starts(log)] == ["z", "a", "b"]
