"""Jobs of the page: meshes as files named by their content, the rest in SQLite.

Every change is a version of its own, so that it can be undone, and is on the
disk before it is called saved: SQLite runs with a write-ahead log that is
flushed at every commit, a mesh is flushed and renamed before a job names it.
"""

import contextlib
import hashlib
import json
import os
import secrets
import sqlite3
import threading
import time
from dataclasses import dataclass
from pathlib import Path

from castplan.errors import CastplanError, InputError, ResourceError
from castplan.page import forms

N_VERSIONS = 1000  # of a job, to undo; older ones are forgotten
N_MARKS = 2000  # of a job
_LOCKED_S = 2.0  # another castplan may be about to close


@dataclass(frozen=True)
class StoredJob:
    """A job as it stands: `choices` are those of version `at` of `last`."""

    key: str
    name: str
    mesh: str  # SHA-256 of the file, hexadecimal
    suffix: str  # of the file, one of the known formats
    made_s: float  # seconds since 1970
    changed_s: float
    is_archived: bool
    at: int
    first: int  # the oldest version kept
    last: int
    choices: dict
    what: str  # what this version changed
    next_what: str | None  # what redo would change
    marks: dict  # ticks and timers, by name


class Conflict(InputError):
    """The job was changed elsewhere since it was looked at."""


class Missing(InputError):
    """What was asked for is not there."""


class Store:
    """The jobs in one folder.

    Parameters
    ----------
    folder : pathlib.Path
        Made where it does not exist.

    Raises
    ------
    ResourceError
        The folder cannot be used, its file is no store or a newer castplan's, or
        another castplan has it open. A store of an earlier form is brought up.
    """

    def __init__(self, folder: Path):
        self._meshes = folder / "meshes"
        self._logs = folder / "logs"
        self._lock = threading.RLock()
        path = folder / "jobs.sqlite3"
        try:
            # Other people of this computer have no business in it.
            folder.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
            for each in (folder, self._meshes, self._logs):
                each.mkdir(exist_ok=True, mode=0o700)
                _close_to_others(each, 0o700)
            # What SQLite lays beside it has the same mode.
            path.touch(mode=0o600)
            _close_to_others(path, 0o600)
            self._base = sqlite3.connect(
                path, check_same_thread=False, timeout=_LOCKED_S, isolation_level=None
            )
            self._base.row_factory = sqlite3.Row
            # Held until it is closed or the process ends: one server for a store.
            self._base.execute("PRAGMA locking_mode=EXCLUSIVE")
            # Before anything is written: a newer castplan's file is left as it is.
            form, last = forms.form_of(self._base), len(forms.STEPS)
            if form > last:
                raise ResourceError(
                    str(path),
                    found=f"jobs of form {form}, of a newer castplan",
                    need=f"form {last} at the most",
                    do="Use the castplan that wrote them, or another CASTPLAN_HOME.",
                )
            for order in ("journal_mode=WAL", "synchronous=FULL", "foreign_keys=ON"):
                self._base.execute(f"PRAGMA {order}")
            if form < last:
                with self._changing():
                    forms.bring_up(self._base)
            for left in self._meshes.glob("*.part"):  # of a server that was killed
                left.unlink()
        except CastplanError:
            self._base.close()
            raise
        except (OSError, sqlite3.Error) as error:
            if "locked" in str(error):
                raise ResourceError(
                    str(path),
                    found="jobs that another castplan serve has open",
                    need="one at a time",
                    do="Use its page, or stop it first.",
                ) from error
            raise ResourceError(
                str(path),
                found=f"{error}",
                need="a folder for the jobs that can be written",
                do="Set CASTPLAN_HOME to another folder.",
            ) from error

    def close(self) -> None:
        """Let go of the file."""
        with self._lock:
            self._base.close()

    @contextlib.contextmanager
    def _changing(self):
        """One change, whole or not at all, flushed when it ends."""
        with self._lock:
            try:
                self._base.execute("BEGIN IMMEDIATE")
                yield
                self._base.execute("COMMIT")
            except BaseException as error:
                # A full disk has rolled it back already.
                with contextlib.suppress(sqlite3.Error):
                    self._base.execute("ROLLBACK")
                if not isinstance(error, sqlite3.Error):
                    raise
                raise ResourceError(
                    "jobs", found=str(error), need="room on the disk", do="Free some; try again."
                ) from error

    # Meshes

    def draft(self) -> Path:
        """A new file beside the meshes to receive an upload."""
        return self._meshes / f"{secrets.token_hex(8)}.part"

    def keep_mesh(self, draft: Path, *, suffix: str) -> str:
        """Keep a received file under its content's name, and give its SHA-256."""
        with open(draft, "rb+") as file:
            mesh = hashlib.file_digest(file, "sha256").hexdigest()
            os.fsync(file.fileno())
        draft.chmod(0o600)
        os.replace(draft, self.mesh_path(mesh, suffix=suffix))
        if os.name == "posix":
            folder = os.open(self._meshes, os.O_RDONLY)
            os.fsync(folder)
            os.close(folder)
        return mesh

    def mesh_path(self, mesh: str, *, suffix: str) -> Path:
        """Where a kept mesh is; the suffix is one of the known formats."""
        return self._meshes / f"{mesh}.{suffix}"

    def log_folder(self, key: str) -> Path:
        """Where a job's log of pours is; there need not be one yet.

        Raises
        ------
        InputError
            There is no such job.
        """
        return self._logs / self.get(key).key

    # Jobs

    def add(self, *, name: str, mesh: str, suffix: str, choices: dict, what="opened") -> str:
        """Add a job and give its key."""
        key, now = secrets.token_hex(6), time.time()
        with self._changing():
            self._base.execute(
                "INSERT INTO jobs VALUES (?, ?, ?, ?, ?, ?, 1, 0)",
                (key, name, mesh, suffix, now, now),
            )
            self._base.execute(
                "INSERT INTO versions VALUES (?, 1, ?, ?)", (key, _text(choices), what)
            )
        return key

    def get(self, key: str) -> StoredJob:
        """The job of this key.

        Raises
        ------
        Missing
            There is none.
        """
        with self._lock:
            row = self._base.execute("SELECT * FROM jobs WHERE key = ?", (key,)).fetchone()
            if row is None:
                raise Missing(
                    "job", found="a key of no job", need="one of the list", do="Open it anew."
                )
            versions = {
                each["number"]: each
                for each in self._base.execute(
                    "SELECT number, choices, what FROM versions WHERE job = ?", (key,)
                )
            }
            marks = self._base.execute(
                "SELECT name, value FROM marks WHERE job = ? ORDER BY name", (key,)
            ).fetchall()
        at, later = row["at"], versions.get(row["at"] + 1)
        return StoredJob(
            key=key,
            name=row["name"],
            mesh=row["mesh"],
            suffix=row["suffix"],
            made_s=row["made"],
            changed_s=row["changed"],
            is_archived=bool(row["is_archived"]),
            at=at,
            first=min(versions),
            last=max(versions),
            choices=json.loads(versions[at]["choices"]),
            what=versions[at]["what"],
            next_what=None if later is None else later["what"],
            marks={mark["name"]: json.loads(mark["value"]) for mark in marks},
        )

    def all(self) -> list[StoredJob]:
        """All jobs, the one changed last first."""
        with self._lock:
            rows = self._base.execute("SELECT key FROM jobs ORDER BY changed DESC, key").fetchall()
            return [self.get(row["key"]) for row in rows]

    def change(self, key: str, *, choices: dict, what: str, at: int) -> StoredJob:
        """Add a version after version `at`; what had been undone is forgotten.

        Raises
        ------
        Conflict
            The job no longer stands at version `at`.
        """
        with self._changing():
            self._check_at(key, at)
            self._base.execute("DELETE FROM versions WHERE job = ? AND number > ?", (key, at))
            self._base.execute(
                "INSERT INTO versions VALUES (?, ?, ?, ?)", (key, at + 1, _text(choices), what)
            )
            self._base.execute(
                "DELETE FROM versions WHERE job = ? AND number <= ?", (key, at + 1 - N_VERSIONS)
            )
            self._stand_at(key, at + 1)
        return self.get(key)

    def step(self, key: str, *, by: int, at: int) -> StoredJob:
        """Go a version back (-1, undo) or forth (1, redo) from version `at`.

        Raises
        ------
        Conflict
            As `change`, or there is no version that way.
        """
        with self._changing():
            self._check_at(key, at)
            there = self._base.execute(
                "SELECT 1 FROM versions WHERE job = ? AND number = ?", (key, at + by)
            ).fetchone()
            if there is None:
                raise Conflict(
                    "job",
                    found="no change that way",
                    need="one to undo or redo",
                    do="Change something first.",
                )
            self._stand_at(key, at + by)
        return self.get(key)

    def _check_at(self, key, at):
        now = self.get(key).at
        if now != at:
            raise Conflict(
                "job",
                found=f"version {now} of it (changed in another window)",
                need=f"version {at}",
                do="Look at it as it is now and change that.",
            )

    def _stand_at(self, key, at):
        self._base.execute(
            "UPDATE jobs SET at = ?, changed = ? WHERE key = ?", (at, time.time(), key)
        )

    def archive(self, key: str, *, is_archived: bool) -> StoredJob:
        """Put a job away, or bring it back."""
        self.get(key)
        with self._changing():
            self._base.execute(
                "UPDATE jobs SET is_archived = ?, changed = ? WHERE key = ?",
                (int(is_archived), time.time(), key),
            )
        return self.get(key)

    def duplicate(self, key: str, *, name: str) -> str:
        """A new job with the same mesh and choices, and no history."""
        job = self.get(key)
        return self.add(
            name=name,
            mesh=job.mesh,
            suffix=job.suffix,
            choices=job.choices,
            what=f"copied from {job.name}",
        )

    def mark(self, key: str, *, name: str, value) -> None:
        """Keep a tick or a timer; None takes it away.

        Raises
        ------
        InputError
            The job has as many as it may have.
        """
        self.get(key)
        with self._changing():
            if value is None:
                self._base.execute("DELETE FROM marks WHERE job = ? AND name = ?", (key, name))
            else:
                self._base.execute(
                    "INSERT OR REPLACE INTO marks VALUES (?, ?, ?)", (key, name, _text(value))
                )
                count = "SELECT count(*) FROM marks WHERE job = ?"
                if self._base.execute(count, (key,)).fetchone()[0] > N_MARKS:
                    raise InputError(
                        "marks", found=f"over {N_MARKS}", need="fewer", do="Take some away."
                    )

    def versions(self, key: str) -> list[tuple[int, dict, str]]:
        """Number, choices and what changed, of every version kept."""
        with self._lock:
            rows = self._base.execute(
                "SELECT number, choices, what FROM versions WHERE job = ? ORDER BY number", (key,)
            ).fetchall()
        return [(row["number"], json.loads(row["choices"]), row["what"]) for row in rows]

    def add_whole(self, *, name, mesh, suffix, versions, at, marks) -> str:
        """Add a job with its history, as `carry` read it from a file."""
        key, now = secrets.token_hex(6), time.time()
        with self._changing():
            self._base.execute(
                "INSERT INTO jobs VALUES (?, ?, ?, ?, ?, ?, ?, 0)",
                (key, name, mesh, suffix, now, now, at),
            )
            self._base.executemany(
                "INSERT INTO versions VALUES (?, ?, ?, ?)",
                [(key, number, _text(choices), what) for number, choices, what in versions],
            )
            self._base.executemany(
                "INSERT INTO marks VALUES (?, ?, ?)",
                [(key, mark, _text(value)) for mark, value in marks.items()],
            )
        return key


def _close_to_others(path, mode):
    # A folder that belongs to somebody else is theirs to close.
    with contextlib.suppress(PermissionError):
        path.chmod(mode)


def _text(value):
    return json.dumps(value, sort_keys=True, allow_nan=False)
