"""No test sees the shop's own cards and prices; those of pages share one way to a browser."""

import pytest
from browser import CHROMIUM_FLAGS, chromium_path


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
