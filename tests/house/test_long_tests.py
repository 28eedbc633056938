"""Long tests are left out by the marker `long` alone, and one flag runs them all."""

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

HOME = Path(__file__).parents[2]
# Its own marks are written with capitals, or this file would count as one with long tests.
TINY = """
import pytest

def test_short():
    pass

@pytest.mark.LONG
def test_long():
    pass

@pytest.mark.parametrize("n", [1, pytest.param(2, marks=pytest.mark.LONG)])
def test_both(n):
    pass
"""
MARKS = re.compile(r"\bpytest\.mark\.(\w+)")
# Of pytest itself (its manual, "Marks reference"), and this one of castplan's.
KNOWN = {"parametrize", "skipif", "usefixtures", "long"}


@pytest.fixture
def run(tmp_path):
    """Pytest over one tiny file, set up as here; its exit status and what it prints."""
    tests = tmp_path / "tests"
    tests.mkdir()
    shutil.copy(HOME / "pyproject.toml", tmp_path)
    for name in ("conftest.py", "browser.py"):
        shutil.copy(HOME / "tests" / name, tests)
    (tests / "test_tiny.py").write_text(TINY.replace("LONG", "long"), encoding="utf-8")

    def run(*options, **swapped):
        for old, new in swapped.values():
            for path in (tests / "conftest.py", tests / "test_tiny.py"):
                text = path.read_text(encoding="utf-8")
                path.write_text(text.replace(old, new), encoding="utf-8")
        told = subprocess.run(
            [sys.executable, "-m", "pytest", "-p", "pytest_timeout", *options],
            cwd=tmp_path,
            env=os.environ | {"PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1"},  # starts in half a second
            capture_output=True,
            text=True,
            check=False,
        )
        return told.returncode, told.stdout

    return run


def test_without_the_flag_long_tests_are_deselected_and_told(run):
    status, told = run()
    assert status == 0 and "2 passed, 2 deselected in " in told and "skipped" not in told
    assert "long tests of 1 files are left out: --long runs them too\n" in told


def test_with_the_flag_every_test_runs(run):
    status, told = run("--long")
    assert status == 0 and "4 passed in " in told and "left out" not in told


def test_workers_leave_the_same_out(run):
    status, told = run("-p", "xdist.plugin", "-n", "1", "--dist", "loadfile")
    assert status == 0 and "2 passed in " in told and "--long runs them too" in told


def test_a_flag_that_leaves_nothing_out_is_found_out(run):
    _, told = run(hook=("def pytest_collection_modifyitems", "def nothing"))
    assert "4 passed in " in told


def test_a_marker_that_is_misspelt_is_an_error(run):
    status, told = run("--long", name=("@pytest.mark.l", "@pytest.mark.n"))
    assert status != 0 and "Unknown pytest.mark.nong" in told


def unknown(source):
    """Marks in a source that are no known ones."""
    return sorted(set(MARKS.findall(source)) - KNOWN)


def test_no_other_mark_keeps_a_test_from_running():
    files = sorted((HOME / "tests").rglob("test_*.py"))
    sources = {path: path.read_text("utf-8") for path in files if path != Path(__file__)}
    assert len(sources) > 100 and any("mark.long" in text for text in sources.values())
    assert {str(path): unknown(text) for path, text in sources.items() if unknown(text)} == {}
    assert unknown("@pytest.mark.skip\n@pytest.mark.skipif\n@pytest.mark.xfail") == [
        "skip",
        "xfail",
    ]
