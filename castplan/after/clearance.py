"""Setting a mount or a device into the copy: break-through, walls, keep-outs, bed."""

import numpy as np
from manifold3d import Manifold

from castplan.after.records import Breakthrough, Clearance, KeepOut
from castplan.after.walls import find_walls
from castplan.errors import GeometryError, InputError
from castplan.geometry.solid import arrays_of, part_solid
from castplan.materials.fillers import resin_of
from castplan.part.records import Part
from castplan.plan_record import Plan
from castplan.record import record
from castplan.split.thin import THIN_PART_MM, TINY_PART_MM

# Less than this standing out is rounding of the two meshes.
NOTHING_MM3 = 1e-3
ON_MM = 1e-6  # nearer to a surface than this is on it
# Facets of the map: so many along the insert's longest side.
GRAINS = 32
# Round a bed: sides of the ball that the insert is grown by; with more facets
# than this an insert that is not convex takes too long to grow.
BALL_SEGMENTS = 32
MOST_FACETS = 1500
# An edge sharper than this is drawn (assumed).
EDGE_DEG = 25.0


@record
class Setting:
    """How an insert is set into the copy."""

    at_mm: tuple[float, float, float]  # where its origin goes, file axes of the part
    turn_deg: tuple[float, float, float] = (0.0, 0.0, 0.0)  # about x, then y, then z, before
    bed_mm: float = 0.0  # gap round it that is filled with resin
    keeps: tuple = ()  # of (name, low_mm, high_mm), boxes along the file's axes


def set_insert(plan: Plan, insert: Part, setting: Setting) -> Clearance:
    """Set an insert into the copy and see what is left round it.

    Solids by manifold3d's booleans; walls by exact distances from the facets
    of the insert that lie inside the copy. The copy is taken at the mesh's
    size: shrinkage is not applied.

    Parameters
    ----------
    plan : Plan
    insert : Part
        In its own axes.
    setting : Setting

    Returns
    -------
    Clearance

    Raises
    ------
    GeometryError
        Either mesh bounds no solid.
    InputError
        The insert lies outside the copy altogether.
    """
    at_mm, turn_deg, bed_mm = setting.at_mm, setting.turn_deg, setting.bed_mm
    copy = _solid(plan.part)
    body = _solid(insert).transform(_motion(at_mm, turn_deg)).as_original()
    inside = body ^ copy
    if inside.volume() <= NOTHING_MM3:
        raise InputError(
            "--at",
            found="the insert outside the casting",
            need="a place where they overlap",
            do="Give it in the part's own axes, in mm; turns in degrees follow.",
        )
    vertices, faces = arrays_of(copy)
    breaks = tuple(
        _break(piece, vertices, faces)
        for piece in (body - copy).decompose()
        if piece.volume() > NOTHING_MM3
    )
    low, high = np.array(body.bounding_box()).reshape(2, 3)
    facets = _facets_from(inside, body.original_id())
    is_flush = _on_surface(facets, vertices, faces)
    walls = find_walls(
        facets[~is_flush],
        (vertices, faces),
        grain_mm=float((high - low).max()) / GRAINS,
        has_mouth=bool(breaks) or bool(is_flush.any()),
    )
    bed_ml = _bed_mm3(body, copy, bed_mm) / 1000
    return Clearance(
        name=insert.name,
        at_mm=tuple(float(v) for v in at_mm),
        turn_deg=tuple(float(v) for v in turn_deg),
        insert_ml=body.volume() / 1000,
        inside_ml=inside.volume() / 1000,
        breaks=tuple(sorted(breaks, key=lambda piece: -piece.out_mm)),
        flush_mm2=float(_areas(facets[is_flush]).sum()),
        least_wall_mm=None if walls is None else walls.least_mm,
        wall="none" if walls is None else _judged(walls.least_mm - bed_mm),
        wall_at_mm=None if walls is None else tuple(float(v) for v in walls.at_mm),
        points_mm=np.zeros((0, 3)) if walls is None else walls.points_mm[_shown(walls)],
        walls_mm=np.zeros(0) if walls is None else walls.walls_mm[_shown(walls)],
        bed_mm=bed_mm,
        bed_ml=bed_ml,
        bed_g=bed_ml * resin_of(plan.job).density_g_ml.value,
        keeps=tuple(_keep(body, *keep) for keep in setting.keeps),
        outline_mm=_edges(body),
    )


def _judged(left_mm):
    """What a wall so thick is worth."""
    if left_mm <= 0:
        return "cut-through"
    if left_mm < TINY_PART_MM:
        return "too-thin"
    return "thin" if left_mm < THIN_PART_MM else "good"


def _solid(part):
    solid = part_solid(part, np.eye(3))
    if solid is None or solid.is_empty():
        raise GeometryError(
            part.name,
            found="a surface that bounds no solid",
            need="a closed body",
            do="Repair it first: castplan repair --help.",
        )
    return solid


def _motion(at_mm, turn_deg):
    """Turned about x, then y, then z, then moved: (3, 4)."""
    turn = np.eye(3)
    for axis, angle in enumerate(np.radians(turn_deg)):
        i, j = (axis + 1) % 3, (axis + 2) % 3
        step = np.eye(3)
        step[i, i] = step[j, j] = np.cos(angle)
        step[i, j], step[j, i] = -np.sin(angle), np.sin(angle)
        turn = step @ turn
    return np.column_stack([turn, np.asarray(at_mm, dtype=float)])


def _facets_from(solid, original_id):
    """Corners (m, 3, 3) of the facets of a solid that come from one of its makers."""
    mesh = solid.to_mesh64()
    points = np.asarray(mesh.vert_properties)[:, :3]
    faces = np.asarray(mesh.tri_verts).astype(np.int64)
    runs = np.asarray(mesh.run_index).astype(np.int64) // 3
    maker = np.repeat(np.asarray(mesh.run_original_id), np.diff(runs))
    return points[faces[maker == original_id]]


def _break(piece, vertices, faces):
    """One piece that stands out; the farthest of its corners, for it is cut from facets."""
    points, triangles = arrays_of(piece)
    away = _away_mm(points, vertices, faces)
    k = int(np.argmax(np.round(away, 9)))
    corners = points[triangles]
    mouth = _areas(corners)[_on_surface(corners, vertices, faces)].sum()
    return Breakthrough(
        place_mm=tuple(float(v) for v in points[k]),
        out_mm=float(away[k]),
        volume_ml=piece.volume() / 1000,
        mouth_mm2=float(mouth),
    )


def _on_surface(corners, vertices, faces):
    """Which facets (m, 3, 3) lie in a surface, by their corners and middles: (m,) bool."""
    points = np.concatenate([corners.reshape(-1, 3), corners.mean(axis=1)])
    away = _away_mm(points, vertices, faces)
    n = len(corners)
    return (away[: 3 * n].reshape(n, 3).max(axis=1, initial=0.0) < ON_MM) & (away[3 * n :] < ON_MM)


def _away_mm(points, vertices, faces):
    """Distance of points (n, 3) to a surface, (n,)."""
    import igl

    squared, _, _ = igl.point_mesh_squared_distance(
        np.array(points, dtype=np.float64), np.array(vertices), np.array(faces, dtype=np.int64)
    )
    return np.sqrt(squared)


def _areas(corners):
    crossed = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    return 0.5 * np.linalg.norm(crossed, axis=1)


def _shown(walls):
    return np.isfinite(walls.walls_mm)


def _bed_mm3(body, copy, bed_mm):
    """Volume of the gap round the insert inside the copy.

    The insert grown by a ball (Minkowski sum) less the insert. Where it is not
    convex and has many facets, its hull's gap is told instead.
    """
    if bed_mm <= 0:
        return 0.0
    plain = body.simplify(0.02 * bed_mm)
    hull = plain.hull()
    is_convex = hull.volume() - plain.volume() <= 1e-6 * hull.volume()
    if not is_convex and plain.num_tri() > MOST_FACETS:
        plain = hull
    grown = plain.minkowski_sum(Manifold.sphere(bed_mm, BALL_SEGMENTS if is_convex else 16))
    return max(((grown - plain) ^ copy).volume(), 0.0)


def _keep(body, name, low_mm, high_mm):
    low, high = np.asarray(low_mm, dtype=float), np.asarray(high_mm, dtype=float)
    box = Manifold.cube(tuple(high - low)).translate(tuple(low))
    overlap = (body ^ box).volume()
    reach = float(np.linalg.norm(np.array(body.bounding_box()).reshape(2, 3) - low).max())
    away = 0.0 if overlap > NOTHING_MM3 else float(body.min_gap(box, reach + 1.0))
    return KeepOut(
        name=name,
        low_mm=tuple(float(v) for v in low),
        high_mm=tuple(float(v) for v in high),
        overlap_ml=max(overlap, 0.0) / 1000,
        away_mm=away,
        is_touched=overlap > NOTHING_MM3,
    )


def _edges(body):
    """Edges between facets that meet at an angle, (k, 2, 3)."""
    vertices, faces = arrays_of(body)
    corners = vertices[faces]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    normals /= np.maximum(np.linalg.norm(normals, axis=1)[:, None], 1e-30)
    ends = np.sort(np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]]), axis=1)
    of = np.tile(np.arange(len(faces)), 3)
    order = np.lexsort((ends[:, 1], ends[:, 0]))
    first, second = order[0::2], order[1::2]  # closed: every edge has two facets
    bend = (normals[of[first]] * normals[of[second]]).sum(axis=1)
    return vertices[ends[first][bend < np.cos(np.radians(EDGE_DEG))]]
