"""Several parts in the box of a job of the page: added, taken out, planned, carried along.

Volumes are the closed forms of `shapes`: blocks of 24 and 6 ml.
"""

import hashlib
import io
import zipfile

import page_cards
import page_server
import pytest
import shapes

from castplan.nest.room import MOST_PARTS

BLOCK = page_server.stl_of(shapes.box(40.0, 30.0, 20.0))
SMALL = page_server.stl_of(shapes.box(30.0, 20.0, 10.0))


@pytest.fixture(scope="module")
def key(served):
    """A block with a small one and a second of its own in its box, planned."""
    told = {"name": "block.stl", "units": "mm"}
    made = served.client.post("/api/jobs", params=told, content=BLOCK).json()
    parts = f"/api/jobs/{made['key']}/parts"
    added = served.client.post(parts, params={"name": "small.stl"}, content=SMALL)
    assert added.status_code == 201
    assert served.client.post(parts, json={}).status_code == 201
    return made["key"]


def job_of(served, key):
    for _ in range(60):
        job = served.client.get(f"/api/jobs/{key}", params={"wait": 20}).json()
        if job["plan"]["state"] not in ("waiting", "busy"):
            return job
    raise AssertionError("it was not planned in time")


def test_they_are_planned_in_one_box(served, key):
    job = job_of(served, key)
    assert job["plan"]["state"] == "done", job["plan"]["error"]
    names = [part["name"] for part in job["choices"]["with_parts"]]
    assert names == ["small", "block"]
    with_hash = {part["mesh"] for part in job["choices"]["with_parts"]}
    assert with_hash == {hashlib.sha256(data).hexdigest() for data in (SMALL, BLOCK)}
    plan = served.client.get(f"/api/jobs/{key}/files/plan.json").json()
    volumes = [part["volume_ml"] for part in plan["nest"]["parts"]]
    assert volumes == pytest.approx([24.0, 6.0, 24.0])
    cards = served.client.get(f"/api/jobs/{key}/cards").json()
    assert "Volume 54.0 ml" in cards["cards"][0]["reason"]


def test_a_pour_is_logged_part_by_part(served, key):
    job_of(served, key)
    told = {
        "date": "2026-12-01",
        "parts": [{"part": 2, "result": "scrap"}],
        "defects": [{"kind": "warp", "part": 2}],
    }
    pours = f"/api/jobs/{key}/pours"
    assert served.client.post(pours, json=told).status_code == 201
    said = served.client.get(pours).json()
    assert [part["number"] for part in said["parts"]] == [1, 2, 3]
    assert "part 2 scrap" in said["lines"][0]["says"]
    assert "a warp on part 2" in said["defects"][0]["head"]
    wrong = {**told, "parts": [{"part": 4, "result": "scrap"}]}
    assert served.client.post(pours, json=wrong).status_code == 422


def test_one_is_taken_out_and_brought_back(served, key):
    job = job_of(served, key)
    left = job["choices"]["with_parts"][:1]
    change = {"at": job["at"], "choices": {"with_parts": left}}
    out = served.client.patch(f"/api/jobs/{key}", json=change).json()
    assert out["choices"]["with_parts"] == left
    assert out["what_says"] == "other parts in the same box"
    back = served.client.post(f"/api/jobs/{key}/undo", json={"at": out["at"]}).json()
    assert len(back["choices"]["with_parts"]) == 2


def test_they_go_along_in_the_file_of_a_job(served, key, tmp_path):
    data = served.client.get(f"/api/jobs/{key}/export").content
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        assert archive.read(f"{hashlib.sha256(SMALL).hexdigest()}.stl") == SMALL
        entries = {name: archive.read(name) for name in archive.namelist()}
    with page_server.serving(tmp_path / "other") as other:
        headers = {"x-castplan-token": page_server.TOKEN}
        address, own = f"{other.url}/api/import", served.client
        made = own.post(address, content=data, headers=headers)
        assert made.status_code == 201
        kept = {path.name for path in (other.folder / "meshes").iterdir()}
        assert f"{hashlib.sha256(SMALL).hexdigest()}.stl" in kept
        # A mesh that is another than it is called is none of the job's.
        entries[f"{hashlib.sha256(SMALL).hexdigest()}.stl"] = BLOCK
        changed = io.BytesIO()
        with zipfile.ZipFile(changed, "w") as archive:
            for name, content in entries.items():
                archive.writestr(name, content)
        refused = own.post(address, content=changed.getvalue(), headers=headers)
        assert refused.status_code == 422 and "job file: found" in refused.json()["error"]


@pytest.mark.parametrize(
    "value",
    [
        "small",
        [{"name": "small", "mesh": "ab", "suffix": "stl"}],
        [{"name": "small", "mesh": "a" * 64, "suffix": "../stl"}],
        [{"name": "a\nb", "mesh": "a" * 64, "suffix": "stl"}],
        [{"name": "small", "mesh": "a" * 64}],
        [{"name": "small", "mesh": "a" * 64, "suffix": "stl"}] * MOST_PARTS,
    ],
)
def test_what_is_no_list_of_parts_is_one_line(served, key, value):
    job = served.client.get(f"/api/jobs/{key}").json()
    change = {"at": job["at"], "choices": {"with_parts": value}}
    answer = served.client.patch(f"/api/jobs/{key}", json=change)
    assert answer.status_code == 422
    assert ": found " in answer.json()["error"] and "\n" not in answer.json()["error"]


def test_a_part_whose_mesh_is_not_here_is_named(served, key):
    copy = served.client.post(f"/api/jobs/{key}/copy", json={}).json()
    gone = [{"name": "gone", "mesh": "0" * 64, "suffix": "stl"}]
    change = {"at": copy["at"], "choices": {"with_parts": gone}}
    served.client.patch(f"/api/jobs/{copy['key']}", json=change)
    job = job_of(served, copy["key"])
    assert job["plan"]["state"] == "wrong" and job["plan"]["error"].startswith("gone: found")


@pytest.mark.long
def test_the_page_adds_and_takes_out(served, key, on_a_page):
    job_of(served, key)
    with on_a_page(key) as page:
        page_cards.open_card(page, "part")
        page.get_by_role("button", name="Take small out of the box").click()
        page.get_by_role("button", name="Take small out of the box").wait_for(state="detached")
        page.get_by_role("button", name="Add this part once more").click()
        page.get_by_role("button", name="Take block out of the box").nth(1).wait_for()
    names = [each["name"] for each in job_of(served, key)["choices"]["with_parts"]]
    assert names == ["block", "block"]
