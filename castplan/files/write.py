"""The plan folder: all of it or nothing, and never over something else.

A plan is written into a hidden folder beside its place and renamed into it,
so a power cut, a kill or a full disk leaves either the old plan or the new one.
Killed between the two renames of a replacement, the old plan stands at its
previous name and the new one, whole, in the hidden folder: no moment is
without a whole plan under a name that is shown. What a kill leaves behind is
hidden and called unfinished.
"""

import contextlib
import os
import shutil
import uuid
from functools import partial
from pathlib import Path

from castplan.errors import InputError, disk_errors
from castplan.files import cast_file, drawings, record, solids
from castplan.files.part_file import PART_FILE, write_part
from castplan.files.plan_folder import RECORD_FILE, VIEW_FILE
from castplan.mould.records import Solid
from castplan.paper import booklet, sheets
from castplan.plan_record import Plan
from castplan.view import page as view_page
from castplan.view.records import Scene

SHEETS_FILE = "sheets.pdf"
DETAILS_FILE = "details.pdf"
BOARDS_STEM = "boards"  # .svg and .dxf
SOLIDS_FOLDER = "solids"
PREVIOUS_SUFFIX = ".previous"
_disk_errors = partial(
    disk_errors,
    need="room on the disk and permission to write",
    do="Make room, or choose another --out.",
)


def check_target(out_dir, *, replace: bool) -> Path:
    """Make sure that a plan can be put at `out_dir`, before any computing.

    Parameters
    ----------
    out_dir : str or path-like
        Where the plan folder is to be. Folders above it are made as needed.
    replace : bool
        Whether a plan that is there may make way.

    Returns
    -------
    pathlib.Path
        `out_dir`, absolute.

    Raises
    ------
    InputError
        Something is there that must not be replaced, or a file is in the way.
    ResourceError
        The place cannot be written.
    """
    target = Path(os.path.abspath(out_dir))
    if _exists(target):
        _check_makes_way(target, replace=replace)
    previous = _previous(target)
    if replace and _exists(previous) and not _is_plan_folder(previous):
        raise InputError(
            str(previous),
            found="something that is not a plan",
            need="this name for the plan that is replaced",
            do="Move it away, or choose another --out.",
        )
    home = target.parent
    while not home.exists():
        home = home.parent
    if not home.is_dir():
        raise InputError(
            str(home),
            found="a file",
            need="a folder to put the plan in",
            do="Choose another --out.",
        )
    with _disk_errors(target):
        probe = _hidden(home, target.name)
        probe.mkdir()
        probe.rmdir()
    return target


def write_plan(
    plan: Plan,
    out_dir,
    *,
    replace: bool,
    bodies: tuple[Solid, ...] = (),
    log_from=None,
    scene: Scene | None = None,
    progress=None,
) -> None:
    """Write the plan folder: record, mesh, sheets, boards, and the solids and view asked for.

    A replaced plan is kept beside it as ``NAME.previous``; an older one of that
    name is removed. The log of its pours goes along.

    Parameters
    ----------
    plan : Plan
    out_dir : str or path-like
    replace : bool
    bodies : tuple of Solid
        To go into a folder of their own.
    log_from : str or path-like, optional
        Folder of the version before, whose log goes along.
    scene : Scene or None
        To go into a view to turn in the hand.
    progress : callable or None
        Called as ``progress(stage_name, fraction)``.

    Raises
    ------
    InputError
        As `check_target`.
    ResourceError
        The disk is full or refuses. What was at `out_dir` is still there.
    """
    report = progress or (lambda stage_name, fraction: None)

    def fill(draft):
        report("write", 0.0)
        told = record.plan_json(plan)
        (draft / RECORD_FILE).write_bytes(told)
        report("write", 0.1)
        booklet.write_booklet(plan, draft / SHEETS_FILE)
        report("write", 0.6)
        sheets.write_sheets(plan, draft / DETAILS_FILE)
        _write_things(plan, bodies, draft, told)
        if scene is not None:
            (draft / VIEW_FILE).write_bytes(view_page.view_html(plan, scene))

    put_folder(out_dir, fill, replace=replace, log_from=log_from)
    report("write", 1.0)


def put_folder(out_dir, fill, *, replace: bool, log_from=None) -> None:
    """Put a plan folder in its place, all of it or nothing.

    Parameters
    ----------
    out_dir : str or path-like
    fill : callable
        Called with a new folder, into which it writes the plan's files.
    replace, log_from
        As in `write_plan`.

    Raises
    ------
    InputError
        As `check_target`.
    ResourceError
        The disk is full or refuses. What was at `out_dir` is still there.
    """
    target = check_target(out_dir, replace=replace)
    made = [folder for folder in target.parents if not folder.exists()]
    draft = _hidden(target.parent, target.name)
    try:
        with _disk_errors(target):
            draft.mkdir(parents=True)
            fill(draft)
            cast_file.carry(target if log_from is None else log_from, draft)
            for path in sorted(draft.rglob("*")):
                _flush(path)
            _flush(draft)
            _swap(draft, target)
            _flush(target.parent)
    except BaseException:
        shutil.rmtree(draft, ignore_errors=True)
        for folder in made:  # deepest first
            with contextlib.suppress(OSError):
                folder.rmdir()
        raise


def set_aside(out_dir) -> None:
    """Take a plan folder away, to its previous name; an older one of that name is removed.

    Raises
    ------
    ResourceError
        The disk refuses.
    """
    target = Path(os.path.abspath(out_dir))
    previous = _previous(target)
    oldest = _hidden(target.parent, previous.name)
    with _disk_errors(target):
        if _exists(previous):
            os.rename(previous, oldest)
        os.rename(target, previous)
    shutil.rmtree(oldest, ignore_errors=True)


def _write_things(plan, made, draft, told):
    """The mesh as planned, boards to cut, and solids."""
    write_part(plan.part, draft / PART_FILE, record=told)
    (draft / f"{BOARDS_STEM}.svg").write_bytes(drawings.boards_svg(plan))
    (draft / f"{BOARDS_STEM}.dxf").write_bytes(drawings.boards_dxf(plan))
    if made:
        folder = draft / SOLIDS_FOLDER
        folder.mkdir()
        for body in made:
            (folder / solids.file_name(body, ".stl")).write_bytes(solids.stl_bytes(body))
        package = solids.threemf_bytes(made, title=plan.part.name)
        (folder / "all.3mf").write_bytes(package)


def _swap(draft, target):
    """Put `draft` at `target`, and what was there at its previous name."""
    previous = _previous(target)
    oldest = _hidden(target.parent, previous.name)
    moves = []

    def move(source, place):
        os.rename(source, place)
        moves.append((source, place))

    try:
        if _exists(target):
            if _exists(previous):
                move(previous, oldest)
            move(target, previous)
        move(draft, target)
    except BaseException:
        for source, place in reversed(moves):
            os.rename(place, source)
        raise
    shutil.rmtree(oldest, ignore_errors=True)


def _check_makes_way(target, *, replace):
    """Refuse to touch what is there, unless it is a plan and may be replaced."""
    if not _is_plan_folder(target):
        raise InputError(
            str(target),
            found="something that is not a plan",
            need="a free name, or a plan folder",
            do="Choose another --out.",
        )
    if not replace:
        raise InputError(
            str(target),
            found="a plan",
            need="a free name",
            do="Choose another --out, or give --replace (the old plan is kept as "
            f"{_previous(target).name}).",
        )


def _is_plan_folder(path):
    return path.is_dir() and (path / RECORD_FILE).is_file()


def _exists(path):
    """Whether the name is taken, be it by a link that leads nowhere."""
    return os.path.lexists(path)


def _previous(target):
    return target.with_name(target.name + PREVIOUS_SUFFIX)


def _hidden(folder, name):
    return folder / f".{name}.unfinished-{uuid.uuid4().hex[:12]}"


def _flush(path):
    """Make the disk hold the file; a folder's entries too, where systems allow that."""
    if path.is_dir() and os.name == "nt":
        return
    handle = os.open(path, os.O_RDONLY if path.is_dir() else os.O_RDWR)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
