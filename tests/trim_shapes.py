"""What trim is made of: plates, rims, posts and holes as manifold3d solids, in mm.

Made by manifold3d alone. Cutters reach `PAST` beyond what they cut, so that no
two faces share a plane by accident.
"""

import math
from typing import NamedTuple

import numpy as np
import trimesh
from manifold3d import CrossSection, JoinType, Manifold, Mesh64, OpType

PAST = 1.0
ROUND = 48  # sides of a round hole or post


class Trim(NamedTuple):
    """A body of trim, as it would be laid on the table: z up.

    `locked_ml` is the void between two surfaces of the body along z, by
    construction: what no split along z releases, and what a good one keeps to.
    None where the shape has no such number of its own. `choices` are fields of
    the job that the shop would give with it. `thickness_mm`: the mesh is one
    side of a sheet, which is to be given this thickness.
    """

    vertices_mm: np.ndarray
    faces: np.ndarray
    locked_ml: float | None
    choices: dict
    thickness_mm: float | None = None


def trim(solid, locked_ml, **choices):
    """A solid as `Trim`."""
    mesh = solid.to_mesh64()
    points = np.array(mesh.vert_properties[:, :3], dtype=float, order="C")
    assert solid.volume() > 0, "an empty body"
    return Trim(points, np.array(mesh.tri_verts, dtype=np.int64), locked_ml, choices)


def rect(x, y, r=0.0):
    """A rectangle about the origin, its corners rounded by r."""
    plain = CrossSection.square((x - 2 * r, y - 2 * r), True)
    return plain.offset(r, JoinType.Round, 2.0, 32) if r else plain


def disc(r, at=(0.0, 0.0), sides=ROUND):
    """A circle about a place."""
    return CrossSection.circle(r, sides).translate(tuple(at))


def slab(section, low, high):
    """A section from one height to another."""
    return section.extrude(high - low).translate((0, 0, low))


def cut(section, low, high):
    """The same as a cutter: past both ends."""
    return slab(section, low - PAST, high + PAST)


def along_x(section, length):
    """A section drawn in (y, z), stretched along x about the middle."""
    turn = np.array([[0.0, 0, 1, -length / 2], [1, 0, 0, 0], [0, 1, 0, 0]])
    return section.extrude(length).transform(turn)


def rod(start, end, r, sides=ROUND):
    """A round bar from one place to another."""
    start, end = np.asarray(start, dtype=float), np.asarray(end, dtype=float)
    way = end - start
    length = float(np.linalg.norm(way))
    turn = trimesh.geometry.align_vectors([0, 0, 1], way / length)[:3, :3]
    return Manifold.cylinder(length, r, r, sides).transform(np.column_stack([turn, start]))


def cone(r_low, r_high, low, high, at=(0.0, 0.0), sides=ROUND):
    """A cone's frustum along z."""
    return Manifold.cylinder(high - low, r_low, r_high, sides).translate((*at, low))


def union(solids):
    """All of them as one."""
    return Manifold.batch_boolean(list(solids), OpType.Add)


def ring_of(profile, sides=96):
    """A profile of (r, z), turned about z."""
    return CrossSection([np.asarray(profile, dtype=float)]).revolve(sides)


def solid_from(points, faces):
    """A solid of a closed surface."""
    made = Manifold(Mesh64(np.array(points, dtype=float), np.array(faces, dtype=np.uint64)))
    assert not made.is_empty(), made.status()
    return made


def grid_places(n_x, n_y, x, y):
    """Middles of n_x by n_y even cells of a rectangle about the origin."""
    xs = (np.arange(n_x) + 0.5) / n_x * x - x / 2
    ys = (np.arange(n_y) + 0.5) / n_y * y - y / 2
    return [(float(a), float(b)) for a in xs for b in ys]


def shell(x, y, z, wall, r=4.0):
    """A box open below: its face at the top, walls all round, all walls `wall` thick."""
    inside = rect(x - 2 * wall, y - 2 * wall, max(r - wall, 0.3))
    return slab(rect(x, y, r), 0, z) - cut(inside, 0, z - wall - PAST)


def flipped(solid):
    """The same the other way up: turned about x."""
    return solid.rotate((180, 0, 0))


def sheet(height, x, y, thick, n=48):
    """A rectangle bent to z = height(x, y), `thick` along z: one interval in each column."""
    gx, gy = np.meshgrid(np.linspace(-x / 2, x / 2, n + 1), np.linspace(-y / 2, y / 2, n + 1))
    low = height(gx, gy)
    top = np.stack([gx, gy, low + thick], axis=-1).reshape(-1, 3)
    base = np.stack([gx, gy, low], axis=-1).reshape(-1, 3)
    skin = grid_faces(n)
    count = (n + 1) ** 2
    edge = np.concatenate(
        [
            np.arange(n),
            n + (n + 1) * np.arange(n),
            count - 1 - np.arange(n),
            (n + 1) * (n - np.arange(n)),
        ]
    )
    after = np.roll(edge, -1)
    wall = np.concatenate(
        [
            np.stack([edge + count, after + count, after], axis=1),
            np.stack([edge + count, after, edge], axis=1),
        ]
    )
    faces = np.concatenate([skin, skin[:, ::-1] + count, wall])
    return solid_from(np.concatenate([top, base]), faces)


def grid_faces(n):
    """Triangles of a lattice of (n + 1) by (n + 1) points, looking up."""
    a = (np.arange(n)[:, None] * (n + 1) + np.arange(n)).ravel()
    b, c, d = a + 1, a + n + 2, a + n + 1
    return np.concatenate([np.stack([a, b, c], axis=1), np.stack([a, c, d], axis=1)])


def bent(solid, curve, edge_mm):
    """A solid with its facets split to `edge_mm` and z moved by curve(x, y)."""

    def move(points):
        points = np.array(points)
        points[:, 2] += curve(points[:, 0], points[:, 1])
        return points

    return solid.refine_to_length(edge_mm).warp_batch(move)


def tube_along(path, r, sides=24):
    """A round tube of radius r along points (n, 3), its ends flat."""
    path = np.asarray(path, dtype=float)
    way = np.gradient(path, axis=0)
    way /= np.linalg.norm(way, axis=1, keepdims=True)
    side = np.cross(way, [0.0, 0.0, 1.0])
    bad = np.linalg.norm(side, axis=1) < 1e-6
    side[bad] = [1.0, 0, 0]
    side /= np.linalg.norm(side, axis=1, keepdims=True)
    over = np.cross(side, way)
    t = 2 * math.pi * np.arange(sides) / sides
    ring = path[:, None] + r * (
        np.cos(t)[None, :, None] * side[:, None] + np.sin(t)[None, :, None] * over[:, None]
    )
    n = len(path)
    faces = []
    for k in range(n - 1):
        a = k * sides + np.arange(sides)
        b = k * sides + (np.arange(sides) + 1) % sides
        faces += [np.stack([a, b, b + sides], 1), np.stack([a, b + sides, a + sides], 1)]
    hub = n * sides
    a, b = np.arange(sides), (np.arange(sides) + 1) % sides
    faces.append(np.stack([b, a, np.full(sides, hub)], 1))
    last = (n - 1) * sides
    faces.append(np.stack([a + last, b + last, np.full(sides, hub + 1)], 1))
    points = np.concatenate([ring.reshape(-1, 3), path[[0]], path[[-1]]])
    made = np.concatenate(faces)
    solid = Manifold(Mesh64(points, made.astype(np.uint64)))
    if solid.volume() < 0:
        solid = Manifold(Mesh64(points, made[:, ::-1].astype(np.uint64)))
    return solid
