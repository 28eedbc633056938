"""From a mesh file to a checked `Part` in millimetres."""

import io
import re
import warnings
from pathlib import Path

import numpy as np

from castplan import units
from castplan.errors import GeometryError, InputError, ResourceError
from castplan.mesh import check
from castplan.model import MeshCheck, Part

FORMATS = ("stl", "obj", "ply", "3mf", "off")

# A closed surface folded flat leaves only rounding, about 1e-16 of its box. The
# thinnest castable sheet, lying across its box, still fills about 1e-4 of it.
_MIN_FILL_FRACTION = 1e-9

# Beyond it the file is damaged, whatever the unit: 1e9 um is a kilometre.
_MAX_COORDINATE = 1e9

_STL_HEADER_BYTES = 84  # 80 free, then the count of facets


def load_part(path, *, unit: str | None = None) -> Part:
    """Read a mesh file.

    Nothing outside the file is opened: materials and textures that it names
    are passed over.

    Parameters
    ----------
    path : str or path-like
        STL (binary or ASCII), OBJ, PLY, 3MF or OFF, told by its suffix.
    unit : str or None
        The unit of the coordinates, a key of `units.MM_PER_UNIT` or of
        `units.UNIT_NAMES`. None: the one that the file states. Of these formats
        only 3MF states one (3MF Core Specification, attribute ``unit`` of
        ``model``; millimeter where it is absent).

    Returns
    -------
    Part
        Named after the file, without folder and suffix.

    Raises
    ------
    InputError
        No such file, not readable as its format, cut off, or the unit is
        missing, unknown or contradicts the file.
    GeometryError
        The file holds no body.
    ResourceError
        The file may not be read, or does not fit in memory.
    """
    path = Path(path)
    given = None if unit is None else _known_unit(unit, what=f"--units {unit}")
    vertices, faces, stated = _read(path)
    file_unit = None if stated is None else _known_unit(stated, what=path.name)
    chosen = given or file_unit
    if chosen is None:
        _check_lists(vertices, faces, name=path.name)
        raise _missing_unit(np.ptp(vertices[faces.ravel()], axis=0), name=path.name)
    if given and file_unit and given != file_unit:
        raise InputError(
            path.name,
            found=f"{file_unit} stated in the file, but --units {unit}",
            need="one unit",
            do="Leave --units away, or set the unit right where the part was drawn.",
        )
    return part_from_arrays(
        vertices,
        faces,
        name=path.stem,
        unit_mm=units.MM_PER_UNIT[chosen],
        file_unit=file_unit,
        unit=chosen,
    )


def _known_unit(name, *, what):
    """The short name of a unit."""
    key = name.strip().lower()
    short = units.UNIT_NAMES.get(key, key)
    if short not in units.MM_PER_UNIT:
        raise InputError(
            what,
            found=f"the unit {name!r}",
            need="one of " + ", ".join(units.MM_PER_UNIT),
            do="Give the unit that the part was drawn in.",
        )
    return short


def _missing_unit(extent, *, name):
    """The error that shows how large the part is in each of the usual units."""
    sizes = [
        f"{units.extent_text(extent, unit=unit)}, "
        f"{units.size_in_words(float(extent.max()) * units.MM_PER_UNIT[unit])}"
        for unit in ("mm", "in")
    ]
    return InputError(
        name,
        found=f"no unit (a size of {', or '.join(sizes)})",
        need="one",
        do="Give --units mm or --units in (or um, cm, m, ft).",
    )


def _read(path):
    """Vertices (n, 3), faces (m, 3) and stated unit (or None) of a file."""
    kind = path.suffix.lower().lstrip(".")
    if kind not in FORMATS:
        raise InputError(
            path.name,
            found=f"the suffix {path.suffix!r}",
            need="one of " + ", ".join(f".{suffix}" for suffix in FORMATS),
            do="Export the part as one of these.",
        )
    data = _read_bytes(path)
    try:
        scene = _parse(data, kind)
        vertices, faces = _place(scene)
        stated = scene.units if kind == "3mf" else None
    except MemoryError:
        raise ResourceError(
            path.name,
            found="too little memory to read it",
            need=f"several times its {len(data) / 1e6:.0f} MB",
            do="Close other programs, or export the part with fewer triangles.",
        ) from None
    except Exception as error:
        # Whatever a damaged file makes the parser stumble over, it is the file's.
        raise _damaged(path.name, f"a file that does not read as {kind.upper()}", error) from error
    n_stated = _n_stated(data, kind)
    if len(faces) < n_stated:
        if kind == "stl" and not len(faces):
            raise _damaged(path.name, "neither a whole binary STL nor a whole ASCII one")
        raise _damaged(path.name, f"{len(faces)} whole facets of {n_stated}")
    return vertices, faces, stated


def _read_bytes(path):
    """The file's bytes."""
    try:
        data = path.read_bytes()
    except (FileNotFoundError, NotADirectoryError, IsADirectoryError) as error:
        raise InputError(
            str(path), found="no such file", need="a mesh file", do="Check the path."
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
        raise _damaged(path.name, "an empty file")
    return data


def _parse(data, kind):
    """A trimesh scene, nothing merged and nothing outside `data` opened."""
    import trimesh

    options = {"skip_materials": True} if kind in ("obj", "ply") else {}
    with warnings.catch_warnings():
        # Older numpy only warns about text after which it stopped reading numbers.
        warnings.filterwarnings("error", message="string or file could not be read")
        return trimesh.load_scene(io.BytesIO(data), file_type=kind, process=False, **options)


def _place(scene):
    """Vertices (n, 3) and faces (m, 3) of a scene, each mesh where the scene puts it."""
    vertices, faces, n_vertices = [np.zeros((0, 3))], [np.zeros((0, 3), dtype=np.int64)], 0
    for node in scene.graph.nodes_geometry:
        transform, name = scene.graph[node]
        mesh = scene.geometry[name]
        if not hasattr(mesh, "faces"):  # points or curves
            continue
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


def _damaged(name, found, error=None):
    """The error for a file that is not what its suffix says."""
    reason = f" ({error})" if error is not None and str(error) else ""
    return InputError(
        name,
        found=found + reason[:120],
        need="a whole mesh file",
        do="Copy it again, or export it again.",
    )


def part_from_arrays(
    vertices: np.ndarray,
    faces: np.ndarray,
    *,
    name: str,
    unit_mm: float = 1.0,
    file_unit: str | None = None,
    unit: str = "mm",
) -> Part:
    """Check a triangle list and make a part of it.

    Parameters
    ----------
    vertices : (n, 3) array_like
        In `unit`.
    faces : (m, 3) array_like of int
    name : str
        Shown to the user.
    unit_mm : float
        Millimetres in one `unit`.
    file_unit : str or None
        The unit the file states.
    unit : str

    Returns
    -------
    Part
        Equal vertices merged, facets without area in their vertices dropped,
        normals pointing out where the winding allows it.

    Raises
    ------
    InputError
        A coordinate is not finite or beyond 1e9, or a facet names a vertex that is not there.
    GeometryError
        No facets, or they enclose nothing.
    """
    vertices = np.asarray(vertices, dtype=np.float64).reshape(-1, 3)
    faces = np.asarray(faces, dtype=np.int64).reshape(-1, 3)
    _check_lists(vertices, faces, name=name)

    n_used = int(np.count_nonzero(np.bincount(faces.ravel(), minlength=1)))
    vertices, faces = check.merge_vertices(vertices, faces)
    n_before, n_merged = len(faces), n_used - len(vertices)
    faces = check.drop_degenerate(faces)
    if not len(faces):
        raise GeometryError(
            name,
            found=f"{n_before} triangles, all shrunk to a line or a point",
            need="a surface",
            do="Export the part again, or check the exporter's precision.",
        )
    if len(faces) < n_before:
        vertices, faces = check.merge_vertices(vertices, faces)  # some are unused now
    vertices_mm = vertices * unit_mm
    low_mm, high_mm = vertices_mm.min(axis=0), vertices_mm.max(axis=0)
    extent_mm = high_mm - low_mm
    _check_extent(extent_mm, name=name)

    edges = check.edges_of(faces, n_vertices=len(vertices_mm))
    caps = check.close_holes(vertices_mm, edges)
    closed_mm = np.concatenate((vertices_mm, caps.middles_mm))
    volume_mm3 = check.volume_mm3(closed_mm, np.concatenate((faces, caps.faces)))
    if abs(volume_mm3) <= _MIN_FILL_FRACTION * float(np.prod(extent_mm)):
        raise GeometryError(
            name,
            found="a surface that encloses no volume",
            need="a solid body",
            do="Give the part a thickness, and weld corners that should meet.",
        )
    cap_faces = caps.faces
    if volume_mm3 < 0:
        faces, cap_faces = faces[:, [1, 0, 2]], cap_faces[:, [1, 0, 2]]
    n_bodies, _ = check.count_components(edges.pairs, n_vertices=len(vertices_mm))
    n_open = int(np.count_nonzero(edges.surplus))
    return Part(
        name=name,
        vertices_mm=closed_mm,
        faces=faces,
        cap_faces=cap_faces,
        check=MeshCheck(
            n_triangles=len(faces),
            n_vertices=len(vertices_mm),
            n_merged_vertices=n_merged,
            n_dropped_triangles=n_before - len(faces),
            n_bodies=int(n_bodies),
            n_open_edges=n_open,
            n_holes=len(caps.middles_mm),
            is_watertight=n_open == 0,
            is_winding_consistent=bool(np.abs(edges.surplus).max() <= 1),
            is_inverted=volume_mm3 < 0,
            volume_mm3=abs(volume_mm3),
            area_mm2=check.area_mm2(vertices_mm, faces),
            extent_mm=tuple(float(side) for side in extent_mm),
            file_unit=file_unit,
            unit=unit,
            mm_per_unit=float(unit_mm),
        ),
    )


def _check_lists(vertices, faces, *, name):
    """Refuse lists that no mesh can be made of."""
    if not len(faces):
        raise GeometryError(
            name,
            found="no triangles",
            need="a surface made of triangles",
            do="Export the part as a mesh, not as points or curves.",
        )
    if faces.min() < 0 or faces.max() >= len(vertices):
        raise InputError(
            name,
            found=f"a triangle that names a vertex outside 0 to {len(vertices) - 1}",
            need="triangles over the vertices of the file",
            do="The file is damaged: export it again.",
        )
    n_bad = int(np.count_nonzero(~(np.abs(vertices) < _MAX_COORDINATE).all(axis=1)))
    if n_bad:
        raise InputError(
            name,
            found=f"{n_bad} vertices whose coordinates are not numbers, or beyond reason",
            need=f"coordinates below {_MAX_COORDINATE:g}",
            do="Repair or export the mesh again.",
        )


def _check_extent(extent_mm, *, name):
    """Refuse a part that is flat along a file axis."""
    flat = [axis for axis, side in zip("xyz", extent_mm, strict=True) if side <= 0]
    if flat:
        raise GeometryError(
            name,
            found=f"no size along {' and '.join(flat)}",
            need="a solid body",
            do="Give the part a thickness, or export it as a solid.",
        )
