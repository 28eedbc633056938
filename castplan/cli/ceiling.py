"""How long a command may work and how much memory it may take, and its end at Ctrl-C.

A kernel that runs, or a library that hangs or crashes, is beyond the reach of its own
process. So the program forks before anything heavy is loaded: one process works, the
other does nothing but watch it, tells in one line why it ended, and ends it where it must.
Where there is no fork (Windows) nothing is watched.
"""

import contextlib
import os
import select
import signal
import sys
import threading
import time
from pathlib import Path
from typing import Annotated

import typer

from castplan.errors import CastplanError, ResourceError
from castplan.machine import MEMORY_FRACTION, resident_mb, usual_mb

LIMIT_S = 1800.0
STOPPED_CODE = 130
# How often the one that works is looked at [s], and how long it may take to tidy up:
# Ctrl-C has ended it within a second.
_LOOK_S = 0.05
_TIDY_S = 0.6

LimitOption = Annotated[
    float | None,
    typer.Option(
        "--limit-s",
        metavar="S",
        help=f"Give up after so many seconds. Default {LIMIT_S:g}. Not on Windows.",
    ),
]
MemoryOption = Annotated[
    float | None,
    typer.Option(
        "--memory-mb",
        metavar="MB",
        help="Give up where it takes more memory. Default "
        f"{100 * MEMORY_FRACTION:.0f} % of this machine's. Not on Windows.",
    ),
]


class Stopped(BaseException):
    """Ctrl-C, or the watch, asks the one that works to tidy up and end."""


class _Watch:
    """Whether this program watches itself, and whether this is the process that works."""

    is_wanted = False
    is_working = False


def start(main) -> None:
    """Run a program whose commands may ask to be watched; it ends with its exit code.

    Parameters
    ----------
    main : callable
        The program.
    """
    _Watch.is_wanted = hasattr(os, "fork")
    try:
        main()
    except Stopped:
        _leave(STOPPED_CODE)
    except SystemExit as end:
        if not _Watch.is_working:
            raise
        # The watch tells it. Threads that still compile would crash an interpreter that ends.
        _leave(end.code if isinstance(end.code, int) else int(end.code is not None))
    if _Watch.is_working:
        _leave(0)


def _leave(code):
    for stream in (sys.stdout, sys.stderr):
        with contextlib.suppress(OSError, ValueError):
            stream.flush()
    os._exit(code)


def hold(*, limit_s: float | None, memory_mb: float | None, out: Path | None = None) -> None:
    """Have what follows done under a watch.

    Parameters
    ----------
    limit_s, memory_mb : float or None
        As typed; None for the usual.
    out : pathlib.Path, optional
        What is written. If it has to be cut off, its drafts are taken away.

    Raises
    ------
    SystemExit
        In the process that watches, once the other has ended.
    """
    from castplan.cli.options import read_number

    limit_s = read_number("--limit-s", limit_s, above=0.0, unit="s") or LIMIT_S
    memory_mb = read_number("--memory-mb", memory_mb, above=0.0, unit="MB") or usual_mb()
    if not _Watch.is_wanted or _Watch.is_working:
        return
    before = _drafts(out)
    for stream in (sys.stdout, sys.stderr):
        stream.flush()
    alive, ends = os.pipe()
    wanted, lets_go = os.pipe()
    child = os.fork()
    if not child:
        os.close(alive)
        os.close(lets_go)
        _begin(wanted)
        return
    os.close(ends)
    os.close(wanted)
    code, line = _watch(child, alive, limit_s, memory_mb)
    for draft in _drafts(out) - before:
        _remove(draft)
    if line is not None:
        raise line
    raise SystemExit(code)


def _begin(wanted):
    """What the process that works does first."""
    _Watch.is_working = True
    if signal.getsignal(signal.SIGINT) != signal.SIG_IGN:
        signal.signal(signal.SIGINT, _stop)

    def end_with_the_watch():
        os.read(wanted, 1)  # nothing is ever written: it ends with the other process
        os._exit(STOPPED_CODE)

    threading.Thread(target=end_with_the_watch, daemon=True).start()


def _stop(number, frame):
    # The terminal tells both processes, and the watch tells this one again.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    raise Stopped


def _watch(child, alive, limit_s, memory_mb):
    """Wait for the one that works; its exit code, and the line that says why if it was ended."""
    pressed = []
    is_heard = signal.getsignal(signal.SIGINT) != signal.SIG_IGN
    if is_heard:
        signal.signal(signal.SIGINT, lambda *_: pressed.append(True))
    until_s = time.monotonic() + limit_s
    line = None
    while not _has_ended(alive):
        if pressed:
            break
        if time.monotonic() > until_s:
            line = _ended(f"no end after {limit_s:g} s", "one within the limit", "--limit-s")
            break
        if resident_mb(child) > memory_mb:
            line = _ended(f"over {memory_mb:.0f} MB in use", "less", "--memory-mb")
            break
    if pressed or line is not None:
        _send(child, signal.SIGINT)
        until_s = time.monotonic() + _TIDY_S
        while not _has_ended(alive) and time.monotonic() < until_s:
            pass
        _send(child, signal.SIGKILL)
    _, status = os.waitpid(child, 0)
    if pressed:
        print("Stopped.", file=sys.stderr)
        return STOPPED_CODE, None
    if line is None and os.WIFSIGNALED(status):
        line = _lost(os.WTERMSIG(status))
    return os.waitstatus_to_exitcode(status), line


def _has_ended(alive):
    """Wait a moment for the end of the process that works: then its pipe can be read."""
    return bool(select.select([alive], [], [], _LOOK_S)[0])


def _send(child, number):
    with contextlib.suppress(ProcessLookupError):
        os.kill(child, number)


def _ended(found, need, option):
    return ResourceError(
        "castplan",
        found=found,
        need=need,
        do=f"Raise {option}, give a coarser --pitch, or make the mesh lighter with "
        "castplan repair --triangles.",
    )


def _lost(number):
    name = signal.Signals(number).name
    if number in (signal.SIGKILL, signal.SIGTERM):
        return ResourceError(
            "castplan",
            found=f"its work ended by the system ({name})",
            need="memory and leave to go on",
            do="Close other programs, or give a coarser --pitch.",
        )
    return CastplanError(
        "castplan",
        found=f"a fault of its own ({name})",
        need="a report of it",
        do="Send this line with the part.",
    )


def _drafts(out):
    """Hidden beside what is written, until it is whole."""
    if out is None:
        return set()
    parent = Path(os.path.abspath(out)).parent
    starts = tuple(f".{name}.unfinished-" for name in (out.name, out.stem, f"{out.name}.txt"))
    try:
        return {path for path in parent.iterdir() if path.name.startswith(starts)}
    except OSError:
        return set()


def _remove(draft):
    import shutil

    if draft.is_dir():
        shutil.rmtree(draft, ignore_errors=True)
    else:
        draft.unlink(missing_ok=True)
