"""A plan folder read back: the record, and the mesh that it was made from."""

import json
import zipfile
from pathlib import Path

import numpy as np

from castplan.errors import InputError
from castplan.files.reading import from_plain
from castplan.files.record import SCHEMA, plan_json
from castplan.part.records import MeshCheck, Part
from castplan.plan_record import Plan

RECORD_FILE = "plan.json"
PART_FILE = "part.npz"
VIEW_FILE = "view.html"
_ARRAYS = ("vertices_mm", "faces", "cap_faces")


def write_part(part: Part, path) -> None:
    """Keep the mesh as planned, in millimetres; the same mesh gives the same bytes.

    Parameters
    ----------
    part : Part
    path : str or path-like
    """
    np.savez_compressed(path, **{name: getattr(part, name) for name in _ARRAYS})


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
    try:
        document = json.loads(path.read_bytes())
        form = document.pop("schema")
    except (OSError, ValueError, KeyError, AttributeError, TypeError) as error:
        raise InputError(
            str(path),
            found=f"no plan ({type(error).__name__})",
            need="a plan folder that castplan plan wrote",
            do="Name the folder that holds plan.json.",
        ) from error
    try:
        if form != SCHEMA:
            raise ValueError(f"its form is {form!r}")
        stated = document["part"]
        check = from_plain(MeshCheck, stated["check"])
        arrays = _read_arrays(folder / PART_FILE, check)
        document["part"] = Part(name=stated["name"], check=check, **arrays)
        return from_plain(Plan, document)
    except (ValueError, KeyError, TypeError) as error:
        raise InputError(
            str(path),
            found=f"a plan of another castplan ({error})",
            need=f"the form {SCHEMA} with all its records",
            do="Plan the part again with this castplan; keep the log with --replace.",
        ) from error


def _read_arrays(path, check):
    """The mesh's arrays, held against what the record says of them."""
    try:
        with np.load(path, allow_pickle=False) as stored:
            arrays = {name: stored[name] for name in _ARRAYS}
    except (OSError, ValueError, KeyError, EOFError, zipfile.BadZipFile) as error:
        raise InputError(
            str(path),
            found=f"no mesh of the plan ({type(error).__name__})",
            need="the file that castplan plan wrote beside plan.json",
            do="Plan the part again with --replace; the log is kept.",
        ) from error
    sides = np.ptp(arrays["vertices_mm"][np.unique(arrays["faces"])], axis=0)
    is_same = len(arrays["faces"]) == check.n_triangles and np.allclose(
        sides, check.extent_mm, rtol=1e-4
    )
    if not is_same:
        raise InputError(
            str(path),
            found="another mesh than the plan was made from",
            need=f"one of {check.n_triangles} triangles",
            do="Plan the part again with --replace; the log is kept.",
        )
    return arrays
