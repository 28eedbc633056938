"""One server of the page for the tests of a module."""

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
