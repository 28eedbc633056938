"""What a child that plans is started with, whatever its worker was started with."""

import psutil
from batch_parts import EASY, box_order

from castplan.batch.bench import ONE_THREAD, Bench
from castplan.batch.order import pack
from castplan.batch.outcome import PLANNED

# The other judge is the system, which tells a process's environment.


def test_a_child_keeps_freed_memory_and_one_thread(tmp_path, monkeypatch):
    # What Dask sets for its workers (distributed.nanny.pre-spawn-environ of its
    # documented configuration); psutil tells what the child has of it.
    monkeypatch.setenv("MALLOC_TRIM_THRESHOLD_", "65536")
    monkeypatch.setenv("OMP_NUM_THREADS", "2")
    bench = Bench()
    try:
        parcel = pack(box_order(tmp_path, "box", size_mm=(20.0, 14.0, 10.0)))
        assert bench.plan(parcel, EASY).status == PLANNED
        own = [
            child
            for child in psutil.Process().children()
            if "castplan.batch.child" in child.cmdline()
        ]
        assert len(own) == 1
        told = own[0].environ()
    finally:
        bench.close()
    assert "MALLOC_TRIM_THRESHOLD_" not in told
    assert ONE_THREAD.items() <= told.items()
