"""A repaired copy of a mesh: closed, lighter if asked, with a list of what was done.

Small repairs first, which leave every sound facet where it is. Only if the
result is still no solid is the whole surface made anew.
"""

from typing import NamedTuple

import fast_simplification
import manifold3d
import numpy as np

from castplan import units
from castplan.columns import field
from castplan.errors import GeometryError, InputError
from castplan.geometry.level_set import CLOSE_FRACTION, remake
from castplan.part import check, orient, rims
from castplan.part.crossings import count_crossing
from castplan.part.health import SPECK_FRACTION
from castplan.part.load import part_from_arrays
from castplan.part.records import Part
from castplan.texts.told import tell

MIN_TRIANGLES = 100
# How far a level set may move to lose the triangles that flat surface does not
# need, in cells.
_SMOOTHING = 0.05
# More facets than this crossing others, after bodies are united, or more volume
# than this counted twice: no surface to keep.
_MAX_CROSSING_FRACTION = 0.01
_MAX_TWICE_FRACTION = 0.01
_SAMPLED_ACROSS = 128


class Repaired(NamedTuple):
    """The repaired part, and what was done, one sentence each."""

    part: Part
    done: tuple[str, ...]


def repair(part: Part, *, n_triangles: int | None = None, keeps_specks: bool = False) -> Repaired:
    """Make a closed solid of a mesh.

    Parameters
    ----------
    part : Part
    n_triangles : int or None
        Make it lighter: at most about this many.
    keeps_specks : bool
        Keep loose bodies under 1 % of the largest one's area.

    Returns
    -------
    Repaired

    Raises
    ------
    InputError
        `n_triangles` is less than a solid needs.
    GeometryError
        Nothing solid is left.
    """
    if n_triangles is not None and n_triangles < MIN_TRIANGLES:
        raise InputError(
            "--triangles",
            found=f"{n_triangles}",
            need=f"at least {MIN_TRIANGLES}",
            do="Give a larger number.",
        )
    done = list(part.check.changes)
    vertices_mm = part.vertices_mm[: part.check.n_vertices]
    faces, change = _drop_bodies(part, keeps_specks=keeps_specks)
    done += change
    vertices_mm, faces = check.merge_vertices(vertices_mm, _without_doubles(faces, done))
    vertices_mm, faces, change = _fill(vertices_mm, faces)
    done += change
    if n_triangles is not None and len(faces) > n_triangles:
        vertices_mm, faces = _thin(vertices_mm, faces, n_triangles, done)
    solid = _unite(vertices_mm, faces, done)
    if solid is None:
        before_mm3 = _volume_once_mm3(vertices_mm, faces)
        solid, cell_mm = remake(vertices_mm, faces, volume_mm3=before_mm3)
        solid = solid.simplify(_SMOOTHING * cell_mm)
        done += _told_remade(cell_mm, before_mm3, solid.volume())
        if n_triangles is not None and solid.num_tri() > n_triangles:
            solid = _simplify(solid, n_triangles, cell_mm, done)
    if solid.is_empty():
        raise GeometryError(
            part.name,
            found="nothing solid after repairing",
            need="a body",
            do="Scan it again, or give the sheet a --thickness.",
        )
    mesh = solid.to_mesh64()
    repaired = part_from_arrays(
        np.asarray(mesh.vert_properties[:, :3], dtype=np.float64),
        np.asarray(mesh.tri_verts, dtype=np.int64),
        name=part.name,
    )
    return Repaired(repaired, tuple(done))


def _drop_bodies(part, *, keeps_specks):
    """Faces without hidden shells and loose specks."""
    faces = np.asarray(part.faces, dtype=np.int64)
    if part.check.n_bodies == 1:
        return faces, []
    edges = check.edges_of(faces, n_vertices=part.check.n_vertices)
    bodies = orient.find_bodies(
        part.vertices_mm, faces, edges, (part.cap_faces, np.zeros(len(part.cap_faces)))
    )
    is_inner = bodies.adds_nothing
    is_speck = (bodies.depth == 0) & (bodies.area_mm2 < SPECK_FRACTION * bodies.area_mm2.max())
    done = []
    if is_inner.any():
        done.append(tell("mesh_change.dropped_shells", n=int(is_inner.sum())))
    if is_speck.any() and not keeps_specks:
        done.append(tell("mesh_change.dropped_specks", n=int(is_speck.sum())))
    is_dropped = is_inner | (is_speck & (not keeps_specks))
    return faces[~is_dropped[bodies.of_facet]], done


def _without_doubles(faces, done):
    """Faces of which none repeats another with the same sense."""
    first = np.take_along_axis(faces, (faces.argmin(axis=1)[:, None] + np.arange(3)) % 3, axis=1)
    _, kept = np.unique(first, axis=0, return_index=True)
    if len(kept) < len(faces):
        n_dropped = len(faces) - len(kept)
        done.append(tell("mesh_change.dropped_doubles", n=n_dropped, number=f"{n_dropped:,}"))
    return faces[np.sort(kept)]


def _fill(vertices_mm, faces):
    """The surface with every hole closed by a fan."""
    edges = check.edges_of(faces, n_vertices=len(vertices_mm))
    loops = rims.trace_rims(edges, vertices_mm)
    if not loops:
        return vertices_mm, faces, []
    caps = rims.close_rims(vertices_mm, loops)
    area_mm2 = rims.measure_rims(vertices_mm, loops).area_mm2
    said = tell(
        "mesh_change.closed_holes",
        n=len(loops),
        number=f"{len(loops):,}",
        area=units.digits(area_mm2.sum() / 100, 3),
        largest=units.digits(area_mm2.max() / 100, 3),
    )
    return (
        np.concatenate((vertices_mm, caps.middles_mm)),
        np.concatenate((faces, caps.faces)),
        [said],
    )


def _thin(vertices_mm, faces, n_triangles, done):
    """Fewer facets by quadric edge collapse (Garland and Heckbert 1997)."""
    used, local = np.unique(faces, return_inverse=True)
    points, triangles = fast_simplification.simplify(
        np.array(vertices_mm[used]),
        local.reshape(-1, 3).astype(np.int32),
        target_count=n_triangles,
    )
    before, after = f"{len(faces):,}", f"{len(triangles):,}"
    done.append(tell("mesh_change.thinned", before=before, after=after))
    points, triangles = check.merge_vertices(
        np.asarray(points, dtype=np.float64), np.asarray(triangles, dtype=np.int64)
    )
    return points, check.drop_degenerate(triangles)


def _unite(vertices_mm, faces, done):
    """All bodies as one solid, or None if some are no manifold or cross themselves."""
    edges = check.edges_of(faces, n_vertices=len(vertices_mm))
    no_caps = np.zeros((0, 3), dtype=np.int64)
    bodies = orient.find_bodies(vertices_mm, faces, edges, (no_caps, np.zeros(0)))
    faces = np.where(bodies.is_turned[bodies.of_facet, None], faces[:, ::-1], faces)
    # A void belongs to the body round it: they make one solid together.
    solids = []
    for leader in np.unique(bodies.outermost):
        used, local = np.unique(
            faces[bodies.outermost[bodies.of_facet] == leader], return_inverse=True
        )
        mesh = manifold3d.Mesh64(vertices_mm[used], local.reshape(-1, 3).astype(np.uint64))
        solid = manifold3d.Manifold(mesh)
        if solid.status() != manifold3d.Error.NoError or solid.is_empty():
            return None
        solids.append(solid)
    solid = solids[0]
    if len(solids) > 1:
        solid = manifold3d.Manifold.batch_boolean(solids, manifold3d.OpType.Add)
    if _overlaps_itself(solid):
        return None
    n_turned = int(np.count_nonzero(bodies.is_turned))
    if n_turned:
        done.append(tell("mesh_change.turned_closed", n=n_turned))
    if len(solids) > 1:
        done.append(tell("mesh_change.united", bodies=len(solids)))
    return solid


def _overlaps_itself(solid):
    """Whether a surface passes through itself enough to count volume twice."""
    mesh = solid.to_mesh64()
    points = np.array(mesh.vert_properties[:, :3], dtype=np.float64)
    triangles = np.array(mesh.tri_verts, dtype=np.int32)
    n_crossing, n_tested = count_crossing(points, triangles)
    if not n_crossing:
        return False
    twice = abs(_volume_once_mm3(points, triangles) / solid.volume() - 1)
    return n_crossing > _MAX_CROSSING_FRACTION * n_tested or twice > _MAX_TWICE_FRACTION


def _volume_once_mm3(points, triangles):
    """Volume inside a surface, what it holds twice counted once; as sampled."""
    pitch_mm = float(np.ptp(points, axis=0).max()) / _SAMPLED_ACROSS
    triangles = np.asarray(triangles, dtype=np.int32)
    return field.sample(points, triangles, triangles[:0], np.eye(3), pitch_mm=pitch_mm).volume_mm3


def _told_remade(cell_mm, before_mm3, after_mm3):
    """What making the surface anew did, and to the volume."""
    told = [
        tell(
            "mesh_change.remade",
            cell=units.digits(cell_mm, 2),
            before=units.digits(before_mm3 / 1000, 4),
            after=units.digits(after_mm3 / 1000, 4),
        )
    ]
    share = after_mm3 / before_mm3 - 1 if before_mm3 else 0.0
    if abs(share) > CLOSE_FRACTION:
        key = "remade_lost" if share < 0 else "remade_gained"
        told.append(
            tell(
                f"mesh_change.{key}",
                percent=units.digits(100 * abs(share), 2),
                cell=units.digits(cell_mm, 2),
            )
        )
    return told


def _simplify(solid, n_triangles, cell_mm, done):
    """A manifold with fewer triangles; the tolerance grows until they are few enough."""
    tolerance_mm, lighter = 0.02 * cell_mm, solid
    while lighter.num_tri() > n_triangles and tolerance_mm < 20 * cell_mm:
        tolerance_mm *= 1.6
        lighter = solid.simplify(tolerance_mm)
    done.append(
        tell(
            "mesh_change.thinned_within",
            before=f"{solid.num_tri():,}",
            after=f"{lighter.num_tri():,}",
            tolerance=units.digits(tolerance_mm, 2),
        )
    )
    return lighter
