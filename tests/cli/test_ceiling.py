"""Limits of time and memory, crashes and Ctrl-C: one line, an exit code, nothing left behind.

What is under test is the promise of `castplan/errors.py`; the codes of signals are POSIX's
(IEEE 1003.1, 2.4 Signal Concepts), 130 for Ctrl-C is what shells say. Limits are invented
here.
"""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import psutil
import pytest

from castplan import machine
from castplan.cli import ceiling

pytestmark = pytest.mark.skipif(os.name != "posix", reason="nothing is watched without fork")

PART = Path(__file__).parents[2] / "sample_parts" / "coat_hook.stl"
# Read by every Python that starts with this folder on its path: the process that works
# does what it is told, in compiled code that lets no other Python run.
SITE = """
import os
fork = os.fork

def forked():
    child = fork()
    if child:
        return child
    import ctypes, signal, sys
    print("at work", file=sys.stderr, flush=True)
    task = os.environ["CASTPLAN_TEST"]
    if task == "crashes":
        os.kill(os.getpid(), signal.SIGSEGV)
    if task == "is ended":
        os.kill(os.getpid(), signal.SIGKILL)
    if task == "eats":
        held = bytearray(b"x") * 500_000_000
    if task == "writes":
        os.mkdir(".plan.unfinished-0123456789ab")
    if task != "works":
        ctypes.PyDLL(None).sleep(600)
    return child

os.fork = forked
"""


@pytest.fixture
def start(tmp_path):
    """Start a command whose process that works has a task."""
    (tmp_path / "site").mkdir()
    (tmp_path / "site" / "sitecustomize.py").write_text(SITE)
    (tmp_path / "here").mkdir()
    started = []

    def start(task, *words, command="plan", out=("--out", "plan")):
        path = os.pathsep.join([str(tmp_path / "site"), str(Path(__file__).parents[2])])
        process = subprocess.Popen(
            [sys.executable, "-m", "castplan", command, PART, "--units", "mm", *out, *words],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            cwd=tmp_path / "here",
            env={**os.environ, "PYTHONPATH": path, "CASTPLAN_TEST": task},
            # A shell has what it runs in the background ignore Ctrl-C.
            preexec_fn=lambda: signal.signal(signal.SIGINT, signal.default_int_handler),
        )
        started.append(process)
        assert process.stderr.readline() == "at work\n"
        return process

    yield start
    for process in started:
        process.kill()
        process.communicate()


def end(process):
    """Its exit code and what it said; nothing of the 600 s is waited for."""
    out, err = process.communicate(timeout=60)
    assert out == ""
    return process.returncode, err


@pytest.mark.parametrize(
    ("command", "out"),
    [
        ("plan", ("--out", "plan")),
        ("check", ()),
        ("repair", ("--out", "plan.stl")),
    ],
)
def test_what_takes_too_long_is_ended_in_one_line(start, tmp_path, command, out):
    code, err = end(start("hangs", "--limit-s", "0.5", command=command, out=out))
    assert (code, err.count("\n")) == (4, 1)
    assert err.startswith("castplan: found no end after 0.5 s, need one within the limit. Raise")
    assert list((tmp_path / "here").iterdir()) == []


def test_what_takes_too_much_memory_is_ended_in_one_line(start):
    code, err = end(start("eats", "--memory-mb", "300"))
    assert (code, err.count("\n")) == (4, 1)
    assert err.startswith("castplan: found over 300 MB in use, need less. Raise --memory-mb")


def test_within_its_limits_it_works_to_the_end(start):
    limits = ("--limit-s", "600", "--memory-mb", "100000")
    process = start("works", *limits, command="check", out=())
    out, err = process.communicate(timeout=60)
    assert (process.returncode, err) == (0, "") and "30 x 96 x 46 mm" in out


@pytest.mark.parametrize(
    ("task", "code", "said"),
    [
        ("crashes", 1, "castplan: found a fault of its own (SIGSEGV), need a report of it. Send"),
        ("is ended", 4, "castplan: found its work ended by the system (SIGKILL), need memory"),
    ],
)
def test_a_crash_is_one_line(start, task, code, said):
    found, err = end(start(task))
    assert (found, err.count("\n")) == (code, 1)
    assert err.startswith(said)


def test_ctrl_c_ends_what_listens_to_nothing_and_takes_its_drafts_away(start, tmp_path):
    process = start("writes")
    draft = tmp_path / "here" / ".plan.unfinished-0123456789ab"
    while not draft.exists():
        time.sleep(0.01)
    process.send_signal(signal.SIGINT)
    assert end(process) == (130, "Stopped.\n")
    assert list((tmp_path / "here").iterdir()) == []


def test_ctrl_c_is_never_lost(start, tmp_path):
    process = start("works")
    assert process.stderr.readline().startswith("load")
    process.send_signal(signal.SIGINT)
    code, err = end(process)
    assert code == 130 and err.splitlines()[-1] == "Stopped."
    assert list((tmp_path / "here").iterdir()) == []


def test_without_its_watch_the_work_ends_too(start):
    process = start("works")
    (work,) = psutil.Process(process.pid).children()
    assert process.stderr.readline().startswith("load")
    process.kill()
    process.wait()
    assert psutil.wait_procs([work], timeout=60)[1] == []


@pytest.mark.parametrize("limit", ["--limit-s", "--memory-mb"])
@pytest.mark.parametrize("value", ["0", "-1", "nan", "inf"])
def test_a_limit_is_a_number_above_zero(limit, value):
    ended = subprocess.run(
        [sys.executable, "-m", "castplan", "check", PART, limit, value],
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )
    assert ended.returncode == 2 and ended.stderr.startswith(f"{limit}: found {value}")


def test_the_limits_that_hold_unasked_are_said():
    assert f"Default {ceiling.LIMIT_S:g}" in ceiling.LimitOption.__metadata__[0].help
    assert "Default 80 %" in ceiling.MemoryOption.__metadata__[0].help
    whole_mb = psutil.virtual_memory().total / 1e6
    assert machine.usual_mb() == pytest.approx(0.8 * whole_mb, rel=0.01)
    # Both read the same counter of the system, a moment apart.
    told_mb = psutil.Process().memory_info().rss / 1e6
    assert machine.resident_mb(os.getpid()) == pytest.approx(told_mb, rel=0.05)
    assert machine.resident_mb(2**22 + 1) == 0.0
