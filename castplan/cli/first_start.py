"""The first start on a machine, when the kernels have to be compiled."""

import contextlib
import importlib.util
import os
import subprocess
import sys
from pathlib import Path

# Processes beside the command: the kernels are few and not alike, more would wait.
MOST_AHEAD = 3


def is_compiled():
    """Whether the compiled kernels of an earlier start are still kept.

    Told by the cache files of this Python, without importing the compiler.
    """
    version = f"py{sys.version_info.major}{sys.version_info.minor}"
    folders = [
        Path(place) for place in importlib.util.find_spec("castplan").submodule_search_locations
    ]
    if os.environ.get("NUMBA_CACHE_DIR"):
        folders = [Path(os.environ["NUMBA_CACHE_DIR"])]
    return any(next(folder.rglob(f"*{version}*.nbi"), None) for folder in folders)


@contextlib.contextmanager
def compiling_ahead():
    """Compile on other cores what the command needs last; that ends with the command.

    Yields
    ------
    bool
        Whether this is a first start.
    """
    if is_compiled():
        yield False
        return
    quiet = {"stdin": subprocess.DEVNULL, "stdout": subprocess.DEVNULL}
    n = min((os.cpu_count() or 1) - 1, MOST_AHEAD)
    command = [sys.executable, "-m", "castplan.step_pictures.ahead"]
    helpers = [
        subprocess.Popen([*command, str(k), str(n)], stderr=subprocess.DEVNULL, **quiet)
        for k in range(n)
    ]
    try:
        yield True
    finally:
        # A kernel is kept by renaming a whole file, so an end at any time leaves no half.
        for helper in helpers:
            helper.kill()
            helper.wait()
