"""What a worker of the embedded cluster does as it starts; Dask loads this by name."""

import signal


def dask_setup(worker) -> None:
    """Leave Ctrl-C to the command: it stops the workers in good order."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
