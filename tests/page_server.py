"""The page's server in this process, for tests to talk to."""

import contextlib
import threading
import time
from pathlib import Path

import trimesh
import uvicorn

from castplan.page.api import Api
from castplan.page.desk import Desk
from castplan.page.guard import Guard
from castplan.page.server import open_socket
from castplan.page.store import Store

TOKEN = "a-token-of-the-tests"
# A process that changes one job for ever and prints what is kept.
WRITER = """
import sys
from pathlib import Path
from castplan.page.store import Store

store = Store(Path(sys.argv[1]))
jobs = store.all()
key = jobs[0].key if jobs else store.add(
    name="catch", mesh="0" * 64, suffix="stl", choices={"copies": 1})
while True:
    job = store.get(key)
    at = store.change(key, choices={"copies": job.at + 1}, what="count", at=job.at).at
    store.mark(key, name="step", value=at)
    print(at, flush=True)  # what a page is told is saved
"""


class Served:
    """A server that runs; `url` is where."""

    def __init__(self, folder: Path, *, password=None, token=TOKEN, port=0):
        self.folder = folder
        self.store = Store(folder)
        self.desk = Desk(self.store)
        api = Api(self.store, self.desk, token=token).app()
        self.app = Guard(api, token=token, password=password)
        self._listener = open_socket(host="127.0.0.1", port=port)
        self.url = f"http://127.0.0.1:{self._listener.getsockname()[1]}"
        told = uvicorn.Config(
            self.app, log_level="error", access_log=False, lifespan="off", ws="none"
        )
        self._server = uvicorn.Server(told)
        self._thread = threading.Thread(
            target=self._server.run, kwargs={"sockets": [self._listener]}, daemon=True
        )
        self._thread.start()

    def close(self):
        """Stop it and let go of its jobs."""
        self._server.should_exit = True
        self._server.force_exit = True
        self._thread.join(20)
        self._listener.close()
        self.desk.close()
        self.store.close()


@contextlib.contextmanager
def serving(folder, **options):
    """A server for the time of a ``with`` block."""
    served = Served(folder, **options)
    try:
        yield served
    finally:
        served.close()


def stl_of(body) -> bytes:
    """A body of `shapes` as a binary STL file."""
    mesh = trimesh.Trimesh(body.vertices_mm, body.faces, process=False)
    return mesh.export(file_type="stl")


def until(test, *, seconds=30.0):
    """Wait until something is so; fails where it does not become so."""
    end = time.monotonic() + seconds
    while not test():
        assert time.monotonic() < end, "it did not happen"
        time.sleep(0.01)
