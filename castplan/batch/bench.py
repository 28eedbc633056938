"""A child process that plans, and the watch over its time and memory.

The child may hang in compiled code or eat memory: it is killed from outside,
and the next part gets a new one. A part costs itself alone.
"""

import os
import queue
import subprocess
import sys
import threading
import time
from dataclasses import dataclass, replace

import psutil

from castplan.batch.order import Parcel
from castplan.batch.outcome import LOST, MEMORY, TIME, Outcome, receive, send

# One thread each: parts share the machine out, not the inside of a part.
ONE_THREAD = dict.fromkeys(
    (
        "CASTPLAN_THREADS",
        "MKL_NUM_THREADS",
        "NUMBA_NUM_THREADS",
        "OMP_NUM_THREADS",
        "OPENBLAS_NUM_THREADS",
        "VECLIB_MAXIMUM_THREADS",
    ),
    "1",
)
# The C library gives memory back to the system beyond so many bytes.
TRIM = "MALLOC_TRIM_THRESHOLD_"
# How often a running part is looked at [s].
LOOK_S = 0.1
# A child that holds this share of its limit between parts is replaced.
STALE_FRACTION = 0.5
MB = 2**20


@dataclass(frozen=True, kw_only=True)
class Limits:
    """What one part may take: seconds, and megabytes of memory."""

    seconds: float
    memory_mb: float


class Stopped(Exception):
    """The part is no longer wanted."""


class Bench:
    """One child process, started when the first part comes."""

    def __init__(self) -> None:
        self._child = None
        self._replies = None

    def plan(self, parcel: Parcel, limits: Limits, *, is_wanted=lambda: True) -> Outcome:
        """Have one part planned.

        Parameters
        ----------
        parcel : Parcel
        limits : Limits
        is_wanted : callable
            Asked now and then; the part is dropped when it says no.

        Returns
        -------
        Outcome

        Raises
        ------
        Stopped
            `is_wanted` said no.
        """
        self._start()
        begun = time.monotonic()
        try:
            send(self._child.stdin, (parcel, limits.seconds))
            outcome = self._watch(parcel, limits, begun, is_wanted)
        except OSError:  # the pipe broke: the child is gone
            outcome = self._lost(parcel)
        except BaseException:
            self.close()
            raise
        is_stale = self._resident_mb() > STALE_FRACTION * limits.memory_mb
        if is_stale or outcome.status in (LOST, MEMORY, TIME):
            self.close()
        if outcome.status == MEMORY:
            outcome = replace(outcome, error=_memory_line(parcel, limits))
        return replace(outcome, seconds=round(time.monotonic() - begun, 3))

    def close(self) -> None:
        """End the child, whatever it is doing."""
        child, self._child = self._child, None
        if child is None:
            return
        child.kill()
        child.wait()
        child.stdin.close()
        # The pipe's reader ends with the child, and closes it.

    def _start(self):
        if self._child is not None and self._child.poll() is None:
            return
        self.close()
        self._child = subprocess.Popen(
            [sys.executable, "-m", "castplan.batch.child"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            env=_environment(),
            # Ctrl-C at the terminal is for the one who started all this.
            start_new_session=True,
        )
        self._replies = queue.SimpleQueue()
        arguments = (self._child.stdout, self._replies)
        threading.Thread(target=_read_replies, args=arguments, daemon=True).start()

    def _watch(self, parcel, limits, begun, is_wanted):
        while True:
            try:
                outcome = self._replies.get(timeout=LOOK_S)
            except queue.Empty:
                pass
            else:
                return outcome if outcome is not None else self._lost(parcel)
            if not is_wanted():
                raise Stopped
            if time.monotonic() - begun > limits.seconds:
                return Outcome(status=TIME, error=_time_line(parcel, limits))
            if self._resident_mb() > limits.memory_mb:
                return Outcome(status=MEMORY)

    def _resident_mb(self):
        try:
            return psutil.Process(self._child.pid).memory_info().rss / MB
        except psutil.Error:  # it just ended; the pipe tells how
            return 0.0

    def _lost(self, parcel):
        code = self._child.wait()
        end = f"signal {-code}" if code < 0 else f"exit {code}"
        return Outcome(
            status=LOST,
            error=f"{parcel.file_name}: found its process gone ({end}), need one that lasts. "
            "Run it again; if it ends so again, run castplan plan on this part and report it.",
        )


def _environment():
    """What a child is started with.

    Dask has its workers give every freed page back at once. A plan frees and takes
    many megabytes many times a second: a child that did so would fetch each page anew,
    400,000 times a part instead of some thousands, for a tenth of its time.
    """
    told = os.environ | ONE_THREAD
    told.pop(TRIM, None)
    return told


def _read_replies(stream, replies):
    with stream:
        try:
            while True:
                replies.put(receive(stream))
        except (EOFError, OSError):
            replies.put(None)


def _time_line(parcel, limits):
    return (
        f"{parcel.file_name}: found no plan after {limits.seconds:g} s, need one within the "
        "limit. Raise --limit-s, give a coarser --pitch, or thin the mesh."
    )


def _memory_line(parcel, limits):
    return (
        f"{parcel.file_name}: found more than {limits.memory_mb:.0f} MB in use, need less. "
        "Raise --memory-mb, run fewer --workers, give a coarser --pitch, or thin the mesh."
    )
