"""A missing browser skips the tests of pages on a bench, and fails them under CI."""

import shutil

import pytest
from browser import chromium_path


@pytest.fixture
def no_browser(monkeypatch):
    """A machine without chromium."""
    monkeypatch.setattr(shutil, "which", lambda name: None)


def test_without_a_browser_pages_are_skipped(no_browser, monkeypatch):
    monkeypatch.delenv("CI", raising=False)
    with pytest.raises(pytest.skip.Exception, match="apt-get install chromium"):
        chromium_path()


def test_under_ci_a_missing_browser_fails(no_browser, monkeypatch):
    monkeypatch.setenv("CI", "true")
    with pytest.raises(pytest.fail.Exception, match="apt-get install chromium"):
        chromium_path()


def test_a_browser_that_is_there_is_used(monkeypatch):
    monkeypatch.setattr(
        shutil, "which", lambda name: "/opt/chromium" if name == "chromium" else None
    )
    assert chromium_path() == "/opt/chromium"
