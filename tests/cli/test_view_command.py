"""``castplan view``: the address it hands to the browser, and one line where there is none."""

import webbrowser

import plan_folders
import pytest
from typer.testing import CliRunner

from castplan import cli
from castplan.errors import InputError, ResourceError
from castplan.files.plan_folder import RECORD_FILE, VIEW_FILE


@pytest.fixture
def opened(monkeypatch):
    """Addresses that would have been opened; no browser starts."""
    addresses = []
    monkeypatch.setattr(webbrowser, "open", lambda address: addresses.append(address) or True)
    return addresses


def run(*arguments):
    return CliRunner().invoke(cli.app, ["view", *map(str, arguments)], catch_exceptions=True)


def test_the_view_of_a_plan_is_opened_from_disk(tmp_path, opened):
    folder = tmp_path / "a plan"
    folder.mkdir()
    plan_folders.write(folder, plan_folders.coarse_plan())
    result = run(folder)
    assert result.exit_code == 0 and "view.html" in result.output
    assert opened == [(folder / VIEW_FILE).as_uri()]
    assert opened[0].startswith("file:///") and "a%20plan" in opened[0]


def test_a_folder_without_a_plan_is_named(tmp_path, opened):
    error = run(tmp_path).exception
    assert isinstance(error, InputError)
    assert "found no plan, need a plan folder" in str(error)
    assert opened == []


def test_a_plan_without_a_view_says_how_to_get_one(tmp_path, opened):
    (tmp_path / RECORD_FILE).write_text("{}")
    error = run(tmp_path).exception
    assert isinstance(error, InputError)
    assert "found a plan without a view, need view.html. Plan the part again" in str(error)
    assert opened == []


def test_without_a_browser_the_file_is_named(tmp_path, monkeypatch):
    plan_folders.write(tmp_path, plan_folders.coarse_plan())
    monkeypatch.setattr(webbrowser, "open", lambda address: False)
    error = run(tmp_path).exception
    assert isinstance(error, ResourceError)
    assert str(tmp_path / VIEW_FILE) in str(error)
