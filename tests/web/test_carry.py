"""A job as one file: there and back, and files that are none of castplan's."""

import io
import json
import struct
import zipfile

import pytest
from hypothesis import given
from hypothesis import strategies as st

from castplan.errors import CastplanError
from castplan.page import carry
from castplan.page.carry import FORM, RECORD, clean_name, pack_job, unpack_job
from castplan.page.store import Store
from castplan.part import refuse

MESH = b"solid a\nendsolid a\n"


@pytest.fixture
def store(tmp_path):
    kept = Store(tmp_path / "jobs")
    yield kept
    kept.close()


@pytest.fixture
def key(store):
    draft = store.draft()
    draft.write_bytes(MESH)
    mesh = store.keep_mesh(draft, suffix="stl")
    key = store.add(name="Ablage für Hüte", mesh=mesh, suffix="stl", choices={"units": "mm"})
    store.change(key, choices={"units": "mm", "copies": 3}, what="copies", at=1)
    store.change(key, choices={"units": "in", "copies": 3}, what="units", at=2)
    store.step(key, by=-1, at=3)
    store.mark(key, name="step 1", value=True)
    return key


def test_there_and_back(store, key, tmp_path):
    pack_job(store, key, tmp_path / "job.zip")
    other = Store(tmp_path / "other")
    copy = other.get(unpack_job(other, tmp_path / "job.zip"))
    job = store.get(key)
    for name in ("name", "mesh", "suffix", "at", "last", "choices", "what", "next_what", "marks"):
        assert getattr(copy, name) == getattr(job, name), name
    assert other.versions(copy.key) == store.versions(key)
    assert other.mesh_path(copy.mesh, suffix="stl").read_bytes() == MESH
    other.close()


def test_numbers_start_afresh_where_old_versions_were_forgotten(store, key, tmp_path):
    with store._changing():
        store._base.execute("DELETE FROM versions WHERE job = ? AND number = 1", (key,))
    pack_job(store, key, tmp_path / "job.zip")
    copy = store.get(unpack_job(store, tmp_path / "job.zip"))
    assert (copy.at, copy.first, copy.last) == (1, 1, 2)
    assert copy.choices == store.get(key).choices


def record(**changes):
    return {
        "form": FORM,
        "name": "catch",
        "mesh": "mesh.stl",
        "at": 1,
        "versions": [{"choices": {"units": "mm"}, "what": "opened"}],
        "marks": {},
    } | changes


def archive(told, *, mesh=MESH, mesh_name="mesh.stl"):
    data = io.BytesIO()
    with zipfile.ZipFile(data, "w", zipfile.ZIP_DEFLATED) as made:
        made.writestr(RECORD, told if isinstance(told, str) else json.dumps(told))
        made.writestr(mesh_name, mesh)
    return data.getvalue()


def refused(store, tmp_path, data):
    """The error over a file; nothing of it may be kept."""
    path = tmp_path / "job.zip"
    path.write_bytes(data)
    with pytest.raises(CastplanError) as caught:
        unpack_job(store, path)
    assert store.all() == []
    assert list((tmp_path / "jobs" / "meshes").iterdir()) == []
    return str(caught.value)


def test_what_the_others_vary_is_taken(store, tmp_path):
    (tmp_path / "job.zip").write_bytes(archive(record()))
    assert store.get(unpack_job(store, tmp_path / "job.zip")).name == "catch"


WRONG = {
    "another form": record(form="castplan-job-99"),
    "no object": [],
    "no JSON": "{",
    "a number beyond any": '{"form": "castplan-job-1", "at": 1e999}',
    "nested without end": "[" * 100_000,
    "a mesh by a path": record(mesh="../mesh.stl"),
    "a mesh from the root": record(mesh="/etc/passwd.stl"),
    "a mesh of no kind": record(mesh="mesh.exe"),
    "a mesh that is not there": record(mesh="mesh.obj"),
    "no name": record(name=7),
    "no versions": record(versions=[]),
    "a version past the end": record(at=2),
    "a version of no number": record(at="1"),
    "an unknown choice": record(versions=[{"choices": {"path": "/etc"}, "what": ""}]),
    "a choice beyond its limit": record(versions=[{"choices": {"copies": 0}, "what": ""}]),
    "no choices": record(versions=[{"what": ""}]),
    "marks of no object": record(marks=[1]),
    "too many marks": record(marks={str(k): 1 for k in range(2001)}),
    "half a sign": '{"form": "castplan-job-1", "name": "\\ud800"}',
}


@pytest.mark.parametrize("told", WRONG.values(), ids=WRONG.keys())
def test_a_wrong_record_is_refused(store, tmp_path, told):
    line = refused(store, tmp_path, archive(told))
    assert ": found " in line and ", need " in line


@pytest.mark.parametrize("name", ["../mesh.stl", "/mesh.stl", "..\\mesh.stl"])
def test_an_entry_with_a_path_reaches_nothing(store, tmp_path, name):
    refused(store, tmp_path, archive(record(), mesh_name=name))
    assert not (tmp_path / "mesh.stl").exists()


def test_an_archive_that_swells_is_refused_before_it_does(store, tmp_path, monkeypatch):
    monkeypatch.setitem(refuse._MAX_FILE_BYTES, "stl", 100_000)
    data = archive(record(), mesh=bytes(50_000_000))
    assert len(data) < 100_000
    assert "mesh.stl" in refused(store, tmp_path, data)


def test_an_entry_that_lies_about_its_size_gives_no_more_than_it_says(store, tmp_path):
    data = bytearray(archive(record(), mesh=bytes(1_000_000)))
    # The size in the central directory (APPNOTE.TXT 4.3.12: bytes 24 to 27 of its entry).
    at = data.rfind(b"PK\x01\x02")
    assert struct.unpack_from("<I", data, at + 24) == (1_000_000,)
    struct.pack_into("<I", data, at + 24, 10)
    refused(store, tmp_path, bytes(data))


def test_a_record_that_swells_is_refused(store, tmp_path):
    assert "job.json of" in refused(store, tmp_path, archive(" " * 5_000_000))


def test_a_file_that_is_cut_off_anywhere_is_refused(store, tmp_path):
    data = archive(record())
    for length in range(0, len(data) - 1, 7):
        refused(store, tmp_path, data[:length])


def test_a_file_with_a_byte_changed_is_refused_or_sound(store, tmp_path):
    # A ZIP's bytes of time and version carry nothing; a change there may pass.
    data = archive(record())
    n_refused = 0
    for at in range(0, len(data), 3):
        damaged = bytearray(data)
        damaged[at] ^= 0xFF
        (tmp_path / "job.zip").write_bytes(damaged)
        try:
            key = unpack_job(store, tmp_path / "job.zip")
        except CastplanError:
            n_refused += 1
        else:
            job = store.get(key)
            assert store.mesh_path(job.mesh, suffix="stl").read_bytes() == MESH
            assert job.choices == {"units": "mm"}
    assert n_refused > len(data) / 3 / 2


@given(st.text(max_size=300))
def test_a_clean_name_is_one_line_that_any_file_system_takes(name):
    clean = clean_name(name)
    assert 0 < len(clean) <= 80
    assert clean.isprintable()
    assert not set(clean) & set('\\/:*?"<>|')
    assert clean == clean.strip(" .")
    assert clean_name(clean) == clean


def test_what_a_record_says_is_what_is_packed(store, key, tmp_path):
    pack_job(store, key, tmp_path / "job.zip")
    with zipfile.ZipFile(tmp_path / "job.zip") as made:
        assert sorted(made.namelist()) == [RECORD, "mesh.stl"]
        assert json.loads(made.read(RECORD))["form"] == carry.FORM
