"""How a part ended, and how that goes through a pipe.

A frame is a length of eight bytes and a pickle; both ends are castplan.
"""

import pickle
from dataclasses import dataclass

# planned: there is a plan. refused: the file or an option cannot be used. fault: a
# fault of castplan. memory, time: over the limit. lost: its process or worker ended.
STATUSES = ("planned", "refused", "fault", "memory", "time", "lost")
PLANNED, REFUSED, FAULT, MEMORY, TIME, LOST = STATUSES


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """How a part ended: the plan folder's files and its digest, or an error in one line."""

    status: str
    error: str = ""
    files: tuple[tuple[str, bytes], ...] = ()
    digest: dict | None = None
    seconds: float = 0.0


def send(stream, value) -> None:
    """Write one frame."""
    frame = pickle.dumps(value)
    stream.write(len(frame).to_bytes(8, "big") + frame)
    stream.flush()


def receive(stream):
    """Read one frame.

    Raises
    ------
    EOFError
        The other end is gone.
    """
    length = int.from_bytes(_exactly(stream, 8), "big")
    return pickle.loads(_exactly(stream, length))


def _exactly(stream, n_bytes):
    data = stream.read(n_bytes)
    if len(data) < n_bytes:
        raise EOFError
    return data
