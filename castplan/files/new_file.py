"""Single files: whole or not at all, and never over another unasked."""

import contextlib
import os
import uuid
from pathlib import Path

from castplan.errors import InputError, ResourceError


def check_new(path, *, suffixes: tuple, replace: bool) -> None:
    """Make sure that a file can be put at `path`, before any computing.

    Parameters
    ----------
    path : str or path-like
    suffixes : tuple of str
        What its name may end in.
    replace : bool
        Whether a file that is there may make way.

    Raises
    ------
    InputError
        The name is taken or has another suffix, or there is no such folder.
    """
    path = Path(path)
    if path.suffix.lower() not in suffixes:
        raise InputError(
            str(path),
            found=f"the suffix {path.suffix!r}",
            need="one of " + ", ".join(suffixes),
            do="Give the file such a name.",
        )
    if path.is_dir() or (os.path.lexists(path) and not replace):
        raise InputError(
            str(path),
            found="a folder" if path.is_dir() else "a file",
            need="a free name",
            do="Choose another name, or give --replace to write over a file.",
        )
    if not path.absolute().parent.is_dir():
        raise InputError(
            str(path),
            found="no such folder",
            need="a folder to put the file in",
            do="Make the folder first, or choose another.",
        )


@contextlib.contextmanager
def appearing(path):
    """A hidden path beside `path` to write to; it gets its name once it is whole.

    Raises
    ------
    ResourceError
        The disk is full or refuses.
    """
    path = Path(path).absolute()
    draft = path.with_name(f".{path.stem}.unfinished-{uuid.uuid4().hex[:12]}{path.suffix}")
    try:
        yield draft
        handle = os.open(draft, os.O_RDWR)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
        os.replace(draft, path)
    except OSError as error:
        raise ResourceError(
            str(path),
            found=f"no way to write it ({error.strerror or error})",
            need="room on the disk and permission to write",
            do="Make room, or choose another place.",
        ) from error
    finally:
        with contextlib.suppress(OSError):
            draft.unlink()
