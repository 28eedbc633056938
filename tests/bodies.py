"""Further bodies for the geometric core, and frames to look at them from.

As in `shapes`: volumes and trapped volumes are exact for the faceted body and
come from elementary formulas, never from its triangles. Lengths are
millimetres.
"""

import math

import manifold3d
import numpy as np
import shapes

from castplan.columns import field as columns
from castplan.columns.held import SEALED, UPPER, Held

# Looking along each file axis, as proper rotations (rows are the frame's axes).
ALONG = {
    "x": np.array([[0.0, 1, 0], [0, 0, 1], [1, 0, 0]]),
    "y": np.array([[0.0, 0, 1], [1, 0, 0], [0, 1, 0]]),
    "z": np.eye(3),
}
NO_FACES = np.empty((0, 3), dtype=np.int32)


def look(vertices_mm, faces, rotation=ALONG["z"], *, pitch_mm=None):
    """Column field of a closed surface; 256 columns along its longest side."""
    if pitch_mm is None:
        pitch_mm = float(np.ptp(vertices_mm, axis=0).max()) / 256
    return columns.sample(vertices_mm, faces, NO_FACES, rotation, pitch_mm=pitch_mm)


def joined(*surfaces):
    """Several (vertices, faces) as one list of triangles, nothing welded."""
    starts = np.cumsum([0, *(len(vertices) for vertices, _ in surfaces[:-1])])
    return (
        np.concatenate([vertices for vertices, _ in surfaces]),
        np.concatenate([faces + n for (_, faces), n in zip(surfaces, starts, strict=True)]).astype(
            np.int32
        ),
    )


def inside_out(vertices_mm, faces):
    """The same surface with normals turned round."""
    return vertices_mm, faces[:, ::-1]


def directions(count: int, *, seed: int) -> np.ndarray:
    """Random unit vectors, evenly spread, (count, 3)."""
    rows = np.random.default_rng(seed).normal(size=(count, 3))
    return rows / np.linalg.norm(rows, axis=1)[:, None]


def moved(body, shift_mm, turn=ALONG["z"]):
    """(vertices, faces) of a body turned, then shifted."""
    return body.vertices_mm @ np.asarray(turn).T + np.asarray(shift_mm, dtype=float), body.faces


def cuboid(x, y, z):
    """A manifold3d solid from three (low, high) ranges."""
    low, high = np.array([x, y, z], dtype=float).T
    return manifold3d.Manifold.cube(tuple(high - low)).translate(tuple(low))


def arrays(solid):
    """(vertices, faces) of a manifold3d solid."""
    mesh = solid.to_mesh64()
    return (
        np.array(mesh.vert_properties[:, :3], dtype=np.float64, order="C"),
        np.array(mesh.tri_verts, dtype=np.int32, order="C"),
    )


def solid_of(vertices_mm, faces):
    """A manifold3d solid of a closed surface."""
    return manifold3d.Manifold(
        manifold3d.Mesh64(
            vert_properties=np.array(vertices_mm), tri_verts=np.array(faces, dtype=np.uint64)
        )
    )


def _body(solid, volume_mm3, trapped_mm3):
    return shapes.Body(*arrays(solid), volume_mm3, None, trapped_mm3)


def hollow_box(outer_mm=(40.0, 30.0, 20.0), inner_mm=(24.0, 18.0, 10.0)) -> shapes.Body:
    """A box with a sealed void in its middle."""
    void = shapes.box(*inner_mm)
    vertices, faces = joined(
        moved(shapes.box(*outer_mm), (0, 0, 0)), inside_out(void.vertices_mm, void.faces)
    )
    void_mm3 = math.prod(inner_mm)
    return shapes.Body(
        vertices, faces, math.prod(outer_mm) - void_mm3, None, dict.fromkeys("xyz", void_mm3)
    )


def slot_block(block_mm=(40.0, 30.0, 20.0), depth_mm=25.0, slot_mm=6.0) -> shapes.Body:
    """A block with a blind slot from +x, full width in y, open at +x and at both y sides."""
    x, y, z = block_mm
    solid = cuboid((0, x), (0, y), (0, z)) - cuboid(
        (x - depth_mm, x + 1), (-1, y + 1), (z / 2 - slot_mm / 2, z / 2 + slot_mm / 2)
    )
    slot_mm3 = depth_mm * slot_mm * y
    return _body(solid, math.prod(block_mm) - slot_mm3, {"z": slot_mm3})


def bored_block(block_mm=(40.0, 30.0, 20.0), depth_mm=25.0, bore_mm=(12.0, 6.0)) -> shapes.Body:
    """A block with a blind square hole from +x; `bore_mm` is its width in y and in z."""
    x, y, z = block_mm
    wide, high = bore_mm
    solid = cuboid((0, x), (0, y), (0, z)) - cuboid(
        (x - depth_mm, x + 1),
        (y / 2 - wide / 2, y / 2 + wide / 2),
        (z / 2 - high / 2, z / 2 + high / 2),
    )
    bore_mm3 = depth_mm * wide * high
    return _body(solid, math.prod(block_mm) - bore_mm3, {"y": bore_mm3, "z": bore_mm3})


def chain(ring_mm=20.0, tube_mm=4.0) -> shapes.Body:
    """Two links, one through the other: no draw frees both."""
    link = shapes.torus(ring_mm, tube_mm, n_ring=64, n_tube=24)
    vertices, faces = joined(
        moved(link, (0, 0, 0)), moved(link, (ring_mm, 0, 0), [[1, 0, 0], [0, 0, -1], [0, 1, 0]])
    )
    return shapes.Body(vertices, faces, 2 * link.volume_mm3, None, {})


def notched_tray(
    size_mm=(60.0, 40.0, 15.0), wall_mm=5.0, floor_mm=4.0, notch_mm=(10.0, 9.0)
) -> shapes.Body:
    """A tray on z = 0 whose +x wall has a notch: its width, and the height of its sill."""
    x, y, z = size_mm
    wide, sill = notch_mm
    hollow = ((wall_mm, x - wall_mm), (wall_mm, y - wall_mm), (floor_mm, z + 1))
    notch = ((x - wall_mm, x + 1), (y / 2 - wide / 2, y / 2 + wide / 2), (sill, z + 1))
    solid = cuboid((0, x), (0, y), (0, z)) - cuboid(*hollow) - cuboid(*notch)
    hollow_mm3 = (x - 2 * wall_mm) * (y - 2 * wall_mm) * (z - floor_mm)
    volume_mm3 = x * y * z - hollow_mm3 - wall_mm * wide * (z - sill)
    return _body(solid, volume_mm3, {"z": 0.0})


def u_rod(arms_mm=(30.0, 45.0), thick_mm=8.0, gap_mm=14.0, floor_mm=6.0) -> shapes.Body:
    """A square U standing on its bend: two arms of unequal height, along +z, apart in x."""
    low, high = arms_mm
    a, b = thick_mm, thick_mm + gap_mm
    profile = [
        (0, 0),
        (b + thick_mm, 0),
        (b + thick_mm, high),
        (b, high),
        (b, floor_mm),
        (a, floor_mm),
        (a, low),
        (0, low),
    ]
    return shapes.extruded(profile, thick_mm, {"z": 0.0})


def posts(heights_mm=(8.0, 14.0, 11.0, 20.0), side_mm=6.0, step_mm=15.0, base_mm=5.0):
    """Square posts in a row along x on a common base that stands on z = 0."""
    length = step_mm * len(heights_mm)
    solid = cuboid((0, length), (0, step_mm), (0, base_mm))
    middle = step_mm / 2
    for k, height in enumerate(heights_mm):
        x = (k + 0.5) * step_mm
        solid += cuboid(
            (x - side_mm / 2, x + side_mm / 2),
            (middle - side_mm / 2, middle + side_mm / 2),
            (0, base_mm + height),
        )
    volume_mm3 = length * step_mm * base_mm + side_mm**2 * sum(heights_mm)
    return _body(solid, volume_mm3, {"y": 0.0, "z": 0.0})


def polygon_moment_mm3(profile, *, n_sides: int) -> float:
    """Volume inside a turned polyline [(r, z), ...] rising in z: stacked n-gon frusta."""
    r, z = np.asarray(profile, dtype=float).T
    sections = (r[:-1] ** 2 + r[:-1] * r[1:] + r[1:] ** 2) / 3
    return float(shapes.polygon_factor(n_sides) * (sections * np.diff(z)).sum())


def loose(gaps):
    """Gaps as they are without a parting: each open one the upper half's."""
    sealed = (gaps.n_mouths == 0)[gaps.pocket] if gaps.column.size else np.zeros(0, bool)
    return Held(gaps=gaps, half=np.where(sealed, SEALED, UPPER).astype(np.int8))


def random_field(*, seed: int, n_x=9, n_y=8, is_whole=True, max_intervals=3):
    """A field of random intervals, whole heights (all ties) or not; margin empty."""
    rng = np.random.default_rng(seed)
    first, bottom, top = [0], [], []
    for column in range(n_x * n_y):
        row, i = divmod(column, n_x)
        is_margin = row in (0, n_y - 1) or i in (0, n_x - 1)
        n = 0 if is_margin else int(rng.integers(0, max_intervals + 1))
        ends = rng.permutation(10)[: 2 * n] if is_whole else 10 * rng.random(2 * n)
        ends = np.sort(ends).astype(float)
        bottom += ends[0::2].tolist()
        top += ends[1::2].tolist()
        first.append(len(bottom))
    return columns.ColumnField(
        rotation=np.eye(3),
        pitch_mm=1.0,
        u0_mm=0.0,
        v0_mm=0.0,
        n_x=n_x,
        n_y=n_y,
        first=np.array(first, dtype=np.int64),
        bottom_mm=np.array(bottom),
        top_mm=np.array(top),
        low_mm=np.array([1.0, 1.0, 0.0]),
        high_mm=np.array([n_x - 1.0, n_y - 1.0, 10.0]),
        n_unclosed=0,
        is_doubtful=np.zeros(n_x * n_y, dtype=bool),
    )


def joins(field):
    """Pairs of intervals of neighbouring columns that overlap: (k, 2), by comparing all."""
    n = field.top_mm.size
    row, i = np.divmod(field.column_of, field.n_x)
    one, two = np.triu_indices(n, 1)
    near = np.abs(row[one] - row[two]) + np.abs(i[one] - i[two]) == 1
    meet = np.minimum(field.top_mm[one], field.top_mm[two]) > np.maximum(
        field.bottom_mm[one], field.bottom_mm[two]
    )
    return np.stack([one, two], axis=1)[near & meet]


def frame_up(direction):
    """A rotation (3, 3) whose third row is the direction."""
    z = np.asarray(direction, dtype=float) / np.linalg.norm(direction)
    x = np.cross(np.eye(3)[np.argmin(np.abs(z))], z)
    x /= np.linalg.norm(x)
    return np.stack([x, np.cross(z, x), z])
