"""No test sees the cards and prices that the person at this machine keeps."""

import pytest


@pytest.fixture(autouse=True)
def shop_folder(tmp_path, monkeypatch):
    """An empty shop folder; returns its path."""
    home = tmp_path / "shop-folder"
    monkeypatch.setenv("CASTPLAN_HOME", str(home))
    return home
