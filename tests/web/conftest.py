"""One server of the page for the tests of a module, and jobs of it on pages."""

import contextlib

import httpx
import page_server
import pytest


@pytest.fixture(scope="module")
def served(tmp_path_factory):
    """A server with no jobs, and a client that may change things as `served.client`."""
    with page_server.serving(tmp_path_factory.mktemp("page") / "jobs") as running:
        headers = {"x-castplan-token": page_server.TOKEN}
        with httpx.Client(base_url=running.url, headers=headers, timeout=60) as client:
            running.client = client
            yield running


@pytest.fixture
def on_a_page(browser, served):
    """``with on_a_page(key) as page``: a job on a page that must not complain."""

    @contextlib.contextmanager
    def shown(key):
        context = browser.new_context(
            viewport={"width": 1280, "height": 800}, reduced_motion="reduce"
        )
        opened = context.new_page()
        opened.set_default_timeout(60_000)
        complaints = []
        opened.on(
            "console", lambda said: complaints.append(said.text) if said.type == "error" else 0
        )
        opened.on("pageerror", lambda error: complaints.append(str(error)))
        opened.goto(f"{served.url}/#{key}")
        opened.wait_for_selector(".castview-canvas")
        yield opened
        context.close()
        assert complaints == []

    return shown
