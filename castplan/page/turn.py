"""One piece of work on the desk's thread, which may be ended while it is at it.

Between two reports a stage of a heavy part may work for ten seconds. A watch on a thread
of its own looks whether the work is still wanted and within its limits, and has the desk's
thread stop where it is (`PyThreadState_SetAsyncExc`): at the next step of Python, so at
once but for a kernel that runs. The desk's own locks are taken inside `closed` alone, where
nothing is sent: the exception would leave them locked. Nor is anything sent while a library
is imported or a kernel compiled: half registered, numba would refuse every later plan.
"""

import contextlib
import ctypes
import os
import sys
import threading
import time
from dataclasses import dataclass

from castplan.errors import ResourceError
from castplan.machine import resident_mb, usual_mb

LIMIT_S = 600.0
# How often the work is looked at [s].
LOOK_S = 0.2
# It can be lost, in a finalizer as an example: then it is sent again, but not into what tidies up.
AGAIN_S = 2.0
_LOADERS = ("importlib", "_frozen_importlib", "_frozen_importlib_external", "numba", "llvmlite")


@dataclass(frozen=True, kw_only=True)
class Limits:
    """What one piece of work may take: seconds, and megabytes of the whole server."""

    seconds: float = LIMIT_S
    memory_mb: float | None = None  # the usual share of this machine's

    @property
    def most_mb(self) -> float:
        """Megabytes that the server may hold."""
        return usual_mb() if self.memory_mb is None else self.memory_mb


class Stop(BaseException):
    """The work under way is no longer wanted, or over a limit.

    No fault of what it falls into: who goes on after an `Exception` does not after it.
    """


class Turn:
    """The work that the calling thread is at.

    Parameters
    ----------
    limits : Limits
    is_wanted : callable
        Asked now and then, on the watch's thread.
    """

    def __init__(self, limits: Limits, is_wanted):
        self._limits = limits
        self._is_wanted = is_wanted
        self._begun_s = time.monotonic()
        self._thread = threading.get_ident()
        # Of this turn alone: should the exception leave it locked, it goes with the turn.
        self._gate = threading.Lock()
        self._is_over = False
        self._sent_s = None  # when the exception was, last
        self.error = None  # of the limit that was reached

    @property
    def is_stopped(self) -> bool:
        """Whether the exception was sent."""
        return self._sent_s is not None

    def closed(self):
        """A ``with`` block in which nothing is sent."""
        return self._gate

    def end(self) -> None:
        """Nothing is sent from here on; what was sent has arrived."""
        with self._gate:
            self._is_over = True

    def look(self) -> None:
        """What the watch does: have the work stopped where it must be."""
        if not self._gate.acquire(blocking=False):
            return  # it is just reporting
        try:
            now_s = time.monotonic()
            is_sent = self._sent_s is not None and now_s - self._sent_s < AGAIN_S
            if self._is_over or is_sent or _is_loading(self._thread):
                return
            if not self.is_stopped:
                self.error = self._over()
            if self.is_stopped or self.error is not None or not self._is_wanted():
                self._sent_s = now_s
                ctypes.pythonapi.PyThreadState_SetAsyncExc(
                    ctypes.c_ulong(self._thread), ctypes.py_object(Stop)
                )
        finally:
            self._gate.release()

    def _over(self):
        limits, held_mb = self._limits, resident_mb(os.getpid())
        if time.monotonic() - self._begun_s > limits.seconds:
            return ResourceError(
                "castplan",
                found=f"no end after {limits.seconds:g} s",
                need="one within the limit",
                do="Make the mesh lighter with castplan repair, or start castplan serve with a "
                "higher --limit-s.",
            )
        if held_mb > limits.most_mb:
            return ResourceError(
                "castplan",
                found=f"over {limits.most_mb:.0f} MB in use",
                need="less",
                do="Make the mesh lighter with castplan repair, or start castplan serve with a "
                "higher --memory-mb.",
            )
        return None


def _is_loading(thread):
    """Whether a thread is at an import or in a compiler, which must come to its end.

    What it begins after this look has the exception before its first step.
    """
    frame = sys._current_frames().get(thread)
    while frame is not None:
        if frame.f_globals.get("__name__", "").partition(".")[0] in _LOADERS:
            return True
        frame = frame.f_back
    return False


class Watch:
    """The thread that looks at the turn of the moment."""

    def __init__(self):
        self._turn = None
        self._closing = threading.Event()
        threading.Thread(target=self._look, name="watch", daemon=True).start()

    def close(self) -> None:
        """Look no more."""
        self._closing.set()

    @contextlib.contextmanager
    def over(self, turn: Turn):
        """Look at a turn for the time of a ``with`` block."""
        self._turn = turn
        try:
            yield turn
        except Exception as error:
            # What it fell into may have made an error of its own of it.
            if turn.is_stopped:
                raise Stop from error
            raise
        finally:
            self._turn = None
            turn.end()

    def _look(self):
        while not self._closing.wait(LOOK_S):
            turn = self._turn
            if turn is not None:
                turn.look()
