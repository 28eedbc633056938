"""Sharing orders out to Dask workers, and taking results back.

A worker hands each part to a child process (`bench`), so that neither a part
that hangs nor one that eats memory costs it. A worker that is lost takes the
part it was planning with it; the scheduler gives that one to another.
"""

import atexit
import contextlib
import logging
import queue
import threading
import time
from collections.abc import Iterator
from concurrent.futures import CancelledError
from dataclasses import dataclass

import dask
import distributed
from distributed.core import Status
from distributed.scheduler import KilledWorker

from castplan import __version__
from castplan.batch.bench import MB, Bench, Limits, Stopped
from castplan.batch.order import Order, Parcel, pack
from castplan.batch.outcome import LOST, REFUSED, Outcome
from castplan.errors import CastplanError, InputError, ResourceError

# Orders under way for each thread of the cluster: one at work and one waiting.
AHEAD = 2
CONNECT_S = 10.0
# How often a waiting run looks whether it is still wanted [s].
LOOK_S = 0.2
# What a worker of this machine may take for itself at least: Dask ends it past
# that, and the parts' own limit is for their children.
LEAST_WORKER_MB = 1000.0
# How long a cluster may be without any worker before the run ends [s].
ALONE_S = 60.0
SETTINGS = {
    # A mesh is larger than the graphs that Dask warns of; few are under way at once.
    "distributed.admin.large-graph-warning-threshold": "4GiB",
    # Workers hold one part each, whose memory is watched in its own process.
    "distributed.worker.memory.spill": False,
    "distributed.worker.memory.target": False,
    "distributed.worker.memory.pause": False,
    "distributed.worker.memory.monitor-interval": "1s",
    # Nobody looks at Dask's own charts here; drawn up 100 times a second they took
    # each worker, and the scheduler, 5 % of a core that plans.
    "distributed.worker.profile.enabled": False,
    "distributed.admin.tick.interval": "1s",
    "distributed.admin.system-monitor.interval": "5s",
}
# Children of this worker process that wait for a part, one a thread at most.
_idle: list[Bench] = []
_idle_lock = threading.Lock()


@atexit.register
def _close_idle():
    while _idle:
        _idle.pop().close()


@dataclass(frozen=True, kw_only=True)
class Settings:
    """Where parts are planned, and what each may take.

    `scheduler` is the address of a cluster that is there; without it one of
    `n_workers` processes is started here and stopped at the end.
    """

    limits: Limits
    n_workers: int
    scheduler: str | None = None


def plan_parcel_here(parcel: Parcel, limits: Limits) -> Outcome:
    """Plan one part in a child of this worker: what a worker is asked to do."""
    worker = distributed.get_worker()
    if parcel.version != __version__:
        return Outcome(
            status=LOST,
            error=f"{parcel.file_name}: found castplan {__version__} on worker {worker.address}, "
            f"need {parcel.version}. Install the same version on all workers.",
        )
    with _idle_lock:
        bench = _idle.pop() if _idle else Bench()
    try:
        return bench.plan(parcel, limits, is_wanted=lambda: worker.status == Status.running)
    except Stopped:
        # Nobody waits for it: the scheduler gives the part to another worker.
        return Outcome(status=LOST, error=f"{parcel.file_name}: its worker was stopped")
    finally:
        with _idle_lock:
            _idle.append(bench)


def run_orders(
    orders: list[Order], settings: Settings, *, is_wanted=lambda: True, started=None
) -> Iterator[tuple[Order, Outcome]]:
    """Have orders planned, and give each with its outcome as it ends.

    Parameters
    ----------
    orders : list of Order
    settings : Settings
    is_wanted : callable
        Asked now and then; when it says no, what has ended by then is still
        given and the rest dropped.
    started : callable, optional
        Called with the client once the workers are there.

    Yields
    ------
    order : Order
    outcome : Outcome

    Raises
    ------
    InputError
        No scheduler at the address, or workers with another castplan.
    ResourceError
        The scheduler is gone.
    """
    with _quiet(), dask.config.set(SETTINGS), _client(settings) as client:
        if started is not None:
            started(client)
        yield from _share_out(client, orders, settings.limits, is_wanted)


def _share_out(client, orders, limits, is_wanted):
    waiting, ended = iter(orders), queue.SimpleQueue()
    under_way: dict[distributed.Future, Order] = {}

    def fill():
        room = AHEAD * max(1, sum(client.nthreads().values())) - len(under_way)
        for order in waiting if room > 0 else ():
            try:
                parcel = pack(order)
            except CastplanError as error:
                yield order, Outcome(status=REFUSED, error=str(error))
                continue
            future = client.submit(plan_parcel_here, parcel, limits, pure=False)
            under_way[future] = order
            future.add_done_callback(ended.put)
            room -= 1
            if room <= 0:
                return

    yield from fill()
    manned_s = time.monotonic()
    while under_way and (is_wanted() or not ended.empty()):
        try:
            future = ended.get(timeout=LOOK_S)
        except queue.Empty:
            if _is_manned(client):
                manned_s = time.monotonic()
            elif time.monotonic() - manned_s > ALONE_S:
                raise _gone(f"no worker for {ALONE_S:g} s") from None
            continue
        order = under_way.pop(future)
        yield order, outcome_of(future, order)
        if is_wanted():
            yield from fill()
    client.cancel(list(under_way))


def outcome_of(future, order):
    """What a future holds; a part whose workers died under it is lost, nothing else."""
    try:
        return future.result()
    except KilledWorker as error:
        return Outcome(
            status=LOST,
            error=f"{order.path.name}: found {error.allowed_failures + 1} workers lost while "
            "they planned it, need one that lasts. Give the workers more memory, and run it again.",
        )
    except (CancelledError, OSError) as error:
        raise _gone(" ".join(str(error).split())) from error


def _is_manned(client):
    """Whether the scheduler answers and has workers."""
    try:
        return bool(client.nthreads())
    except (OSError, TimeoutError, RuntimeError, ValueError) as error:
        raise _gone(error) from error


def _gone(reason):
    return ResourceError(
        "scheduler",
        found=f"none that goes on ({reason})",
        need="one that runs until the last part",
        do="Start it and its workers again and repeat the command: what is finished is kept.",
    )


@contextlib.contextmanager
def _client(settings):
    if settings.scheduler is None:
        with (
            distributed.LocalCluster(
                n_workers=settings.n_workers,
                threads_per_worker=1,
                processes=True,
                host="127.0.0.1",
                dashboard_address="127.0.0.1:0",
                memory_limit=int(max(settings.limits.memory_mb, LEAST_WORKER_MB) * MB),
                silence_logs=logging.CRITICAL,
                preload=["castplan.batch.local_worker"],
            ) as cluster,
            distributed.Client(cluster, set_as_default=False) as client,
        ):
            yield client
        return
    try:
        client = distributed.Client(
            settings.scheduler, timeout=CONNECT_S, set_as_default=False, direct_to_workers=False
        )
    except (OSError, ValueError) as error:
        raise InputError(
            f"--scheduler {settings.scheduler}",
            found=f"no scheduler that answers ({error or type(error).__name__})",
            need="the address that dask scheduler prints, such as tcp://192.168.1.20:8786",
            do="Start it, or leave --scheduler away to plan on this machine.",
        ) from error
    with client:
        check_workers(client, settings.scheduler)
        yield client


def check_workers(client, address):
    """Every worker has this castplan; one that comes later is told by its first part."""
    if not client.nthreads():
        raise InputError(
            f"--scheduler {address}",
            found="no workers",
            need="at least one",
            do="Start dask worker with this address on each machine.",
        )
    told = client.run(_version_here, on_error="return")
    for worker, version in sorted(told.items()):
        if version != __version__:
            have = f"castplan {version}" if isinstance(version, str) else f"none ({version})"
            raise InputError(
                f"worker {worker}",
                found=have,
                need=f"castplan {__version__}",
                do="Install castplan[batch] of this version there.",
            )


def _version_here():
    return __version__


@contextlib.contextmanager
def _quiet():
    """Losing a worker is no news for the terminal: the parts' own outcomes tell it."""
    # Some of Dask's loggers have a level of their own.
    names = [name for name in logging.root.manager.loggerDict if name.startswith("distributed.")]
    loggers = [logging.getLogger(name) for name in (*names, "distributed", "tornado", "asyncio")]
    before = [logger.level for logger in loggers]
    for logger in loggers:
        logger.setLevel(logging.CRITICAL)
    try:
        yield
    finally:
        for logger, level in zip(loggers, before, strict=True):
            logger.setLevel(level)
