"""No test sees the shop's own cards and prices; those of pages share one way to a browser."""

import os
import shutil

import pytest

# WebGL2 without a graphics card; the sandbox needs rights that containers lack.
CHROMIUM_FLAGS = (
    "--no-sandbox",
    "--use-gl=angle",
    "--use-angle=swiftshader",
    "--enable-unsafe-swiftshader",
)


@pytest.fixture(autouse=True)
def shop_folder(tmp_path, monkeypatch):
    """An empty shop folder; returns its path."""
    home = tmp_path / "shop-folder"
    monkeypatch.setenv("CASTPLAN_HOME", str(home))
    return home


@pytest.fixture(scope="module")
def start_browser():
    """Start the system's chromium with further flags; closed with the module.

    Without a chromium the tests are skipped, except under CI, where it is missed.
    """
    path = shutil.which("chromium") or shutil.which("chromium-browser")
    if path is None:
        reason = "no chromium on the path: apt-get install chromium"
        if os.environ.get("CI"):
            pytest.fail(reason)
        pytest.skip(reason)
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
