"""Files that somebody names, read where they are files: a pipe or a device would never end."""

import errno
import os
import stat
from pathlib import Path

# Cards, lists, texts and prices are written by hand.
MOST_TEXT_BYTES = 20_000_000


def read_bytes(path, *, most: int | None = None) -> bytes:
    """The bytes of an ordinary file.

    Parameters
    ----------
    path : str or path-like
    most : int, optional
        How many there may be.

    Raises
    ------
    OSError
        It cannot be read, is too large, or is a pipe or a device.
    """
    with open(path, "rb", opener=_open_at_once) as file:
        told = os.fstat(file.fileno())
        if not stat.S_ISREG(told.st_mode):
            raise OSError(errno.EINVAL, "a pipe or a device, no file", str(path))
        if most is not None and told.st_size > most:
            raise OSError(errno.EFBIG, os.strerror(errno.EFBIG), str(path))
        return file.read()


def read_text(path, *, encoding: str = "utf-8") -> str:
    """The text of an ordinary file of at most `MOST_TEXT_BYTES`.

    Raises
    ------
    OSError
        As `read_bytes`.
    ValueError
        It is no text.
    """
    data = read_bytes(Path(path), most=MOST_TEXT_BYTES)
    return data.decode(encoding).replace("\r\n", "\n").replace("\r", "\n")


def _open_at_once(path, flags):
    # Opening a pipe waits for whoever writes into it.
    return os.open(path, flags | getattr(os, "O_NONBLOCK", 0))
