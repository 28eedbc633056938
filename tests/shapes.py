"""Bodies whose answers are known in closed form.

Each volume, area and trapped volume is exact for the *faceted* body and comes
from elementary formulas, never from the triangles themselves, so a test may
compare to rounding. Lengths are millimetres.

A profile turned about z in n flat steps has a regular n-gon as every level
section: volume 2 k_n M with k_n = (n/2) sin(2 pi/n) and M the profile's first
moment about the axis (the theorem of Pappus has pi for k_n).
"""

import math
from typing import NamedTuple

import manifold3d
import numpy as np

from castplan.part.load import part_from_arrays


class Body(NamedTuple):
    """A closed mesh with its exact answers.

    `trapped_mm3` maps a file axis ("x", "y", "z") to the volume that the body
    closes off both ways along it; an axis without a closed form is left out.
    """

    vertices_mm: np.ndarray  # (n, 3) float64
    faces: np.ndarray  # (m, 3) int32
    volume_mm3: float
    area_mm2: float | None
    trapped_mm3: dict


def polygon_factor(n_sides: int) -> float:
    """Area of a regular n-gon over its circumradius squared."""
    return n_sides / 2 * math.sin(2 * math.pi / n_sides)


def _arrays(solid):
    mesh = solid.to_mesh64()
    return (
        np.array(mesh.vert_properties[:, :3], dtype=np.float64, order="C"),
        np.array(mesh.tri_verts, dtype=np.int32, order="C"),
    )


def _shoelace(profile):
    x, y = np.asarray(profile, dtype=float).T
    cross = x * np.roll(y, -1) - np.roll(x, -1) * y
    return cross, x


def revolved(profile, n_sides: int, trapped_mm3=None) -> Body:
    """Turn a counter-clockwise profile [(r, z), ...] about z in `n_sides` steps."""
    cross, r = _shoelace(profile)
    moment = ((r + np.roll(r, -1)) * cross).sum() / 6
    assert moment > 0, "profile must be counter-clockwise"
    z = np.asarray(profile, dtype=float)[:, 1]
    dr, dz = np.roll(r, -1) - r, np.roll(z, -1) - z
    step = math.pi / n_sides
    slant = np.hypot(dz, dr * math.cos(step))
    area_mm2 = float((n_sides * math.sin(step) * (r + np.roll(r, -1)) * slant).sum())
    return Body(
        *_turned(np.stack((r, z), axis=1), n_sides),
        float(2 * polygon_factor(n_sides) * moment),
        area_mm2,
        trapped_mm3 or {},
    )


def _turned(profile, n_sides):
    """Vertices and faces of a turned profile; points on the axis become one vertex.

    Not manifold3d's own revolve: it rounds the profile to about 1e-9, which would
    hide errors smaller than that.
    """
    angles = 2 * math.pi * np.arange(n_sides) / n_sides
    vertices, rings = [], []
    for r, z in profile:
        n_ring = n_sides if r > 0 else 1
        rings.append(len(vertices) + np.arange(n_sides) % n_ring)
        vertices += [(r * math.cos(t), r * math.sin(t), z) for t in angles[:n_ring]]
    faces = []
    for low, high in zip(rings, rings[1:] + rings[:1], strict=True):
        a, b, c, d = low, np.roll(low, -1), np.roll(high, -1), high
        faces += [np.stack((a, b, c), axis=1), np.stack((a, c, d), axis=1)]
    faces = np.concatenate(faces)
    same = (faces == np.roll(faces, 1, axis=1)).any(axis=1)
    return np.array(vertices), faces[~same].astype(np.int32)


def extruded(profile, length_mm: float, trapped_mm2=None) -> Body:
    """Stretch a counter-clockwise profile [(x, z), ...] along y, centred on y = 0.

    `trapped_mm2` maps "x" and "z" to trapped profile areas.
    """
    cross, _ = _shoelace(profile)
    section_mm2 = float(cross.sum() / 2)
    assert section_mm2 > 0, "profile must be counter-clockwise"
    points = np.asarray(profile, dtype=float)
    rim_mm = float(np.linalg.norm(np.roll(points, -1, axis=0) - points, axis=1).sum())
    solid = manifold3d.CrossSection([points]).extrude(length_mm)
    vertices, faces = _arrays(solid)
    # (u, v, w) -> (x, -y, z): a rotation, so the winding stays outward.
    vertices = np.stack((vertices[:, 0], length_mm / 2 - vertices[:, 2], vertices[:, 1]), axis=1)
    trapped = {axis: area * length_mm for axis, area in (trapped_mm2 or {}).items()}
    trapped["y"] = 0.0
    return Body(
        vertices, faces, section_mm2 * length_mm, 2 * section_mm2 + rim_mm * length_mm, trapped
    )


def box(x_mm=40.0, y_mm=30.0, z_mm=20.0) -> Body:
    """A box centred on the origin."""
    half = np.array([x_mm, y_mm, z_mm]) / 2
    corners = np.array([[i, j, k] for i in (-1, 1) for j in (-1, 1) for k in (-1, 1)]) * half
    quads = [(0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3)]
    faces = [triple for a, b, c, d in quads for triple in ((a, b, c), (a, c, d))]
    area_mm2 = 2 * (x_mm * y_mm + y_mm * z_mm + z_mm * x_mm)
    none = {"x": 0.0, "y": 0.0, "z": 0.0}
    return Body(corners, np.array(faces, dtype=np.int32), x_mm * y_mm * z_mm, area_mm2, none)


def sphere(radius_mm=10.0, n_sides=64) -> Body:
    """A ball of flat facets, poles on z; all vertices on the sphere."""
    angles = np.linspace(-math.pi / 2, math.pi / 2, n_sides // 2 + 1)
    profile = np.stack((radius_mm * np.cos(angles), radius_mm * np.sin(angles)), axis=1)
    profile[[0, -1], 0] = 0.0
    return revolved(profile, n_sides, {"x": 0.0, "y": 0.0, "z": 0.0})


def torus(ring_mm=30.0, tube_mm=10.0, n_ring=96, n_tube=48) -> Body:
    """A ring about z, the tube an n-gon."""
    angles = 2 * math.pi * np.arange(n_tube) / n_tube
    profile = np.stack((ring_mm + tube_mm * np.cos(angles), tube_mm * np.sin(angles)), axis=1)
    return revolved(profile, n_ring, {"z": 0.0})


def frustum(low_radius_mm=20.0, high_radius_mm=10.0, height_mm=30.0, n_sides=64) -> Body:
    """A cone's slice standing on z = 0; `high_radius_mm` 0 gives a cone."""
    profile = [(0, 0), (low_radius_mm, 0), (high_radius_mm, height_mm)]
    if high_radius_mm > 0:
        profile.append((0, height_mm))
    return revolved(profile, n_sides, {"z": 0.0})


def bell(radius_mm=20.0, height_mm=30.0, bore_mm=16.0, depth_mm=24.0, n_sides=64) -> Body:
    """A cup standing on its mouth: bore open at z = 0, `depth_mm` deep."""
    profile = [
        (bore_mm, 0),
        (radius_mm, 0),
        (radius_mm, height_mm),
        (0, height_mm),
        (0, depth_mm),
        (bore_mm, depth_mm),
    ]
    return revolved(profile, n_sides, {"z": 0.0})


def bell_air_mm3(bore_mm=16.0, depth_mm=24.0, n_sides=64) -> float:
    """Air a `bell` keeps when it is pushed down into a liquid, uncompressed."""
    return polygon_factor(n_sides) * bore_mm**2 * depth_mm


def lipped_cup(
    radius_mm=20.0,
    height_mm=30.0,
    bore_mm=16.0,
    lip_mm=12.0,
    floor_mm=4.0,
    lip_height_mm=5.0,
    n_sides=64,
) -> Body:
    """A cup open at the top whose rim has an inner lip of radius `lip_mm`."""
    under_mm = height_mm - lip_height_mm
    profile = [
        (0, 0),
        (radius_mm, 0),
        (radius_mm, height_mm),
        (lip_mm, height_mm),
        (lip_mm, under_mm),
        (bore_mm, under_mm),
        (bore_mm, floor_mm),
        (0, floor_mm),
    ]
    ring_mm2 = polygon_factor(n_sides) * (bore_mm**2 - lip_mm**2)
    return revolved(profile, n_sides, {"z": ring_mm2 * (under_mm - floor_mm)})


def t_slot(
    width_mm=40.0,
    height_mm=30.0,
    length_mm=50.0,
    neck_mm=8.0,
    head_mm=20.0,
    neck_depth_mm=8.0,
    head_depth_mm=7.0,
) -> Body:
    """A block with a T-slot along y, open at the top."""
    w, n, h = width_mm / 2, neck_mm / 2, head_mm / 2
    step_mm = height_mm - neck_depth_mm
    floor_mm = step_mm - head_depth_mm
    profile = [
        (-w, 0),
        (w, 0),
        (w, height_mm),
        (n, height_mm),
        (n, step_mm),
        (h, step_mm),
        (h, floor_mm),
        (-h, floor_mm),
        (-h, step_mm),
        (-n, step_mm),
        (-n, height_mm),
        (-w, height_mm),
    ]
    slot_mm2 = neck_mm * neck_depth_mm + head_mm * head_depth_mm
    return extruded(profile, length_mm, {"z": (head_mm - neck_mm) * head_depth_mm, "x": slot_mm2})


def dovetail(
    width_mm=40.0, height_mm=30.0, length_mm=50.0, mouth_mm=12.0, floor_mm=20.0, depth_mm=10.0
) -> Body:
    """A block with a dovetail groove along y, open at the top."""
    w, m, f = width_mm / 2, mouth_mm / 2, floor_mm / 2
    low_mm = height_mm - depth_mm
    profile = [
        (-w, 0),
        (w, 0),
        (w, height_mm),
        (m, height_mm),
        (f, low_mm),
        (-f, low_mm),
        (-m, height_mm),
        (-w, height_mm),
    ]
    side_mm2 = (floor_mm - mouth_mm) / 2 * depth_mm
    return extruded(profile, length_mm, {"z": side_mm2, "x": (mouth_mm + floor_mm) / 2 * depth_mm})


def staircase(n_steps=4, tread_mm=10.0, rise_mm=6.0, length_mm=30.0) -> Body:
    """Steps going up along +x."""
    profile = [(0, 0), (n_steps * tread_mm, 0), (n_steps * tread_mm, n_steps * rise_mm)]
    for step in range(n_steps - 1, -1, -1):
        profile.append((step * tread_mm, (step + 1) * rise_mm))
        if step:
            profile.append((step * tread_mm, step * rise_mm))
    return extruded(profile, length_mm, {"z": 0.0, "x": 0.0})


def hook(height_mm=60.0, reach_mm=40.0, tip_mm=25.0, thick_mm=8.0, length_mm=20.0) -> Body:
    """A coat hook: back along z, arm along +x, tip up. Traps only along x."""
    profile = [
        (0, 0),
        (reach_mm, 0),
        (reach_mm, tip_mm),
        (reach_mm - thick_mm, tip_mm),
        (reach_mm - thick_mm, thick_mm),
        (thick_mm, thick_mm),
        (thick_mm, height_mm),
        (0, height_mm),
    ]
    inside_mm2 = (reach_mm - 2 * thick_mm) * (tip_mm - thick_mm)
    return extruded(profile, length_mm, {"z": 0.0, "x": inside_mm2})


def _cuboid(x, y, z):
    """A solid from three (low, high) ranges."""
    low, high = np.array([x, y, z], dtype=float).T
    return manifold3d.Manifold.cube(tuple(high - low)).translate(tuple(low))


def two_towers(base_mm=(60.0, 30.0, 10.0), side_mm=16.0, heights_mm=(20.0, 35.0)) -> Body:
    """A base on z = 0 with two square towers, the first at -x; heights above the base."""
    length, width, thick = base_mm
    half = side_mm / 2
    solid = _cuboid((-length / 2, length / 2), (-width / 2, width / 2), (0, thick))
    for middle, height in zip((-length / 4, length / 4), heights_mm, strict=True):
        tower = _cuboid((middle - half, middle + half), (-half, half), (0, thick + height))
        solid = solid + tower
    volume_mm3 = length * width * thick + side_mm**2 * sum(heights_mm)
    area_mm2 = 2 * (length * width + width * thick + thick * length) + 4 * side_mm * sum(heights_mm)
    between_mm3 = (length / 2 - side_mm) * side_mm * min(heights_mm)
    trapped = {"x": between_mm3, "y": 0.0, "z": 0.0}
    return Body(*_arrays(solid), volume_mm3, area_mm2, trapped)


def tray(x_mm=60.0, y_mm=40.0, z_mm=15.0, wall_mm=5.0, floor_mm=4.0) -> Body:
    """A tray standing on z = 0, open at the top."""
    deep_mm = z_mm - floor_mm
    inner = (x_mm - 2 * wall_mm, y_mm - 2 * wall_mm)
    solid = _cuboid((-x_mm / 2, x_mm / 2), (-y_mm / 2, y_mm / 2), (0, z_mm)) - _cuboid(
        (-inner[0] / 2, inner[0] / 2), (-inner[1] / 2, inner[1] / 2), (floor_mm, z_mm + 1)
    )
    hollow_mm3 = inner[0] * inner[1] * deep_mm
    area_mm2 = 2 * (x_mm * y_mm + y_mm * z_mm + z_mm * x_mm) + 2 * sum(inner) * deep_mm
    trapped = {"x": hollow_mm3, "y": hollow_mm3, "z": 0.0}
    return Body(*_arrays(solid), x_mm * y_mm * z_mm - hollow_mm3, area_mm2, trapped)


def cross_hole_plate(x_mm=30.0, y_mm=40.0, z_mm=30.0, radius_mm=8.0, n_sides=48) -> Body:
    """A block with an n-gon hole through along x, at its middle."""
    drill = manifold3d.Manifold.cylinder(2 * x_mm, radius_mm, -1, n_sides, True)
    # z -> x: turn about y, then the n-gon's corners are at +-z.
    drill = drill.rotate((0.0, 90.0, 0.0))
    block = _cuboid((-x_mm / 2, x_mm / 2), (-y_mm / 2, y_mm / 2), (-z_mm / 2, z_mm / 2))
    hole_mm2 = polygon_factor(n_sides) * radius_mm**2
    rim_mm = 2 * n_sides * radius_mm * math.sin(math.pi / n_sides)
    area_mm2 = 2 * (x_mm * y_mm + y_mm * z_mm + z_mm * x_mm) - 2 * hole_mm2 + rim_mm * x_mm
    hole_mm3 = hole_mm2 * x_mm
    trapped = {"x": 0.0, "y": hole_mm3, "z": hole_mm3}
    return Body(*_arrays(block - drill), x_mm * y_mm * z_mm - hole_mm3, area_mm2, trapped)


ALL = {
    maker.__name__: maker
    for maker in (
        box,
        sphere,
        torus,
        frustum,
        bell,
        lipped_cup,
        t_slot,
        dovetail,
        staircase,
        hook,
        two_towers,
        tray,
        cross_hole_plate,
    )
}


def rotation(seed: int) -> np.ndarray:
    """A random rotation (3, 3), evenly spread (Shoemake's unit quaternion)."""
    w, x, y, z = (q := np.random.default_rng(seed).normal(size=4)) / np.linalg.norm(q)
    return np.array(
        [
            [1 - 2 * (y * y + z * z), 2 * (x * y - w * z), 2 * (x * z + w * y)],
            [2 * (x * y + w * z), 1 - 2 * (x * x + z * z), 2 * (y * z - w * x)],
            [2 * (x * z - w * y), 2 * (y * z + w * x), 1 - 2 * (x * x + y * y)],
        ]
    )


def rotated(vertices_mm: np.ndarray, seed: int) -> np.ndarray:
    """Vertices turned by `rotation(seed)`."""
    return vertices_mm @ rotation(seed).T


def scaled(vertices_mm: np.ndarray, factor: float) -> np.ndarray:
    """Vertices times `factor`."""
    return vertices_mm * factor


def mirrored(vertices_mm: np.ndarray, faces: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The body seen in a mirror across x, still with normals outward."""
    return vertices_mm * np.array([-1.0, 1.0, 1.0]), faces[:, ::-1]


def shuffled(vertices_mm: np.ndarray, faces: np.ndarray, seed: int) -> tuple:
    """The same body with vertices, facets and each facet's first corner in another order."""
    rng = np.random.default_rng(seed)
    order = rng.permutation(len(vertices_mm))
    place = np.argsort(order)
    faces = place[faces][rng.permutation(len(faces))]
    turn = rng.integers(0, 3, size=(len(faces), 1))
    faces = np.take_along_axis(faces, (np.arange(3) + turn) % 3, axis=1)
    return vertices_mm[order], faces.astype(np.int32)


def part_of(vertices_mm, faces, name="test"):
    """A `Part` through the function the loader uses."""
    return part_from_arrays(vertices_mm, faces, name=name)
