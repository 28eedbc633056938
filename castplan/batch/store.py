"""The result folder: a plan folder and a record a part, each whole or not there.

::

    DIR/batch.json          what this folder is, and the parts of the last run
    DIR/index.html          the catalogue
    DIR/summary.csv
    DIR/plans/NAME/         what castplan plan writes
    DIR/records/NAME.json   key, how it ended, digest

A part's plan is put in its place first and its record after it: a record with
the right key means that the plan stands. Cut off between the two, the part is
planned again.
"""

import json
import os
import shutil
import uuid
from functools import partial
from pathlib import Path, PurePosixPath

from castplan import __version__
from castplan.batch.bench import Limits
from castplan.batch.entry import Entry, read_entry
from castplan.batch.outcome import LOST, MEMORY, TIME, Outcome
from castplan.errors import InputError, disk_errors
from castplan.files.write import PREVIOUS_SUFFIX, put_folder, set_aside

SCHEMA = "castplan-batch-1"
INDEX_FILE = "batch.json"
PAGE_FILE = "index.html"
SUMMARY_FILE = "summary.csv"
PLANS_FOLDER = "plans"
RECORDS_FOLDER = "records"
_disk_errors = partial(
    disk_errors,
    need="room on the disk and permission to write",
    do="Make room and run it again: what is finished is kept.",
)


class Store:
    """One result folder.

    Parameters
    ----------
    place : path-like

    Raises
    ------
    InputError
        Something is there that is not a result folder.
    ResourceError
        It cannot be written.
    """

    def __init__(self, place) -> None:
        self.place = Path(os.path.abspath(place))
        if self.place.exists() and not _is_ours(self.place):
            raise InputError(
                str(self.place),
                found="something that is not a batch's results",
                need="a free name, an empty folder, or the results of an earlier run",
                do="Choose another --out.",
            )
        with _disk_errors(self.place):
            for name in (PLANS_FOLDER, RECORDS_FOLDER):
                (self.place / name).mkdir(parents=True, exist_ok=True)
            if not (self.place / INDEX_FILE).exists():
                self.list_parts({})
            for draft in (self.place / PLANS_FOLDER).glob(".*.unfinished-*"):
                shutil.rmtree(draft, ignore_errors=True)

    def list_parts(self, keys: dict[str, str]) -> None:
        """Note which parts the run is about, in their order, and the key of each.

        What stands under another key is of another mesh or job, and not listed.
        """
        told = {"schema": SCHEMA, "version": __version__, "parts": keys}
        self.write(INDEX_FILE, _json(told))

    def write(self, name: str, data: bytes) -> None:
        """Put one file into the folder, whole.

        Raises
        ------
        ResourceError
            The disk refuses.
        """
        with _disk_errors(self.place):
            _write_whole(self.place / name, data)

    def plan_folder(self, name: str) -> Path:
        """Where a part's plan stands or would."""
        return self.place / PLANS_FOLDER / name

    def holds(self, name: str, key: str, limits: Limits) -> bool:
        """Whether a part need not be planned again.

        A part that ran into a limit is tried again under a higher one, one
        whose process or worker was lost in any case.
        """
        entry = self._entry(name)
        if entry is None or entry.key != key:
            return False
        if entry.is_planned:
            return self.plan_folder(name).is_dir()
        if entry.status == TIME:
            return limits.seconds <= entry.limit_s
        if entry.status == MEMORY:
            return limits.memory_mb <= entry.memory_mb
        return entry.status != LOST

    def says(self, name: str, texts_sha256: str) -> bool:
        """Whether a part's plan, which is held, is written in this language."""
        entry = self._entry(name)
        return not entry.is_planned or entry.texts_sha256 == texts_sha256

    def keep(self, entry: Entry, outcome: Outcome) -> None:
        """Put a part's result into the folder: the plan first, then its record.

        A plan of an earlier mesh or job is kept as ``NAME.previous``, also where
        the part has no plan any more: it would be the plan of something else.

        Parameters
        ----------
        entry : Entry
        outcome : Outcome
            The plan folder's files.

        Raises
        ------
        ResourceError
            The disk refuses.
        """
        target = self.plan_folder(entry.name)
        if entry.is_planned:
            previous = target.with_name(target.name + PREVIOUS_SUFFIX)
            put_folder(
                target,
                lambda draft: _lay_out(draft, outcome.files),
                replace=True,
                # Where there was no plan for a while, the log waits beside it.
                log_from=None if target.exists() else previous,
            )
        elif target.exists():
            set_aside(target)
        self.write(f"{RECORDS_FOLDER}/{entry.name}.json", _json(vars(entry)))

    def entries(self) -> list[Entry]:
        """What is there of the last run's parts, in their order."""
        keys = _read_keys(self.place)
        found = (self._entry(name) for name in keys)
        return [each for each in found if each is not None and each.key == keys[each.name]]

    def others(self, names: list[str]) -> list[str]:
        """Parts of earlier runs that are not among `names`."""
        kept = {path.stem for path in (self.place / RECORDS_FOLDER).glob("*.json")}
        return sorted(kept - set(names))

    def _entry(self, name):
        """One record; None where there is none, or none of this form: it is planned again."""
        try:
            return read_entry(self.place / RECORDS_FOLDER / f"{name}.json")
        except (OSError, ValueError):
            return None


def read_entries(place) -> list[Entry]:
    """The parts of a result folder's last run that have ended in it or before, in their order.

    Parameters
    ----------
    place : path-like

    Returns
    -------
    list of Entry

    Raises
    ------
    InputError
        This is no result folder, or a record in it is damaged.
    """
    place = Path(place)
    keys = _read_keys(place)
    entries = []
    for name, key in keys.items():
        path = place / RECORDS_FOLDER / f"{name}.json"
        try:
            entry = read_entry(path)
        except FileNotFoundError:  # it has not ended yet
            continue
        except (OSError, ValueError) as error:
            raise InputError(
                str(path),
                found=f"no record of a part ({' '.join(str(error).split())[:100]})",
                need="one as castplan batch wrote it",
                do="Run castplan batch into that folder again: the part is planned anew.",
            ) from error
        if entry.key == key:
            entries.append(entry)
    return entries


def _read_keys(place):
    """The key of each part of the last run, by its name."""
    path = place / INDEX_FILE
    try:
        # A pipe of this name would be waited for.
        if not path.is_file():
            raise FileNotFoundError(path)
        keys = json.loads(path.read_text("utf-8"))["parts"]
        if not all(isinstance(key, str) and _is_a_name(name) for name, key in keys.items()):
            raise ValueError("no names of parts")
        return keys
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
        raise InputError(
            str(place),
            found="no batch's results",
            need="a folder that castplan batch --out made",
            do="Give the folder that holds batch.json.",
        ) from error


def _is_a_name(name):
    """Whether it names a file in a folder, and nothing beside it."""
    is_short = 0 < len(name.encode()) <= 240
    return is_short and name.isprintable() and not set(name) & set("/\\:")


def _is_ours(place):
    return place.is_dir() and ((place / INDEX_FILE).is_file() or not any(place.iterdir()))


def _lay_out(folder, files):
    """Write a plan's files into its folder, and nowhere else."""
    for name, data in files:
        steps = PurePosixPath(name).parts
        if not steps or PurePosixPath(name).is_absolute() or ".." in steps or "\\" in name:
            raise ValueError(f"a worker names the file {name!r}")
        path = folder.joinpath(*steps)
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)


def _hidden(path):
    return path.with_name(f".{path.name}.unfinished-{uuid.uuid4().hex[:12]}")


def _write_whole(path, data):
    draft = _hidden(path)
    try:
        with open(draft, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        os.replace(draft, path)
    except BaseException:
        draft.unlink(missing_ok=True)
        raise


def _json(value) -> bytes:
    return (json.dumps(value, ensure_ascii=False, indent=1) + "\n").encode("utf-8")
