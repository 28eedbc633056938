"""A plan folder read back: the record, and the mesh that it was made from."""

import json
from pathlib import Path

import numpy as np

from castplan.errors import InputError
from castplan.files.part_file import PART_FILE, read_part, seal_of
from castplan.files.reading import from_plain
from castplan.files.record import SCHEMA, as_bytes, plan_json
from castplan.part.records import MeshCheck
from castplan.plan_record import Plan

RECORD_FILE = "plan.json"
VIEW_FILE = "view.html"
# A hundred times the record of a large part: more is no plan, and would fill the memory.
MOST_BYTES = 200_000_000


def as_kept(plan: Plan) -> Plan:
    """The plan with the digits that its file keeps, as `read_plan` gives it back.

    Sheets and view are made of these numbers, so that they can be made again from
    the folder, in another language too, without planning.

    Parameters
    ----------
    plan : Plan
    """
    document = json.loads(plan_json(plan))
    del document["schema"]
    return from_plain(Plan, document | {"part": plan.part})


def read_plan(folder) -> Plan:
    """The plan of a folder, mesh and all.

    Numbers come back with the six digits that were written.

    Parameters
    ----------
    folder : str or path-like

    Returns
    -------
    Plan

    Raises
    ------
    InputError
        The folder holds no plan, one of another form, or the mesh is missing
        or another one.
    """
    folder = Path(folder)
    path = folder / RECORD_FILE
    document = _read_document(path)
    sealed = as_bytes(document)
    form = document.pop("schema")
    try:
        if form != SCHEMA:
            raise ValueError(f"its form is {form!r}"[:80])
        stated = document["part"]
        check = from_plain(MeshCheck, stated["check"])
        part, seal = read_part(
            folder / PART_FILE, name=from_plain(str, stated["name"]), check=check
        )
        plan = from_plain(Plan, document | {"part": part})
    except (ValueError, KeyError, TypeError, RecursionError) as error:
        raise InputError(
            str(path),
            found=f"a plan of another castplan ({_short(error)})",
            need=f"the form {SCHEMA} with all its records",
            do="Plan the part again with this castplan; keep the log with --replace.",
        ) from error
    if not np.array_equal(seal, seal_of(sealed, part)):
        raise InputError(
            str(path),
            found="another plan than was written with its mesh",
            need="plan.json and part.npz as castplan plan wrote them",
            do="Plan the part again with --replace; the log is kept.",
        )
    return plan


def _read_document(path):
    """The record as `json.loads` gives it, with the name of its form."""
    try:
        # A pipe of this name would be waited for.
        if not path.is_file():
            raise FileNotFoundError(path)
        if path.stat().st_size > MOST_BYTES:
            raise ValueError("too large")
        document = json.loads(path.read_bytes(), parse_constant=_no_number)
        document["schema"]
        as_bytes(document)
    except (OSError, ValueError, KeyError, AttributeError, TypeError, RecursionError) as error:
        raise InputError(
            str(path),
            found=f"no plan ({type(error).__name__})",
            need="a plan folder that castplan plan wrote",
            do="Name the folder that holds plan.json.",
        ) from error
    return document


def _no_number(word):
    raise ValueError(f"{word} is no number")


def _short(error):
    """What an error says, as a piece of a line."""
    said = " ".join(str(error).split())
    return said if len(said) <= 200 else f"{said[:200]}..."
