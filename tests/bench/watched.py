"""A process that takes one task after the other, watched, and replaced where it has to be.

Linux only: the peak of each task is read of /proc (proc(5), clear_refs and VmHWM).
"""

import contextlib
import io
import json
import os
import resource
import select
import signal
import sys
import tempfile
import time
import traceback
from pathlib import Path

import psutil

LIMIT_S = 30
WALL_S = 20 * LIMIT_S  # on a machine that does other things too
LIMIT_BYTES = 2_000_000_000
# Beside castplan's own exit codes, how a task can end.
ENDS = {
    0: "exit 0",
    2: "exit 2",
    3: "exit 3",
    4: "exit 4",
    95: "over memory",
    96: "words of a library",
    97: "not one line",
    98: "crash",
    99: "own fault",
    94: "over 30 s",
}


def run_command(words):
    """A whole command in this process; its exit code and the line it ends with."""
    from castplan import cli

    held = sys.argv, sys.stdout, sys.stderr
    sys.argv = ["castplan", *words]
    sys.stdout, sys.stderr = (io.TextIOWrapper(io.BytesIO(), encoding="utf-8") for _ in range(2))
    try:
        cli.main()
        code = 0
    except SystemExit as end:
        code = end.code or 0
    finally:
        sys.stderr.flush()
        text = sys.stderr.buffer.getvalue().decode()
        sys.argv, sys.stdout, sys.stderr = held
    # Progress goes to the same stream, before the line that ends it.
    lines = [line for line in text.splitlines() if ": found " in line or line[:7] == "Error: "]
    if code not in (0, 2, 3, 4) or "Traceback" in text:
        return 99, text
    return code, "\n".join(lines) if code else ""


def _work(task_of, asked, told):
    """In a process of its own: do each task that comes."""
    bound = psutil.Process().memory_info().vms + LIMIT_BYTES
    resource.setrlimit(resource.RLIMIT_AS, (bound, bound))
    aside = tempfile.TemporaryFile()  # noqa: SIM115
    os.dup2(aside.fileno(), 1)
    os.dup2(aside.fileno(), 2)
    for line in asked:
        aside.seek(0)
        aside.truncate()
        Path("/proc/self/clear_refs").write_text("5")  # the peak counts from here
        begun = time.process_time()
        try:
            code, said = task_of(*json.loads(line))
        except BaseException as error:
            code, said = 99, "".join(traceback.format_exception(error))
        aside.seek(0)
        heard = aside.read().decode(errors="replace")
        if heard:
            code, said = 96, heard
        if code in (2, 3, 4) and ("\n" in said or not said):
            code = 97
        status = Path("/proc/self/status").read_text()
        peak = 1024 * int(status.split("VmHWM:")[1].split()[0])
        told.write(json.dumps([code, said, time.process_time() - begun, peak]) + "\n")
        told.flush()


class Worker:
    """Does ``task_of(*task)``, a pair of exit code and words, in processes of its own."""

    def __init__(self, task_of):
        self._task_of = task_of
        self._pid = 0

    def _begin(self):
        from_parent, to_child = os.pipe()
        from_child, to_parent = os.pipe()
        self._pid = os.fork()
        if not self._pid:
            os.close(to_child)
            os.close(from_child)
            with os.fdopen(from_parent) as asked, os.fdopen(to_parent, "w") as told:
                _work(self._task_of, asked, told)
            os._exit(0)
        os.close(from_parent)
        os.close(to_parent)
        self._asks, self._hears = os.fdopen(to_child, "w"), os.fdopen(from_child)

    def take(self, *task):
        """Outcome of one task: code, words, seconds of processor, peak in bytes."""
        if not self._pid:
            self._begin()
        process = psutil.Process(self._pid)
        before_s = sum(process.cpu_times()[:2])
        until_s, seconds = time.monotonic() + WALL_S, 0.0
        self._asks.write(json.dumps(task) + "\n")
        self._asks.flush()
        while not select.select([self._hears], [], [], 0.5)[0]:
            seconds = sum(process.cpu_times()[:2]) - before_s
            if seconds > LIMIT_S or time.monotonic() > until_s:
                self.end()
                return 94, "killed", seconds, 0
        line = self._hears.readline()
        if not line:
            _, status = os.waitpid(self._pid, 0)
            self._let_go()
            return 98, f"ended by signal {status & 127}", seconds, 0
        code, said, seconds, peak = json.loads(line)
        if peak > LIMIT_BYTES and code < 90:
            code = 95
        return code, said, seconds, peak

    def end(self):
        """Away with its process."""
        if self._pid:
            os.kill(self._pid, signal.SIGKILL)
            os.waitpid(self._pid, 0)
            self._let_go()

    def _let_go(self):
        self._pid = 0
        self._hears.close()
        with contextlib.suppress(BrokenPipeError):
            self._asks.close()


def print_table(title, rows):
    """How often each name ended how; rows of name and code."""
    width = max(len(title), *(len(name) for name, _ in rows)) + 2
    print(title.ljust(width) + "  ".join(ENDS.values()))
    for name in sorted({name for name, _ in rows}):
        ends = [sum(row == (name, code) for row in rows) for code in ENDS]
        cells = (str(n).rjust(len(word)) for n, word in zip(ends, ENDS.values(), strict=True))
        print(name.ljust(width) + "  ".join(cells))
