"""What this machine has of memory, and what a process takes of it."""

import os
import sys
from pathlib import Path

MB = 1_000_000
# Share of this machine's memory that one castplan may take unasked.
MEMORY_FRACTION = 0.8


def usual_mb() -> float:
    """That share in megabytes; without end where the system does not tell."""
    if not hasattr(os, "sysconf"):
        return float("inf")
    return MEMORY_FRACTION * os.sysconf("SC_PHYS_PAGES") * os.sysconf("SC_PAGE_SIZE") / MB


def resident_mb(process: int) -> float:
    """Megabytes that a process holds.

    Parameters
    ----------
    process : int
        Its number.

    Returns
    -------
    float
        0 where it is gone, or the system does not tell.
    """
    try:
        if sys.platform == "linux":
            pages = Path(f"/proc/{process}/statm").read_text().split()[1]
            return int(pages) * os.sysconf("SC_PAGE_SIZE") / MB
        if os.name != "posix":
            return 0.0
        with os.popen(f"ps -o rss= -p {process:d}") as told:
            return int(told.read()) * 1024 / MB
    except (OSError, ValueError, IndexError):
        return 0.0
