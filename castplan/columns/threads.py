"""How many threads the searches may use."""

import os


def n_threads() -> int:
    """Threads of one plan: what ``CASTPLAN_THREADS`` says, else one a core.

    Where many parts are planned side by side each gets one.
    """
    told = os.environ.get("CASTPLAN_THREADS", "")
    return int(told) if told.isdigit() and int(told) else os.cpu_count() or 1
