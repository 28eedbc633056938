"""Files in: the bytes of a mesh file as vertices, facets and the stated unit."""

import gc
import io
import logging
import re
import warnings
from pathlib import Path
from typing import NamedTuple

import numpy as np

from castplan import ordinary
from castplan.errors import CastplanError, InputError, ResourceError
from castplan.part import refuse, step, stream, strips

FORMATS = ("stl", "obj", "ply", "3mf", "off", "glb", "step", "stp")

_LARGE_BYTES = 20_000_000
_STL_HEADER_BYTES = 84  # 80 free, then the count of facets


class Lists(NamedTuple):
    """What a file holds.

    `vertices` (n, 3) float64 and `faces` (m, 3) int64 in the file's unit.
    `stated_unit` is the unit written in the file, `usual_unit` the one that
    its format prescribes; each None where there is none.
    """

    vertices: np.ndarray
    faces: np.ndarray
    stated_unit: str | None
    usual_unit: str | None


def read_lists(path: Path, *, n_triangles: int | None = None) -> Lists:
    """Read a mesh file; nothing outside the file is opened.

    Parameters
    ----------
    path : pathlib.Path
        Its suffix names the format.
    n_triangles : int or None
        Read a binary STL that is too large for memory down to about so many.

    Returns
    -------
    Lists

    Raises
    ------
    InputError
        No such file, a suffix that is not known, or a file that is damaged.
    ResourceError
        The file may not be read, or would take too much memory.
    """
    kind = kind_of(path)
    if n_triangles is not None and kind == "stl" and _is_too_large(path):
        return Lists(*stream.read_thinned(path, n_triangles=n_triangles), None, None)
    data = _read_bytes(path)
    try:
        refuse.check_claims(data, kind, name=path.name)
        if kind in ("step", "stp"):
            data, kind = step.glb_from_step(data, name=path.name), "glb"
        if kind == "ply" and strips.has_strips(data):
            return Lists(*strips.read_strips(data, name=path.name), None, None)
        if kind == "stl" and stream.is_whole(data):
            return Lists(*stream.read_whole(data), None, None)
        scene = _parse(data, kind)
        vertices, faces = _place(scene)
        stated = scene.units if kind == "3mf" else None
        del scene
        if len(data) > _LARGE_BYTES:
            # The parser's objects name each other, so only the collector frees them.
            gc.collect()
    except CastplanError:
        raise
    except MemoryError:
        raise ResourceError(
            path.name,
            found="too little memory to read it",
            need=f"several times its {len(data) / 1e6:.0f} MB",
            do=refuse.WAY_OUT,
        ) from None
    except Exception as error:
        # Whatever a damaged file makes the parser stumble over, it is the file's.
        raise damaged(path.name, f"a file that does not read as {kind.upper()}", error) from error
    n_stated = _n_stated(data, kind)
    if len(faces) < n_stated:
        if kind == "stl" and not len(faces):
            raise damaged(path.name, "neither a whole binary STL nor a whole ASCII one")
        raise damaged(path.name, f"{len(faces)} whole facets of {n_stated}")
    # glTF 2.0 Specification, 3.4: "The units for all linear distances are meters".
    return Lists(vertices, faces, stated, "m" if kind == "glb" else None)


def kind_of(path: Path) -> str:
    """The format that a path's suffix names, one of `FORMATS`."""
    kind = path.suffix.lower().lstrip(".")
    if kind not in FORMATS:
        raise InputError(
            path.name,
            found=f"the suffix {path.suffix!r}",
            need="one of " + ", ".join(f".{suffix}" for suffix in FORMATS),
            do="Export the part as one of these.",
        )
    return kind


def damaged(name: str, found: str, error: Exception | None = None) -> InputError:
    """The error for a file that is not what its suffix says."""
    reason = f" ({error})" if error is not None and str(error) else ""
    return InputError(
        name,
        found=found + reason[:120],
        need="a whole mesh file",
        do="Copy it again, or export it again.",
    )


def _is_too_large(path):
    """Whether a file is a binary STL that `refuse` would not let in."""
    try:
        return (
            path.is_file()
            and path.stat().st_size > refuse.max_file_bytes("stl")
            and stream.is_binary_stl(path)
        )
    except OSError:
        return False  # the ordinary way in says what is wrong


def _read_bytes(path):
    """The file's bytes."""
    try:
        if path.is_file():
            refuse.check_file_size(path.stat().st_size, kind_of(path), name=path.name)
        data = ordinary.read_bytes(path)
    except (FileNotFoundError, NotADirectoryError, IsADirectoryError) as error:
        raise InputError(
            str(path), found="no such file", need="a mesh file", do="Check the path."
        ) from error
    except ValueError as error:  # a null character in the name
        raise InputError(
            repr(str(path)), found="no file name", need="a mesh file", do="Check the path."
        ) from error
    except OSError as error:
        if path.is_dir():  # Windows says "permission denied" for a folder
            raise InputError(
                str(path), found="a folder", need="a mesh file", do="Name the file in it."
            ) from error
        raise ResourceError(
            str(path),
            found=f"no way to read it ({error.strerror or error})",
            need="permission to read",
            do="Check who owns the file and whether another program holds it.",
        ) from error
    if not data:
        raise damaged(path.name, "an empty file")
    return data


def _parse(data, kind):
    """A trimesh scene, nothing merged and nothing outside `data` opened."""
    import trimesh

    # Without a handler its remarks, tracebacks among them, go to the terminal.
    log = logging.getLogger("trimesh")
    if not log.handlers:
        log.addHandler(logging.NullHandler())
    options = {"skip_materials": True} if kind in ("obj", "ply", "glb") else {}
    with warnings.catch_warnings():
        # What a parser only remarks on is no news to the shop; but older numpy
        # only warns about text after which it stopped reading numbers.
        warnings.simplefilter("ignore")
        warnings.filterwarnings("error", message="string or file could not be read")
        return trimesh.load_scene(io.BytesIO(data), file_type=kind, process=False, **options)


def _place(scene):
    """Vertices (n, 3) and faces (m, 3) of a scene, each mesh where the scene puts it."""
    vertices, faces, n_vertices, n_faces = [np.zeros((0, 3))], [np.zeros((0, 3), np.int64)], 0, 0
    for node in scene.graph.nodes_geometry:
        transform, name = scene.graph[node]
        mesh = scene.geometry[name]
        if not hasattr(mesh, "faces"):  # points or curves
            continue
        n_faces += len(mesh.faces)
        # One mesh placed many times multiplies what a small file holds.
        refuse.check_n_triangles(n_faces)
        points = np.asarray(mesh.vertices)
        if not np.array_equal(transform, np.eye(4)):
            points = points @ transform[:3, :3].T + transform[:3, 3]
        turned = mesh.faces[:, ::-1] if np.linalg.det(transform[:3, :3]) < 0 else mesh.faces
        vertices.append(points)
        faces.append(np.asarray(turned) + n_vertices)
        n_vertices += len(points)
    return np.concatenate(vertices), np.concatenate(faces)


def _n_stated(data, kind):
    """How many facets the file says it holds, at least; 0 where it does not say.

    Text that is cut off between two lines still parses, with facets missing.
    """
    if kind == "stl":
        n_text = data.lower().count(b"endfacet")
        if n_text or len(data) < _STL_HEADER_BYTES:
            return max(n_text, 1)
        return int.from_bytes(data[80:84], "little")
    if kind == "obj":
        return data.count(b"\nf ")
    if kind == "ply":
        header = re.search(rb"element\s+face\s+(\d+)", data[:100_000])
        return int(header[1]) if header else 0
    if kind == "off":
        text = re.sub(rb"#[^\n]*", b"", data[:100_000])
        counts = re.search(rb"OFF\s+\d+\s+(\d+)", text)
        return int(counts[1]) if counts else 0
    return 0
