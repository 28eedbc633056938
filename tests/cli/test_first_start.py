"""The first start: a second process compiles, and ends with the command."""

import subprocess
import sys

import pytest

from castplan.cli import first_start


def test_a_first_start_compiles_in_a_second_process_and_ends_it(monkeypatch, tmp_path):
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path))
    started = []
    popen = subprocess.Popen
    monkeypatch.setattr(
        subprocess, "Popen", lambda *a, **k: started.append(popen(*a, **k)) or started[-1]
    )
    with pytest.raises(KeyboardInterrupt), first_start.compiling_ahead() as is_first:
        assert is_first
        assert started[0].poll() is None  # at work
        raise KeyboardInterrupt
    assert started[0].poll() is not None
    (tmp_path / f"kernel-py{sys.version_info.major}{sys.version_info.minor}.nbi").touch()
    with first_start.compiling_ahead() as is_first:
        assert not is_first
    assert len(started) == 1
