"""From a mesh file to a checked `Part` in millimetres."""

from pathlib import Path

import numpy as np

from castplan import errors, units
from castplan.checks import plain_line
from castplan.errors import GeometryError, InputError, Option
from castplan.part import check, join, orient, rims, size
from castplan.part.close import Closing, check_closing, close_back, facing_of
from castplan.part.plannable import check_plannable
from castplan.part.read import read_lists
from castplan.part.records import MeshCheck, Part
from castplan.part.shell import Shell
from castplan.record import record
from castplan.texts.told import tell

# A closed surface folded flat leaves only rounding, about 1e-16 of its box. The
# thinnest castable sheet, lying across its box, still fills about 1e-4 of it.
_MIN_FILL_FRACTION = 1e-9

# Beyond it the file is damaged, whatever the unit: 1e9 um is a kilometre.
_MAX_COORDINATE = 1e9
# Smaller than an atom: squares of still smaller lengths vanish, and the winding number took 30 s.
_MIN_SIDE_MM = 1e-12

# A hole this large against the surface is the missing side of a scan (a ball
# cut in half: 0.5; a flat show face: 1).
ONE_SIDED_FRACTION = 0.25
# With less than this of the volume in doubt, what lies round a hole closes it.
UNSURE_FRACTION = 0.1


@record
class Reading:
    """How a file is to be read.

    `unit` is that of the coordinates, a key of `units.MM_PER_UNIT` or of
    `units.UNIT_NAMES`. None: the one that the file states (3MF Core
    Specification, attribute ``unit`` of ``model``; millimeter where it is
    absent) or that its format prescribes (GLB: metres; STEP likewise, which
    states its own and is converted). `measured` is a length of the original, as
    `size.parse_measured` reads it: with a unit it corrects the scale, without one
    it sets it.
    """

    unit: str | None = None
    measured: str | None = None
    closing: Closing | None = None  # the back that an open scan is to be given
    # Thin out a binary STL that is too large for memory, down to about so many.
    n_triangles: int | None = None
    is_size_meant: bool = False  # a size that is hard to believe was confirmed


def load_part(path, reading: Reading | None = None, *, unit: str | None = None) -> Part:
    """Read a mesh file to plan on.

    Parameters
    ----------
    path, reading, unit
        As `read_part`.

    Returns
    -------
    Part

    Raises
    ------
    InputError
        As `read_part`, or the size is hard to believe.
    GeometryError
        As `read_part`, or the mesh is only one side of a part.
    ResourceError
        As `read_part`.
    """
    reading = reading or Reading(unit=unit)
    part = read_part(path, reading)
    check_plannable(part, name=Path(path).name, is_size_meant=reading.is_size_meant)
    return part


def read_each(sources, read) -> list[Part]:
    """Parts of several sources; of one that comes again the same part."""
    parts = {}
    keys = [str(each) if isinstance(each, str | Path) else id(each) for each in sources]
    for key, each in zip(keys, sources, strict=True):
        if key not in parts:
            parts[key] = read(each)
    return [parts[key] for key in keys]


def read_part(path, reading: Reading | None = None, *, unit: str | None = None) -> Part:
    """Read a mesh file to look at, whatever its size and however open.

    Nothing outside the file is opened: materials and textures that it names
    are passed over.

    Parameters
    ----------
    path : str or path-like
        One of `read.FORMATS`, told by its suffix.
    reading : Reading, optional
    unit : str, optional
        Where nothing else is to be said of the reading.

    Returns
    -------
    Part
        Named after the file, without folder and suffix.

    Raises
    ------
    InputError
        No such file, not readable as its format, cut off, or the unit is
        missing, unknown or contradicts the file or the measured length.
    GeometryError
        The file holds no body.
    ResourceError
        The file may not be read, or does not fit in memory.
    """
    reading = reading or Reading(unit=unit)
    path, unit, measured, closing = Path(path), reading.unit, reading.measured, reading.closing
    given = None if unit is None else size.known_unit(unit, what=f"--units {unit}")
    length = None if measured is None else size.parse_measured(measured)
    if closing is not None:
        check_closing(closing)
    lists = read_lists(path, n_triangles=reading.n_triangles)
    vertices, faces = lists.vertices, lists.faces
    stated = lists.stated_unit and size.known_unit(lists.stated_unit, what=path.name)
    _check_lists(vertices, faces, name=path.name)
    extent = np.ptp(vertices[faces.ravel()], axis=0)
    if length is not None:
        _check_extent(extent, name=path.name)
    in_file = size.InFile(name=path.name, stated=stated, extent=extent)
    told = size.settle_unit(in_file, given=given, measured=length)
    file_unit = stated or lists.usual_unit
    chosen = told or file_unit
    if chosen is None and length is None:
        raise size.missing_unit(extent, name=path.name)
    unit_mm, changes = units.MM_PER_UNIT.get(chosen, 1.0), ()
    if length is not None:
        factor = size.scale_from(length, extent * unit_mm)
        key = "mesh_change.scale_set" if chosen is None else "mesh_change.scaled"
        if chosen is not None:
            size.check_scale(in_file, length, unit=chosen)
        changes = (tell(key, factor=f"{factor:.5g}", measured=measured),)
        unit_mm *= factor
    del lists
    source = Source(
        unit_mm=unit_mm,
        file_unit=file_unit,
        unit=chosen or "measured",
        closing=closing,
        changes=changes,
    )
    return part_from_arrays(vertices, faces, name=path.stem, source=source)


@record
class Source:
    """What the numbers of a mesh are, and what is to be made of them."""

    unit_mm: float = 1.0  # millimetres in one unit
    file_unit: str | None = None  # that the file states
    unit: str = "mm"
    closing: Closing | None = None  # the back that an open scan is to be given
    changes: tuple[str, ...] = ()  # what was done to the coordinates already


def part_from_arrays(
    vertices: np.ndarray,
    faces: np.ndarray,
    *,
    name: str,
    source: Source | None = None,
) -> Part:
    """Check a triangle list and make a part of it.

    Parameters
    ----------
    vertices : (n, 3) array_like
        In the source's unit.
    faces : (m, 3) array_like of int
    name : str
        Shown to the user.
    source : Source, optional
        Left out, they are millimetres.

    Returns
    -------
    Part
        Equal vertices merged, facets without area in their vertices dropped,
        neighbours agreeing and bodies facing out where that can be told; each
        turn is listed in ``check.changes``.

    Raises
    ------
    InputError
        A coordinate is not finite or beyond 1e9, or a facet names a vertex that is not there.
    GeometryError
        No facets, or they enclose nothing.
    """
    source = source or Source()
    unit_mm, closing = source.unit_mm, source.closing
    vertices = np.asarray(vertices, dtype=np.float64).reshape(-1, 3)
    faces = np.asarray(faces, dtype=np.int64).reshape(-1, 3)
    _check_lists(vertices, faces, name=name)

    n_used = int(np.count_nonzero(np.bincount(faces.ravel(), minlength=1)))
    vertices, faces, n_dropped = _merge(vertices, faces, name=name)
    near_mm = join.tolerance_of(vertices, unit_mm=unit_mm) * unit_mm
    vertices_mm = vertices * unit_mm
    extent_mm = np.ptp(vertices_mm, axis=0)
    if closing is None:  # a flat sheet may be given a thickness
        _check_extent(extent_mm, name=name)

    changes = list(source.changes)
    edges = check.edges_of(faces, n_vertices=len(vertices_mm))
    if edges.surplus.any():
        vertices_mm, faces, edges, n_lost = _join(
            vertices_mm, faces, edges, near_mm, changes, name=name
        )
        n_dropped += n_lost
    # Three copies of a facet use its edges at least three times; sound meshes skip the sort.
    if edges.n_uses.max() > 2:
        n_before, faces = len(faces), check.thin_repeats(faces)
        if len(faces) < n_before:
            changes.append(tell("mesh_change.repeats", n=n_before - len(faces)))
            edges = check.edges_of(faces, n_vertices=len(vertices_mm))
    n_merged = n_used - len(vertices_mm)
    n_nonmanifold = int(np.count_nonzero(edges.n_uses > 2))
    faces, n_agreed = orient.agree(vertices_mm, faces, edges)
    if n_agreed:
        changes.append(tell("mesh_change.turned_facets", n=n_agreed))
        edges = check.edges_of(faces, n_vertices=len(vertices_mm))
    scanned_side = None
    if closing is not None:
        scanned_side = facing_of(vertices_mm, faces)
        vertices_mm, faces, closed = close_back(
            (vertices_mm, faces), rims.trace_rims(edges, vertices_mm), closing, name=name
        )
        changes += closed
        vertices_mm, faces, _ = _merge(vertices_mm, faces, name=name)
        extent_mm = np.ptp(vertices_mm, axis=0)
        _check_extent(extent_mm, name=name)
        edges = check.edges_of(faces, n_vertices=len(vertices_mm))

    shell = Shell(vertices_mm, faces, edges)
    is_inverted = bool(shell.bodies.is_turned.all())
    if shell.bodies.is_turned.any():
        n_turned = int((shell.bodies.is_turned & (shell.bodies.depth == 0)).sum())
        if not is_inverted:
            changes.append(tell("mesh_change.turned_bodies", n=n_turned))
        faces = np.where(shell.bodies.is_turned[shell.bodies.of_facet, None], faces[:, ::-1], faces)
        edges = check.edges_of(faces, n_vertices=len(vertices_mm))
        shell = Shell(vertices_mm, faces, edges)
    volume_mm3 = shell.volume_mm3
    if abs(volume_mm3) <= _MIN_FILL_FRACTION * float(np.prod(extent_mm)):
        raise GeometryError(
            name,
            found="a surface that encloses no volume",
            need="a solid body",
            do=(
                "Give the part a thickness (",
                Option("--thickness"),
                "), and weld corners that should meet.",
            ),
            asks=errors.THICKNESS,
        )
    cap_faces = shell.caps.faces
    if volume_mm3 < 0:
        is_inverted = True
        faces, cap_faces = faces[:, [1, 0, 2]], cap_faces[:, [1, 0, 2]]
    if is_inverted:
        changes.append(tell("mesh_change.turned_all"))
    n_open = int(np.count_nonzero(edges.surplus))
    area_mm2 = float(shell.bodies.area_mm2.sum())
    largest_mm2 = float(shell.holes.area_mm2.max(initial=0.0))
    doubt_mm3 = shell.doubt_mm3(faces)
    # A hole that other bodies close, however large, is no missing side.
    is_one_sided = (
        largest_mm2 > ONE_SIDED_FRACTION * area_mm2
        and doubt_mm3 > UNSURE_FRACTION * abs(volume_mm3)
    )
    return Part(
        # It is shown on paper, in the view and in the terminal.
        name=plain_line(name) or "part",
        vertices_mm=shell.vertices_mm,
        faces=faces,
        cap_faces=cap_faces,
        check=MeshCheck(
            n_triangles=len(faces),
            n_vertices=len(vertices_mm),
            n_merged_vertices=n_merged,
            n_dropped_triangles=n_dropped,
            join_mm=near_mm,
            n_bodies=len(shell.bodies.n_facets),
            n_inner_shells=shell.n_inner,
            n_open_edges=n_open,
            n_nonmanifold_edges=n_nonmanifold,
            n_holes=len(shell.loops),
            hole_mm2=float(shell.holes.area_mm2.sum()),
            largest_hole_mm2=largest_mm2,
            doubt_mm3=doubt_mm3,
            is_watertight=n_open == 0,
            is_one_sided=is_one_sided,
            is_winding_consistent=bool(np.abs(edges.surplus).max() <= 1),
            is_inverted=is_inverted,
            volume_mm3=abs(volume_mm3),
            area_mm2=area_mm2,
            extent_mm=tuple(float(side) for side in extent_mm),
            file_unit=source.file_unit,
            unit=source.unit,
            mm_per_unit=float(unit_mm),
            changes=tuple(changes),
            scanned_side=scanned_side,
        ),
    )


def _join(vertices_mm, faces, edges, near_mm, changes, *, name):
    """Corners and edges that should meet made to meet, and how many facets that cost."""
    joined = join.join(vertices_mm, faces, tolerance=near_mm)
    if not len(joined.faces):
        raise _nothing_left(len(faces), name=name)
    if joined.n_joined:
        changes.append(tell("mesh_change.joined", n=joined.n_joined, near=f"{near_mm:.2g}"))
    if joined.n_split:
        changes.append(tell("mesh_change.split", n=joined.n_split))
    if joined.n_joined or joined.n_split:
        edges = check.edges_of(joined.faces, n_vertices=len(joined.vertices))
    return joined.vertices, joined.faces, edges, joined.n_dropped


def _merge(vertices, faces, *, name):
    """Merged vertices, faces that keep three corners, and how many did not."""
    vertices, faces = check.merge_vertices(vertices, faces)
    n_before = len(faces)
    faces = check.drop_degenerate(faces)
    if not len(faces):
        raise _nothing_left(n_before, name=name)
    if len(faces) < n_before:
        vertices, faces = check.merge_vertices(vertices, faces)  # some are unused now
    return vertices, faces, n_before - len(faces)


def _nothing_left(n_triangles, *, name):
    return GeometryError(
        name,
        found=f"{n_triangles} triangles, all shrunk to a line or a point",
        need="a surface",
        do="Export the part again, or check the exporter's precision.",
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
    flat = [axis for axis, side in zip("xyz", extent_mm, strict=True) if side < _MIN_SIDE_MM]
    if flat:
        is_sheet = len(flat) == 1
        raise GeometryError(
            name,
            found=f"no size along {' and '.join(flat)}",
            need="a solid body",
            do=(
                "Give ",
                Option("--thickness"),
                " for a sheet of one thickness, or export it as a solid.",
            )
            if is_sheet
            else "Export it as a solid.",
            asks=errors.THICKNESS if is_sheet else "",
        )
