"""A job as one file: a ZIP archive of its mesh and ``job.json``."""

import errno
import json
import shutil
import tempfile
import zipfile
from pathlib import Path

from castplan.errors import CastplanError, InputError
from castplan.files.cast_file import LOG_FILE, read_log
from castplan.page import box_parts
from castplan.page.choices import check_choices
from castplan.page.store import N_MARKS, N_VERSIONS, Store
from castplan.page.told import object_in
from castplan.part import refuse
from castplan.part.read import FORMATS
from castplan.texts import say

FORM = "castplan-job-1"
RECORD = "job.json"
_RECORD_BYTES = 4_000_000


def pack_job(store: Store, key: str, path: Path) -> None:
    """Write a job with its whole history to a file.

    Parameters
    ----------
    store : Store
    key : str
    path : pathlib.Path

    Raises
    ------
    InputError
        There is no such job.
    """
    job = store.get(key)
    record = {
        "form": FORM,
        "name": job.name,
        "mesh": f"mesh.{job.suffix}",
        "at": job.at - job.first + 1,
        "versions": [
            {"choices": choices, "what": what} for _, choices, what in store.versions(key)
        ],
        "marks": job.marks,
    }
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(RECORD, json.dumps(record, indent=1, sort_keys=True))
        archive.write(store.mesh_path(job.mesh, suffix=job.suffix), record["mesh"])
        for file in box_parts.files_of(record["versions"]):
            mesh, suffix = file.split(".")
            archive.write(store.mesh_path(mesh, suffix=suffix), file)
        log = store.log_folder(key) / LOG_FILE
        if log.exists():
            archive.write(log, LOG_FILE)


def unpack_job(store: Store, path: Path) -> str:
    """Add the job in a file to the store, under a new key.

    Parameters
    ----------
    store : Store
    path : pathlib.Path

    Returns
    -------
    str
        The key.

    Raises
    ------
    InputError
        The file is none that `pack_job` wrote, or is damaged.
    """
    try:
        with zipfile.ZipFile(path) as archive:
            record = object_in(_take(archive, RECORD, most=_RECORD_BYTES))
            whole = _check_record(record)
            mesh = _keep_mesh(store, archive, record["mesh"], suffix=whole["suffix"])
            for file in box_parts.files_of(record["versions"]):
                kept, suffix = file.split(".")
                if _keep_mesh(store, archive, file, suffix=suffix) != kept:
                    raise _not_a_job(f"a mesh that is not {kept[:12]}")
            log = None
            if LOG_FILE in archive.namelist():
                log = _checked_log(_take(archive, LOG_FILE, most=_RECORD_BYTES))
        key = store.add_whole(mesh=mesh, **whole)
        if log is not None:
            folder = store.log_folder(key)
            folder.mkdir(mode=0o700)
            (folder / LOG_FILE).write_bytes(log)
        return key
    except CastplanError:
        raise
    # Whatever a damaged archive makes its reader stumble over is the file's: it seeks to
    # places that cannot be, too.
    except Exception as error:
        if isinstance(error, OSError) and error.errno != errno.EINVAL:
            raise
        raise _not_a_job(f"a damaged one ({type(error).__name__})") from error


def _keep_mesh(store, archive, name, *, suffix):
    """Keep a mesh of an archive, and give its SHA-256."""
    entry, draft = archive.getinfo(name), store.draft()
    refuse.check_file_size(entry.file_size, suffix, name=entry.filename)
    try:
        with archive.open(entry) as source, open(draft, "wb") as target:
            shutil.copyfileobj(source, target)
        return store.keep_mesh(draft, suffix=suffix)
    finally:
        draft.unlink(missing_ok=True)


def _take(archive, name, *, most):
    entry = archive.getinfo(name)
    if entry.file_size > most:
        raise _not_a_job(f"{name} of {entry.file_size} bytes")
    with archive.open(entry) as file:
        data = file.read(most + 1)
    if len(data) > most:
        raise _not_a_job(f"{name} of more bytes than it says")
    return data


def _checked_log(data):
    """A log of pours that can be read; it is looked at before anything is kept."""
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / LOG_FILE).write_bytes(data)
        read_log(folder)
    return data


def _check_record(record):
    if record is None or record.get("form") != FORM:
        raise _not_a_job("another form")
    name, mesh = record["name"], record["mesh"]
    stem, _, suffix = str(mesh).partition(".")
    if not isinstance(name, str) or stem != "mesh" or suffix not in FORMATS:
        raise _not_a_job("no name or no mesh")
    versions = [
        (number, check_choices(version["choices"]), str(version["what"])[:200])
        for number, version in enumerate(record["versions"], start=1)
    ]
    at = record["at"]
    if not 0 < len(versions) <= N_VERSIONS or at not in range(1, len(versions) + 1):
        raise _not_a_job("no version that it stands at")
    marks = {mark[:80]: value for mark, value in record["marks"].items()}
    if len(marks) > N_MARKS:
        raise _not_a_job(f"{len(marks)} marks")
    return {
        "name": clean_name(name),
        "suffix": suffix,
        "versions": versions,
        "at": at,
        "marks": marks,
    }


def clean_name(name: str) -> str:
    """A job's name: one line of at most 80 signs, without what file systems refuse."""
    kept = "".join(
        sign if sign.isprintable() and sign not in '\\/:*?"<>|' else " " for sign in name
    )
    return " ".join(kept.split())[:80].strip(" .") or say("page.unnamed_part")


def _not_a_job(found):
    return InputError(
        "job file",
        found=found,
        need="a file that castplan exported a job to",
        do="Export the job again.",
    )
