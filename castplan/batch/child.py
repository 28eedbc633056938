"""The process that plans: ``python -m castplan.batch.child``, fed through its pipes.

It is warm after its first part, plans one after another, and may be killed at
any moment: all it writes lies in a temporary folder.
"""

import json
import os
import queue
import signal
import sys
import tempfile
import threading
import traceback
from pathlib import Path

from castplan import texts
from castplan.batch.order import Parcel
from castplan.batch.outcome import FAULT, MEMORY, PLANNED, REFUSED, Outcome, receive, send
from castplan.errors import CastplanError

# Beyond the limit of a part, before the system ends a child that nobody watches any more.
GRACE_S = 30.0


def plan_parcel(parcel: Parcel) -> Outcome:
    """Plan one part as ``castplan plan`` does, and take the plan folder's files.

    The part's language is spoken from then on.

    Parameters
    ----------
    parcel : Parcel

    Returns
    -------
    Outcome
        Whatever goes wrong is told in it.
    """
    try:
        _speak(json.loads(parcel.texts or b"{}"))
        with tempfile.TemporaryDirectory(prefix="castplan-") as place:
            return _plan(parcel, Path(place))
    except CastplanError as error:
        return Outcome(status=REFUSED, error=str(error))
    except MemoryError:
        return Outcome(status=MEMORY)
    except Exception as error:
        last = traceback.extract_tb(error.__traceback__)[-1]
        told = " ".join(f"{type(error).__name__}: {error}".split())[:200]
        return Outcome(
            status=FAULT,
            error=f"{parcel.file_name}: found a fault of castplan's own ({told}; "
            f"{Path(last.filename).name} line {last.lineno}), need a report of it. "
            "Send this line with the part.",
        )


def _speak(translation):
    """From now on."""
    if texts.spoken() != translation:
        texts.use(translation)


def _plan(parcel, place):
    from castplan.batch.digest import digest_of

    home = place / "home"
    (home / "cards").mkdir(parents=True)
    for name, card in parcel.cards:
        (home / "cards" / Path(name).name).write_bytes(card)
    os.environ["CASTPLAN_HOME"] = str(home)
    planned = _read(parcel, place / "said") if parcel.said else _make(parcel, place / "mesh")
    folder = planned.write(place / "plan")
    files = tuple(
        (path.relative_to(folder).as_posix(), path.read_bytes())
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    )
    return Outcome(status=PLANNED, files=files, digest=digest_of(planned.record))


def _make(parcel, place):
    from castplan.door import plan_part
    from castplan.part.load import Reading, load_part, read_each

    files, reading = {}, Reading(**parcel.reading)
    for file in ((parcel.file_name, parcel.mesh), *parcel.others):
        if file not in files:  # a copy is the same file again
            files[file] = place / str(len(files)) / Path(file[0]).name
            files[file].parent.mkdir(parents=True)
            files[file].write_bytes(file[1])
    paths = [files[file] for file in ((parcel.file_name, parcel.mesh), *parcel.others)]
    part, *others = read_each(paths, lambda path: load_part(path, reading))
    return plan_part(part, parcel.job, others=others, solids=parcel.solids)


def _read(parcel, place):
    from castplan.door import read_plan

    place.mkdir()
    for name, data in parcel.said:
        (place / Path(name).name).write_bytes(data)
    return read_plan(place)


def main() -> None:
    """Plan what comes in until the pipe closes."""
    orders, results = sys.stdin.buffer, os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # what a library prints must not get between the frames
    waiting = queue.SimpleQueue()
    # The pipe is read beside the planning, so that a child whose owner is gone ends.
    threading.Thread(target=_listen, args=(orders, waiting), daemon=True).start()
    while True:
        parcel, limit_s = waiting.get()
        if hasattr(signal, "setitimer"):
            # The default action kills the process whatever it is doing.
            signal.setitimer(signal.ITIMER_REAL, limit_s + GRACE_S)
        outcome = plan_parcel(parcel)
        if hasattr(signal, "setitimer"):
            signal.setitimer(signal.ITIMER_REAL, 0.0)
        send(results, outcome)


def _listen(stream, waiting):
    try:
        while True:
            waiting.put(receive(stream))
    except EOFError:
        os._exit(0)


if __name__ == "__main__":
    main()
