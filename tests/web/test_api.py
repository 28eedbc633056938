"""What the server answers: jobs from upload to files, errors as one line, nothing by path.

Answers by RFC 9110.
"""

import builtins
import concurrent.futures
import errno
import io
import os
import socket
import time
import zipfile

import httpx
import page_server
import pypdf
import pytest
import shapes

from castplan.page import answers, desk
from castplan.page.api import FILES
from castplan.part import refuse

# Outside truth: RFC 6266 and 8187 (names of downloads), pypdf and zipfile for what comes
# back; sizes and volumes are the closed forms of `shapes`.

BOX = page_server.stl_of(shapes.box(40.0, 30.0, 20.0))


@pytest.fixture(scope="module")
def client(served):
    return served.client


def upload(client, data=BOX, name="ledge.stl", units="mm", **more):
    told = {"name": name, **({"units": units} if units else {})}
    return client.post("/api/jobs", params=told, content=data, **more)


def planned(client, key):
    for _ in range(60):  # twenty minutes, for machines that do much else
        job = client.get(f"/api/jobs/{key}", params={"wait": 20}).json()
        if job["plan"]["state"] not in ("waiting", "busy"):
            return job
    raise AssertionError("it was not planned in time")


@pytest.fixture(scope="module")
def key(client):
    made = upload(client)
    assert made.status_code == 201
    assert planned(client, made.json()["key"])["plan"]["state"] == "done"
    return made.json()["key"]


def refused(response, status, *words):
    """One line in castplan's form."""
    assert response.status_code == status, response.text
    line = response.json()["error"]
    assert "\n" not in line
    assert ": found " in line and ", need " in line
    for word in words:
        assert word in line
    return line


def test_a_part_is_planned(client, key):
    job = client.get(f"/api/jobs/{key}").json()
    assert (job["name"], job["format"], job["choices"]) == ("ledge", "stl", {"units": "mm"})
    told = client.get(f"/api/jobs/{key}/cards").json()
    # It lies flat on its back, and how it stands is settled with that.
    titles = ["part", "kind", "split", "air", "box", "materials"]
    assert [card["id"] for card in told["cards"]] == titles
    part = told["cards"][0]
    assert "40 x 30 x 20 mm" in part["decision"]
    assert "Volume 24.0 ml" in part["reason"]  # 40 x 30 x 20 mm
    assert told["steps"] and told["mixes"]


def test_each_change_can_be_undone_and_redone(client, key):
    def send(method, path, **body):
        return client.request(method, f"/api/jobs/{key}{path}", json=body).json()

    at = client.get(f"/api/jobs/{key}").json()["at"]
    job = send("PATCH", "", at=at, choices={"copies": 4, "paper": "Letter"})
    assert job["choices"] == {"units": "mm", "copies": 4, "paper": "Letter"}
    assert (job["can_undo"], job["can_redo"]) == (True, False)
    job = send("POST", "/undo", at=job["at"])
    assert (job["choices"], job["can_redo"]) == ({"units": "mm"}, True)
    job = send("POST", "/redo", at=job["at"])
    assert job["choices"]["copies"] == 4
    job = send("PATCH", "", at=job["at"], choices={"copies": None, "paper": None})
    assert job["choices"] == {"units": "mm"}
    assert planned(client, key)["plan"]["state"] == "done"


def test_of_two_tabs_the_second_is_told(client, key):
    at = client.get(f"/api/jobs/{key}").json()["at"]
    first = client.patch(f"/api/jobs/{key}", json={"at": at, "choices": {"copies": 2}})
    assert first.status_code == 200
    second = client.patch(f"/api/jobs/{key}", json={"at": at, "choices": {"copies": 3}})
    refused(second, 409, "changed in another window")
    assert client.get(f"/api/jobs/{key}").json()["choices"]["copies"] == 2
    client.post(f"/api/jobs/{key}/undo", json={"at": at + 1})


WRONG_BODIES = {
    "no object": b"[]",
    "no JSON": b"{",
    "not even text": b"\xff\xfe",
    "a number beyond any": b'{"at": 1e999}',
    "half a sign": b'{"at": 1, "choices": {"silicone": "\\ud800"}}',
    "nested without end": b"[" * 100_000,
    "no choices": b'{"at": 1}',
    "no version": b'{"choices": {"copies": 2}}',
    "a version of no number": b'{"at": "1", "choices": {"copies": 2}}',
    "an unknown choice": b'{"at": 1, "choices": {"folder": "/etc"}}',
    "a path as a choice": b'{"at": 1, "choices": {"parting": "../../etc/passwd"}}',
}


@pytest.mark.parametrize("body", WRONG_BODIES.values(), ids=WRONG_BODIES.keys())
def test_a_wrong_body_is_one_line(client, key, body):
    before = client.get(f"/api/jobs/{key}").json()
    refused(client.patch(f"/api/jobs/{key}", content=body), 422)
    assert client.get(f"/api/jobs/{key}").json()["at"] == before["at"]


def test_a_body_without_end_is_refused(client, key):
    body = b'{"at": 1, "choices": "' + b"x" * 1_100_000 + b'"}'
    refused(client.patch(f"/api/jobs/{key}", content=body), 413, "over 1 MB")


def test_a_mark_is_kept_and_taken_away(client, key):
    path = f"/api/jobs/{key}/marks"
    for name, value in (("step 1", True), ("step 2 timer", 1764000000000), ("mix Ä %", "x")):
        assert client.put(f"{path}/{name}", json={"value": value}).json()["value"] == value
    marks = client.get(f"/api/jobs/{key}").json()["marks"]
    assert marks == {"step 1": True, "step 2 timer": 1764000000000, "mix Ä %": "x"}
    for name in marks:
        client.put(f"{path}/{name}", json={"value": None})
    assert client.get(f"/api/jobs/{key}").json()["marks"] == {}
    refused(client.put(f"{path}/{'x' * 81}", json={"value": 1}), 422)
    refused(client.put(f"{path}/x", json={"value": "x" * 3000}), 422)
    refused(client.put(f"{path}/x", content=b'{"value": 1e999}'), 422)


@pytest.mark.parametrize("wait", ["nan", "inf", "-inf", "-5", "x", "", "1e-9"])
def test_any_wait_is_answered(client, key, wait):
    assert client.get(f"/api/jobs/{key}", params={"wait": wait}).status_code == 200


def test_every_file_of_a_plan_can_be_had(client, key):
    missing = {"upper.stl", "lower.stl"}  # an open mould is one piece
    for name in missing:
        assert client.get(f"/api/jobs/{key}/files/{name}").status_code == 404
    for name, (_, kind) in FILES.items():
        if name in missing:
            continue
        response = client.get(f"/api/jobs/{key}/files/{name}")
        assert response.status_code == 200, name
        assert response.headers["content-type"].partition(";")[0] == kind
        assert len(response.content) > 500
    sheets = client.get(f"/api/jobs/{key}/files/sheets.pdf")
    assert len(pypdf.PdfReader(io.BytesIO(sheets.content)).pages) >= 3
    assert sheets.headers["content-disposition"].startswith("inline; ")


def test_names_of_downloads_keep_their_signs_and_split_no_header(client):
    name = 'Stütze "3"; x=\r\nset-cookie: a=b ‮.stl'
    made = upload(client, name=name).json()
    assert made["name"] == "Stütze 3 ; x= set-cookie a=b"
    response = client.get(f"/api/jobs/{made['key']}/export")
    assert "set-cookie" not in response.headers
    told = response.headers["content-disposition"]
    assert told == (
        'attachment; filename="St_tze 3 _ x_ set-cookie a_b.castplan.zip"; '
        "filename*=UTF-8''St%C3%BCtze%203%20%3B%20x%3D%20set-cookie%20a%3Db.castplan.zip"
    )


def test_export_and_import(client, key, served):
    before = set((served.folder / "meshes").iterdir())
    data = client.get(f"/api/jobs/{key}/export").content
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        assert archive.read("mesh.stl") == BOX
    made = client.post("/api/import", content=data)
    assert made.status_code == 201
    assert made.json()["key"] != key
    assert made.json()["choices"] == client.get(f"/api/jobs/{key}").json()["choices"]
    refused(client.post("/api/import", content=data[: len(data) // 2]), 422, "job file")
    refused(client.post("/api/import", content=b""), 422)
    # No draft stays behind; one of a test before may have gone meanwhile.
    page_server.until(lambda: set((served.folder / "meshes").iterdir()) <= before)


@pytest.mark.long
def test_copy_put_away_and_compare(client, key):
    copy = client.post(f"/api/jobs/{key}/copy", json={}).json()
    assert copy["name"] == "ledge (duplicate)"
    client.patch(f"/api/jobs/{copy['key']}", json={"at": 1, "choices": {"copies": 4}})
    planned(client, copy["key"])
    planned(client, key)
    told = client.get("/api/compare", params={"one": key, "other": copy["key"]}).json()
    assert told["names"] == ["ledge", "ledge (duplicate)"]
    assert all(len(row["values"]) == 2 for row in told["rows"])
    client.post(f"/api/jobs/{copy['key']}/archive", json={"is_archived": True})
    listed = {job["key"]: job for job in client.get("/api/jobs").json()["jobs"]}
    assert listed[copy["key"]]["is_archived"]
    assert not listed[key]["is_archived"]
    refused(client.post(f"/api/jobs/{copy['key']}/archive", json={"is_archived": "no"}), 422)


def test_the_unit_is_asked_with_sizes_in_words(client):
    made = upload(client, units=None).json()
    job = planned(client, made["key"])
    assert job["plan"]["state"] == "wrong"
    assert "ledge.stl" in job["plan"]["error"] and "unit" in job["plan"]["error"]
    sizes = client.get(f"/api/jobs/{made['key']}/sizes").json()["sizes"]
    assert [size["unit"] for size in sizes] == ["mm", "in", "cm", "m"]
    # 40 mm and 40 in (1.02 m), told the way a bench does.
    assert sizes[0]["says"] == "40.0 x 30.0 x 20.0 mm, about a matchbox"
    assert sizes[1]["says"] == "40.0 x 30.0 x 20.0 in, about a table's width"
    assert [size["is_believable"] for size in sizes] == [True, True, True, False]


def test_what_is_not_there_is_404(client, key):
    for path in (
        "/api/jobs/nope",
        "/api/jobs/..%2f..%2fetc/export",
        "/api/jobs/nope/cards",
        f"/api/jobs/{key}/files/plan.py",
        f"/api/jobs/{key}/files/..%2f..%2fjobs.sqlite3",
        "/assets/..%2fstore.py",
        "/assets/page.py",
        "/api/compare",
        "/nothing",
    ):
        refused(client.get(path), 404)
    refused(client.post("/api/samples/..%2fcoat_hook", json={}), 404)
    refused(client.post("/api/samples/nope", json={}), 404)


def test_what_an_address_does_not_take_is_405(client, key):
    response = client.delete(f"/api/jobs/{key}")
    refused(response, 405, "takes no DELETE")
    assert "PATCH" in response.headers["allow"] or "GET" in response.headers["allow"]


@pytest.mark.parametrize("name", ["part.exe", "part", "", "stl", "../../x.stl/", "a.stl.py"])
def test_a_file_of_no_known_kind_is_refused_before_it_is_read(client, name):
    refused(upload(client, name=name), 422, "need a mesh")


def test_an_upload_over_the_limit_stops_there(client, served, monkeypatch):
    monkeypatch.setitem(refuse._MAX_FILE_BYTES, "stl", 200_000)
    before = set((served.folder / "meshes").iterdir())
    sent = []

    def without_end():
        while True:
            sent.append(65536)
            yield bytes(65536)

    try:
        refused(upload(client, data=without_end()), 413, "repair")
    except httpx.TransportError:  # the server hangs up on what it no longer reads
        assert client.get("/api/about").status_code == 200
    assert sum(sent) < 50_000_000
    assert set((served.folder / "meshes").iterdir()) == before


def test_an_upload_that_breaks_off_leaves_nothing(served):
    before = set((served.folder / "meshes").iterdir())
    host, port = served.url.removeprefix("http://").split(":")
    with socket.create_connection((host, int(port))) as line:
        line.sendall(
            f"POST /api/jobs?name=a.stl HTTP/1.1\r\nhost: {host}:{port}\r\n"
            f"x-castplan-token: {page_server.TOKEN}\r\ncontent-length: 1000\r\n\r\nhalf".encode()
        )
        page_server.until(lambda: set((served.folder / "meshes").iterdir()) != before)
    page_server.until(lambda: set((served.folder / "meshes").iterdir()) == before)


def test_an_upload_that_gets_stuck_is_given_up_and_holds_up_nobody(served, client, monkeypatch):
    monkeypatch.setattr(answers, "PIECE_S", 0.5)
    host, port = served.url.removeprefix("http://").split(":")
    with socket.create_connection((host, int(port)), timeout=20) as line:
        line.sendall(
            f"POST /api/jobs?name=a.stl HTTP/1.1\r\nhost: {host}:{port}\r\n"
            f"x-castplan-token: {page_server.TOKEN}\r\ncontent-length: 1000\r\n\r\nhalf".encode()
        )
        assert upload(client).status_code == 201  # meanwhile
        assert line.recv(4096).startswith(b"HTTP/1.1 408")


def test_a_full_disk_is_one_line(client, monkeypatch):
    class Full(io.BytesIO):
        def write(self, data):
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(answers, "open", lambda *told: Full(), raising=False)
    refused(upload(client), 507, "disk: found No space left on device")


def test_a_full_queue_is_one_line(client, monkeypatch):
    monkeypatch.setattr(desk, "N_QUEUE", 0)
    refused(upload(client), 503, "plans waiting")


def test_a_fault_of_castplan_is_one_line_and_told_to_its_maker(client, monkeypatch, capfd):
    monkeypatch.setattr(answers, "brief", lambda job: 1 / 0)
    line = refused(client.get("/api/jobs"), 500, "ZeroDivisionError")
    assert "Traceback" not in line
    assert "Traceback" in capfd.readouterr().err


@pytest.mark.long
def test_no_word_of_a_request_becomes_a_path(client, served, key, monkeypatch):
    word = "x7marker"
    opened = []
    really = builtins.open

    def watched(path, *more, **named):
        opened.append(str(path))
        return really(path, *more, **named)

    monkeypatch.setattr(builtins, "open", watched)
    monkeypatch.setattr(io, "open", watched)
    made = upload(client, name=f"../{word}/{word}.stl").json()
    planned(client, made["key"])
    client.get(f"/api/jobs/{made['key']}/export")
    client.get(f"/api/jobs/{made['key']}/files/plan.json")
    for path in (f"/assets/{word}", f"/api/jobs/{word}/export", f"/api/jobs/{key}/files/{word}"):
        client.get(path)
    client.post(f"/api/samples/{word}", json={})
    client.put(f"/api/jobs/{key}/marks/{word}", json={"value": word})
    assert any(".part" in path for path in opened), "the watch sees what is opened"
    assert [path for path in opened if word in path] == []
    assert not list(served.folder.parent.rglob(f"*{word}*"))


@pytest.mark.long
def test_fifty_uploads_at_once(served, client):
    """Good and bad files: no crash, every good one planned, memory bounded."""
    bodies = {}
    for k in range(50):
        good = page_server.stl_of(shapes.box(20.0 + k, 30.0, 20.0))
        bad = (b"", b"solid nothing", good[: len(good) // 2], b"\xff" * 5000, good[:84])[k // 2 % 5]
        bodies[f"part {k}.stl"] = bad if k % 2 else good
    before = resident_mb()
    peak = [before]

    def send(name):
        answer = upload(client, data=bodies[name], name=name)
        job = planned(client, answer.json()["key"]) if answer.status_code == 201 else None
        peak.append(resident_mb())
        return name, (answer, job)

    with concurrent.futures.ThreadPoolExecutor(50) as crowd:
        answered = dict(crowd.map(send, bodies))
    states = {}
    for name, (answer, job) in answered.items():
        is_good = int(name.split()[1].partition(".")[0]) % 2 == 0
        if answer.status_code == 201:
            states[name] = job["plan"]["state"]
            if not is_good:
                assert job["plan"]["state"] == "wrong", name
                assert ": found " in job["plan"]["error"]
        else:
            assert not is_good
            refused(answer, 422)
    good = [name for k, name in enumerate(bodies) if k % 2 == 0]
    assert [states[name] for name in good] == ["done"] * 25
    # Four plans are kept; one of a box takes a few MB, fifty kept would take over 500.
    assert max(peak) - before < 400
    assert len(served.desk._benches) <= desk.N_READY


def resident_mb():
    """Memory of this process, as Linux tells it (proc(5))."""
    try:
        with open("/proc/self/statm", encoding="ascii") as told:
            return int(told.read().split()[1]) * os.sysconf("SC_PAGE_SIZE") / 1e6
    except OSError:
        pytest.skip("memory is measured where /proc is")


@pytest.mark.long
def test_the_page_answers_while_it_plans(client):
    upload(client, data=page_server.stl_of(shapes.sphere(30.0, 128)), name="ball.stl")
    with concurrent.futures.ThreadPoolExecutor(60) as crowd:
        key = client.get("/api/jobs").json()["jobs"][0]["key"]
        waiting = [
            crowd.submit(client.get, f"/api/jobs/{key}", params={"wait": 20}) for _ in range(50)
        ]
        time.sleep(0.05)
        assert client.get("/api/about").status_code == 200
        assert all(answer.result().status_code == 200 for answer in waiting)
