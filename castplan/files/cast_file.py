"""The log of pours beside the plan: one line of JSON each, only ever added to.

A line is written in one go and brought to the disk before the command says
so. Killed in between, the file ends without a line break; what stands behind
the last break was never logged and gives way to the next line.
"""

import contextlib
import json
import os
import shutil
from dataclasses import fields
from functools import partial
from pathlib import Path

from castplan import ordinary
from castplan.after.records import CastLog, LoggedPour, Withdrawal
from castplan.errors import InputError, disk_errors
from castplan.files.reading import from_plain
from castplan.files.record import plain

LOG_FILE = "casts.jsonl"
_KINDS = {"pour": LoggedPour, "withdrawal": Withdrawal}
_disk_errors = partial(
    disk_errors,
    need="room on the disk and permission",
    do="Make room, or see who may write there.",
    way="read or write",
)


def read_log(folder) -> CastLog:
    """Every line of a plan's log; an empty one where nothing was logged yet.

    Parameters
    ----------
    folder : str or path-like
        The plan's.

    Returns
    -------
    CastLog

    Raises
    ------
    InputError
        A whole line is not one that castplan wrote.
    ResourceError
        The file cannot be read.
    """
    path = Path(folder) / LOG_FILE
    with _disk_errors(path):
        data = ordinary.read_bytes(path) if path.exists() else b""
    return _log_from(path, data)


def add_line(folder, kind, **values) -> CastLog:
    """Add one line to a plan's log.

    Parameters
    ----------
    folder : str or path-like
        The plan's.
    kind : {LoggedPour, Withdrawal}
    **values
        Fields of the record, all but its number.

    Returns
    -------
    CastLog
        The log with its new line.

    Raises
    ------
    InputError
        A value cannot be, or the log cannot be read.
    ResourceError
        The disk is full or refuses. The log is as it was.
    """
    path = Path(folder) / LOG_FILE
    with _disk_errors(path), _alone(path) as handle:
        data = _read_all(handle)
        log = _log_from(path, data)
        try:
            line = kind(number=len(log.lines) + 1, **values)
            if kind is Withdrawal:
                _check_stands(log, line)
        except ValueError as error:
            raise InputError(
                "the log", found=str(error), need="an entry that can be", do="Nothing was logged."
            ) from error
        whole = data.rfind(b"\n") + 1
        _write_line(handle, whole, _text(line))
    return CastLog(lines=(*log.lines, line))


def carry(source, target) -> None:
    """Take a plan's log along to the folder that replaces it.

    Parameters
    ----------
    source, target : path-like
        Folders; without a log in the first nothing happens.
    """
    path = Path(source) / LOG_FILE
    if path.is_file():
        shutil.copyfile(path, Path(target) / LOG_FILE)


def _check_stands(log, line):
    if line.of in log.withdrawn:
        raise ValueError(f"line {line.of}, which is withdrawn already")


def _text(line) -> bytes:
    """One line: what it is, then what was told."""
    kind = next(name for name, known in _KINDS.items() if isinstance(line, known))
    told = {entry.name: getattr(line, entry.name) for entry in fields(line)}
    told = {name: plain(value) for name, value in told.items() if value not in (None, "", ())}
    values = {"line": kind, **told}
    return json.dumps(values, ensure_ascii=False, allow_nan=False).encode() + b"\n"


def _log_from(path, data):
    whole, _, rest = data.rpartition(b"\n")
    lines = []
    for number, text in enumerate(whole.split(b"\n") if whole else (), start=1):
        try:
            values = json.loads(text)
            line = from_plain(_KINDS[values.pop("line")], values)
            if line.number != number:
                raise ValueError(f"its number is {line.number}")
        except (ValueError, KeyError, TypeError, AttributeError) as error:
            raise InputError(
                f"{path} line {number}",
                found=f"no line of a log ({error})",
                need="lines as castplan cast writes them",
                do="Mend the line, or move the file away to start a new log.",
            ) from error
        lines.append(line)
    return CastLog(lines=tuple(lines), is_torn=bool(rest))


def _write_line(handle, whole, text):
    """All of a line behind the last whole one, on the disk; or none of it."""
    try:
        os.ftruncate(handle, whole)
        os.lseek(handle, whole, os.SEEK_SET)
        done = os.write(handle, text)
        if done < len(text):
            raise OSError("the disk is full")
        os.fsync(handle)
    except BaseException:
        with contextlib.suppress(OSError):
            os.ftruncate(handle, whole)
        raise


def _read_all(handle):
    os.lseek(handle, 0, os.SEEK_SET)
    pieces = []
    while piece := os.read(handle, 1 << 20):
        pieces.append(piece)
    return b"".join(pieces)


@contextlib.contextmanager
def _alone(path):
    """The open file, while no other castplan adds to it."""
    is_new = not path.exists()
    handle = os.open(path, os.O_RDWR | os.O_CREAT | getattr(os, "O_BINARY", 0), 0o666)
    try:
        _lock(handle)
        yield handle
        if is_new and os.name != "nt":
            _flush_folder(path.parent)
    finally:
        os.close(handle)  # gives the lock back


def _flush_folder(folder):
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _lock(handle):
    if os.name == "nt":
        import msvcrt

        msvcrt.locking(handle, msvcrt.LK_LOCK, 1)
    else:
        import fcntl

        fcntl.flock(handle, fcntl.LOCK_EX)
