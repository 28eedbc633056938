"""Ending a plan at once, and not at its next report: some stages run for long."""

import contextlib
import ctypes
import threading


class Halt(BaseException):
    """What is being done is no longer wanted. No handler of errors takes it for one."""


class Halting:
    """Lets other threads end what one thread does, as Ctrl-C ends the main thread's work.

    The work ends between two of Python's own steps; a compiled kernel runs to its end first.
    """

    def __init__(self):
        self._lock = threading.Lock()
        self._thread = None

    @contextlib.contextmanager
    def allowed(self):
        """While this is open, `end` ends what the calling thread does by a `Halt`."""
        with self._lock:
            self._thread = threading.get_ident()
        try:
            yield
        finally:
            with self._lock:
                _raise_in(self._thread, None)  # one that has not arrived comes too late
                self._thread = None

    def end(self) -> None:
        """End it; nothing happens where nothing is being done."""
        with self._lock:
            if self._thread is not None:
                _raise_in(self._thread, Halt)


def _raise_in(thread, exception):
    raised = ctypes.py_object(exception) if exception else None
    ctypes.pythonapi.PyThreadState_SetAsyncExc(ctypes.c_ulong(thread), raised)
