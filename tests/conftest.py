"""No test sees the shop's own cards; a file's caches go with it; pages share one browser.

Tests marked long are left out unless `--long` asks for them.
"""

import gc
from pathlib import Path

import pytest
from browser import CHROMIUM_FLAGS, chromium_path


def pytest_addoption(parser):
    parser.addoption("--long", action="store_true", help="run the long tests too")


def pytest_report_header(config):
    if config.getoption("long"):
        return None
    # Read from the files: nothing is collected yet, and with workers never here.
    files = Path(__file__).parent.rglob("test_*.py")
    n_files = sum("pytest.mark.long" in path.read_text("utf-8") for path in files)
    return f"long tests of {n_files} files are left out: --long runs them too"


def pytest_collection_modifyitems(config, items):
    if config.getoption("long"):
        return
    left_out = [item for item in items if item.get_closest_marker("long")]
    config.hook.pytest_deselected(items=left_out)
    items[:] = [item for item in items if not item.get_closest_marker("long")]


@pytest.fixture(autouse=True, scope="module")
def forget(request):
    """What a file of tests keeps in its caches goes with it: whole plans fill gigabytes."""
    yield
    for kept in vars(request.module).values():
        if hasattr(kept, "cache_clear"):
            kept.cache_clear()
    gc.collect()


@pytest.fixture(autouse=True)
def shop_folder(tmp_path, monkeypatch):
    """An empty shop folder; returns its path."""
    home = tmp_path / "shop-folder"
    monkeypatch.setenv("CASTPLAN_HOME", str(home))
    return home


@pytest.fixture(scope="module")
def start_browser():
    """Start the system's chromium with further flags; closed with the module."""
    path = chromium_path()
    from playwright.sync_api import sync_playwright

    with sync_playwright() as driver:
        started = []

        def start(*flags):
            started.append(
                driver.chromium.launch(executable_path=path, args=[*CHROMIUM_FLAGS, *flags])
            )
            return started[-1]

        yield start
        for browser in started:
            browser.close()


@pytest.fixture(scope="module")
def browser(start_browser):
    """One chromium for the module."""
    return start_browser()
