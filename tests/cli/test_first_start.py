"""The first start: other processes compile, and end with the command."""

import subprocess
import sys

import pytest

from castplan.cli import first_start


def test_a_first_start_compiles_on_every_other_core_and_ends_that(monkeypatch, tmp_path):
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path))
    monkeypatch.setattr("os.cpu_count", lambda: 3)
    started = []
    popen = subprocess.Popen
    monkeypatch.setattr(
        subprocess, "Popen", lambda *a, **k: started.append(popen(*a, **k)) or started[-1]
    )
    with pytest.raises(KeyboardInterrupt), first_start.compiling_ahead() as is_first:
        assert is_first
        assert [helper.poll() for helper in started] == [None, None]  # at work
        raise KeyboardInterrupt
    assert all(helper.poll() is not None for helper in started)
    (tmp_path / f"kernel-py{sys.version_info.major}{sys.version_info.minor}.nbi").touch()
    with first_start.compiling_ahead() as is_first:
        assert not is_first
    assert len(started) == 2
