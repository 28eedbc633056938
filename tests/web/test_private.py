"""What the page keeps is readable by its owner only (modes: IEEE 1003.1, chmod).

Values are invented here.
"""

import os
import subprocess
import sys
import urllib.request

import httpx
import page_server
import pytest
import shapes

from castplan.materials.folder import card_file, keep
from castplan.page.store import Store

pytestmark = pytest.mark.skipif(os.name != "posix", reason="modes are POSIX's")
BOX = page_server.stl_of(shapes.box(40.0, 30.0, 20.0))


def open_to_others(folder):
    """Every file and folder below one that somebody else could read."""
    paths = [folder, *folder.rglob("*")]
    return [path for path in paths if path.stat().st_mode & 0o077]


@pytest.fixture
def easy():
    """Files are made for everybody, as where nothing else is said."""
    before = os.umask(0o000)
    yield
    os.umask(before)


@pytest.mark.usefixtures("easy")
def test_the_store_closes_what_it_makes_and_what_was_open(tmp_path):
    home = tmp_path / "home"
    (home / "jobs" / "meshes").mkdir(parents=True)
    (home / "jobs" / "jobs.sqlite3").touch()
    assert len(open_to_others(home)) == 4
    store = Store(home / "jobs")
    store.add(name="a", mesh="0" * 64, suffix="stl", choices={})
    draft = store.draft()
    draft.write_bytes(b"solid")
    store.keep_mesh(draft, suffix="stl")
    assert open_to_others(home / "jobs") == []
    assert {path.name for path in (home / "jobs").iterdir()} >= {"meshes", "logs", "jobs.sqlite3"}
    store.close()


@pytest.mark.usefixtures("easy")
def test_a_new_home_and_the_shops_cards_are_closed(shop_folder):
    keep(card_file("ours"), "[ours]\n")
    keep(card_file("ours"), "[ours]\n# again\n")
    assert len(list(shop_folder.rglob("*.toml*"))) == 2
    assert open_to_others(shop_folder) == []


@pytest.mark.usefixtures("easy")
def test_nothing_of_a_server_at_work_is_open(shop_folder):
    command = [sys.executable, "-m", "castplan", "serve", "--no-browser"]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
    try:
        url = process.stdout.readline().split()[3]
        with urllib.request.urlopen(url, timeout=60) as page:
            token = page.read().decode().split('name="castplan-token" content="')[1].split('"')[0]
        with httpx.Client(base_url=url, headers={"x-castplan-token": token}, timeout=60) as client:
            made = client.post("/api/jobs", params={"name": "a.stl", "units": "mm"}, content=BOX)
            key = made.json()["key"]
            pour = {"date": "2026-12-01", "note": "first"}
            assert client.post(f"/api/jobs/{key}/pours", json=pour).status_code == 201
        assert len([path for path in shop_folder.rglob("*") if path.is_file()]) >= 3
        assert open_to_others(shop_folder) == []
    finally:
        process.kill()
        process.wait()
        process.stdout.close()


def test_after_a_restart_the_old_token_opens_nothing(tmp_path):
    with page_server.serving(tmp_path / "jobs", token="of-the-first-run") as first:
        headers = {"x-castplan-token": "of-the-first-run"}
        made = httpx.post(
            f"{first.url}/api/jobs", params={"name": "a.stl"}, content=BOX, headers=headers
        )
        assert made.status_code == 201
    with page_server.serving(tmp_path / "jobs", token="of-the-second-run") as second:
        (job,) = httpx.get(f"{second.url}/api/jobs").json()["jobs"]
        told = {"json": {"is_archived": True}}
        address = f"{second.url}/api/jobs/{job['key']}/archive"
        refused = httpx.post(address, headers=headers, **told)
        assert refused.status_code == 403 and "Load the page again" in refused.json()["error"]
        headers = {"x-castplan-token": "of-the-second-run"}
        assert httpx.post(address, headers=headers, **told).json()["is_archived"]
