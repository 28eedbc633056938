"""The desk: one plan at a time, in a queue, and what was worked out kept at hand.

Planning runs on one thread of its own. A change to a job that is being planned
stops that plan (`turn`) and begins the new one, which finds in the job's memory
whatever the change does not touch.
"""

import collections
import contextlib
import gc
import threading
import time
import traceback
from concurrent.futures import Future
from dataclasses import replace

from castplan.errors import CastplanError, ResourceError
from castplan.memory import Memory
from castplan.nest.room import lay_parts
from castplan.page import box_parts
from castplan.page.choices import job_from
from castplan.page.kept import Bench
from castplan.page.outcome import Outcome, came_to
from castplan.page.own import NO_OWN, Own, own_draws, own_stands
from castplan.page.reading import read_again
from castplan.page.store import Conflict, Store, StoredJob
from castplan.page.thumbs import draw_once
from castplan.page.turn import Limits, Stop, Turn, Watch
from castplan.planning import build_plan
from castplan.words.options import control_named

# Jobs whose plans are kept ready, and the triangles that all of them may have.
N_READY = 4
TRIANGLES_READY = 1_500_000
# Jobs that may wait; far more than one person opens.
N_QUEUE = 120

# Longest wait for a stage to end when the desk is closed.
_CLOSE_S = 30.0


class Full(ResourceError):
    """So much waits already that no more is taken."""


class Desk:
    """Plans the jobs of a store, one after the other.

    Parameters
    ----------
    store : Store
    limits : Limits
        What the work on one job may take.
    """

    def __init__(self, store: Store, *, limits: Limits | None = None):
        self._store = store
        self._limits = limits or Limits()
        self._watch = Watch()
        self._benches = collections.OrderedDict()  # by job key, the latest used last
        self._queue = collections.deque()  # (key, None) to plan, or (key, (work, future))
        self._change = threading.Condition()
        self._is_open = True
        self._thread = threading.Thread(target=self._work, name="desk", daemon=True)
        self._thread.start()

    def close(self) -> None:
        """Stop what runs and let go."""
        with self._change:
            self._is_open = False
            self._change.notify_all()
        self._thread.join(timeout=_CLOSE_S)
        self._watch.close()
        for bench in self._benches.values():
            bench.drop()

    # What the server asks

    def check_room(self) -> None:
        """Refuse where too much waits already.

        Raises
        ------
        Full
        """
        if self.n_waiting() >= N_QUEUE:
            raise Full(
                "queue",
                found=f"{N_QUEUE} plans waiting",
                need="fewer",
                do="Wait until some are done.",
            )

    def ask(self, job: StoredJob) -> Outcome:
        """Have this version planned, unless it is or will be; how far it is.

        Where the queue is full it waits outside, until it is asked for again.
        """
        return self._bench(job).outcome

    def _bench(self, job):
        with self._change:
            bench = self._benches.get(job.key)
            plan = None if bench is None or bench.outcome.at == job.at else bench.plans.get(job)
            if plan is not None:
                bench.outcome = Outcome(at=job.at, state="done", plan=plan)
                self._change.notify_all()
        if plan is not None:
            with contextlib.suppress(CastplanError):
                self._store.answer(job.key, at=job.at, told=came_to(plan))
        return self._queued(job)

    def _queued(self, job):
        with self._change:
            bench = self._benches.get(job.key)
            if bench is not None and bench.outcome.at == job.at:
                self._benches.move_to_end(job.key)
                return bench
            outcome = Outcome(at=job.at, state="waiting")
            if len(self._queue) >= N_QUEUE:
                return Bench(outcome)
            if bench is None:
                bench = self._benches[job.key] = Bench(outcome)
            else:
                bench.outcome = outcome
            self._benches.move_to_end(job.key)
            if (job.key, None) not in self._queue:
                self._queue.append((job.key, None))
            self._change.notify_all()
            return bench

    def wait(self, job: StoredJob, *, seconds: float) -> Outcome:
        """As `ask`, waiting up to `seconds` for an end."""
        until = time.monotonic() + seconds
        bench = self._bench(job)  # held on to: others may push it off the desk
        with self._change:
            while bench.outcome.at == job.at and bench.outcome.state in ("waiting", "busy"):
                left = until - time.monotonic()
                if left <= 0 or not self._is_open:
                    break
                self._change.wait(left)
            return bench.outcome

    def stop(self, key: str) -> None:
        """Stop planning a job; its version then stands as stopped until asked again."""
        with self._change:
            bench = self._benches.get(key)
            if bench is not None and bench.outcome.state in ("waiting", "busy"):
                bench.outcome = replace(bench.outcome, state="stopped")
                with contextlib.suppress(ValueError):
                    self._queue.remove((key, None))
            self._change.notify_all()

    def look(self, job: StoredJob) -> Outcome | None:
        """How far this version is, without having it planned."""
        with self._change:
            bench = self._benches.get(job.key)
            return None if bench is None or bench.outcome.at != job.at else bench.outcome

    def own(self, job: StoredJob) -> Future:
        """What castplan would offer without the draw and pouring position that are chosen.

        Raises
        ------
        Full
        """
        if not {"draw", "up"} & set(job.choices):
            future = Future()
            future.set_result(NO_OWN)
            return future
        with self._change:
            draw, stands = self._bench(job).stands or (None, ())

        def offer(plan, folder):
            is_same = draw == plan.split.draw.direction
            draws = own_draws(plan) if "draw" in job.choices else ()
            return Own(draws=draws, stands=stands if "up" in job.choices and is_same else ())

        return self.make(job, offer)

    def again(self, job: StoredJob) -> Outcome:
        """Plan a version anew that was stopped or went wrong."""
        with self._change:
            bench = self._benches.get(job.key)
            if bench is not None and bench.outcome.state in ("stopped", "wrong"):
                bench.outcome = replace(bench.outcome, at=-1)
        return self.ask(job)

    def make(self, job: StoredJob, work) -> Future:
        """Do ``work(plan, bench_folder)`` on the desk's thread once the job is planned.

        The folder is that of the plan's files, made when it is first needed.

        Raises
        ------
        Full
        """
        self.check_room()
        future = Future()
        with self._change:
            self._bench(job)
            self._queue.append((job.key, (work, future)))
            self._change.notify_all()
        return future

    def n_waiting(self) -> int:
        """How much stands in the queue."""
        with self._change:
            return len(self._queue)

    # The thread

    def _work(self):
        while True:
            with self._change:
                while self._is_open and not self._queue:
                    self._change.wait()
                if not self._is_open:
                    return
                key, task = self._queue.popleft()
            if task is None:
                self._plan(key)
                # What a plan leaves in cycles is few objects that hold much: 2 MB a job grew.
                gc.collect()
            else:
                self._do(key, *task)
            self._clear()

    def _plan(self, key):
        with self._change:
            bench = self._benches.get(key)
        if bench is None or bench.outcome.state != "waiting":
            return
        begun = time.perf_counter()
        at, turn = bench.outcome.at, None
        try:
            job = self._store.get(key)
            at = job.at
            self._say(key, job.at, state="busy", stage="read", fraction=0.0)

            def report(stage, fraction):
                with turn.closed():
                    if not self._is_wanted(key, job.at):
                        raise Stop
                    self._say(key, job.at, stage=stage, fraction=fraction)

            memory = bench.memory
            memory.n_asked = memory.n_worked = 0
            turn = Turn(self._limits, lambda: self._is_wanted(key, job.at))
            with self._watch.over(turn), memory.at_work():
                path = self._store.mesh_path(job.mesh, suffix=job.suffix)
                part = read_again(path, job.name, job.choices)
                draw_once(part, self._store.picture_path(job.mesh))
                chosen, more = job_from(job.choices), {}
                others = box_parts.paths_of(self._store, job.choices)
                if others:
                    each = [part, *(read_again(path, name, job.choices) for path, name in others)]
                    box = lay_parts(each, chosen, progress=report)
                    part, chosen, more = box.part, box.job, {"nest": box.nest}
                report("draw", 0.0)
                plan = build_plan(part, chosen, **more, progress=report)
            bench.n_triangles = len(part.faces)
            if "up" not in job.choices:
                bench.stands = own_stands(plan)
            bench.plans.put(job, plan)
            self._store.answer(key, at=job.at, told=came_to(plan))
            self._say(
                key,
                job.at,
                state="done",
                plan=plan,
                seconds=time.perf_counter() - begun,
                n_asked=memory.n_asked,
                n_worked=memory.n_worked,
            )
        except Stop:
            if turn is not None and turn.error is not None:
                self._fail(key, at, turn.error)
        except CastplanError as error:
            self._fail(key, at, error)
        except MemoryError:
            error = ResourceError(
                "castplan",
                found="too little memory",
                need="more",
                do="Close other programs, or make the mesh lighter with castplan repair.",
            )
            bench.memory = Memory()
            self._fail(key, at, error)
        except Exception as error:
            # One part must not stop the desk for all others.
            traceback.print_exc()
            reason = " ".join(f"{type(error).__name__}: {error}".split())[:200]
            error = CastplanError(
                "castplan",
                found=f"a fault of its own ({reason})",
                need="a report",
                do="Report it.",
            )
            self._fail(key, at, error)

    def _do(self, key, work, future):
        with self._change:
            bench = self._benches.get(key)
            outcome = None if bench is None else bench.outcome
            if (key, None) in self._queue:
                # Changed meanwhile: what was asked for is made of the newer plan.
                self._queue.append((key, (work, future)))
                return
        if not future.set_running_or_notify_cancel():
            return
        try:
            if outcome is None or outcome.plan is None:
                raise Conflict(
                    "plan",
                    found=outcome.error if outcome and outcome.error else "no plan of this job",
                    need="one",
                    do="Plan it first.",
                )
            turn = Turn(self._limits, lambda: self._is_open)
            with self._watch.over(turn), bench.memory.at_work():
                answer = work(outcome.plan, lambda: bench.files_of(outcome.plan))
            future.set_result(answer)
        except Stop:
            future.set_exception(turn.error or _closing_error())
        except BaseException as error:
            future.set_exception(error)

    def _is_wanted(self, key, at):
        with self._change:
            bench = self._benches.get(key)
            return (
                self._is_open
                and bench is not None
                and bench.outcome.at == at
                and bench.outcome.state == "busy"
            )

    def _say(self, key, at, **changes):
        with self._change:
            bench = self._benches.get(key)
            if bench is None or bench.outcome.state == "stopped":
                raise Stop
            if bench.outcome.at != at:
                if bench.outcome.state == "waiting" and changes.get("state") == "busy":
                    # Changed between queue and thread: this is the newest.
                    bench.outcome = Outcome(at=at, state="waiting")
                else:
                    raise Stop
            bench.outcome = replace(bench.outcome, **changes)
            self._change.notify_all()

    def _fail(self, key, at, error):
        with contextlib.suppress(CastplanError):
            self._store.answer(key, at=at, told={"state": "wrong"})
        with self._change:
            bench = self._benches.get(key)
            is_latest = bench is not None and bench.outcome.at == at
            if is_latest and bench.outcome.state in ("waiting", "busy"):
                bench.outcome = replace(
                    bench.outcome,
                    state="wrong",
                    error=error.said(control_named),
                    asks=error.asks,
                    exit_code=error.exit_code,
                )
            self._change.notify_all()

    def _clear(self):
        """Let go of the plans used longest ago."""
        with self._change:
            idle = [
                key
                for key, bench in self._benches.items()
                if bench.outcome.state not in ("waiting", "busy")
                and all(waiting != key for waiting, _ in self._queue)
            ]
            total = sum(bench.n_triangles for bench in self._benches.values())
            while len(idle) > 1 and (len(idle) > N_READY or total > TRIANGLES_READY):
                gone = self._benches.pop(idle.pop(0))
                total -= gone.n_triangles
                gone.drop()


def _closing_error():
    return ResourceError(
        "castplan", found="its server closing", need="it open", do="Start it again."
    )
