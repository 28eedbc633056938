"""What is shown while a command works, on standard error."""

import sys
import time


class Progress:
    """Stages and their seconds on standard error.

    On a terminal one line is written over; elsewhere each stage that ends is a
    line, so that a log stays readable.
    """

    def __init__(self):
        self._is_terminal = sys.stderr.isatty()
        self._stage = None
        self._start_s = 0.0

    def __enter__(self):
        return self

    def __exit__(self, *error):
        self._end_stage()

    def __call__(self, stage_name, fraction):
        if stage_name != self._stage:
            self._end_stage()
            self._stage, self._start_s = stage_name, time.monotonic()
        if self._is_terminal:
            self._show(f"\r{stage_name} {100 * fraction:3.0f} %", end="")

    def note(self, text):
        """A line of its own."""
        self._end_stage()
        self._show(text)

    def _end_stage(self):
        if self._stage is not None:
            lead, tail = ("\r", "  ") if self._is_terminal else ("", "")
            self._show(f"{lead}{self._stage} {time.monotonic() - self._start_s:.1f} s{tail}")
            self._stage = None

    def _show(self, text, *, end="\n"):
        print(text, end=end, file=sys.stderr, flush=True)
