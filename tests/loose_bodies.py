"""Bodies that no parting releases, and moulds of them with loose pieces.

Made with manifold3d; volumes are closed forms of boxes and cylinders.
"""

import numpy as np
import trimesh
from manifold3d import Manifold, Mesh64

import castplan

HOLE_MM = 6.0


def box(x, y, z, *, at=(0, 0, 0)):
    return Manifold.cube((float(x), float(y), float(z))).translate(at)


def across(radius_mm, *, at):
    """A cylinder along y that passes every body here."""
    return Manifold.cylinder(90.0, radius_mm, radius_mm, 64).rotate((-90, 0, 0)).translate(at)


def plate_with_cross_hole():
    return box(60, 40, 16) - across(0.5 * HOLE_MM, at=(20, -20, 8))


def lugs_with_pin_hole():
    """Two lugs on a plate with one hole through both."""
    lugs = box(16, 5, 26, at=(10, 0, 0)) + box(16, 5, 26, at=(10, 20, 0))
    return box(40, 30, 6) + lugs - across(0.5 * HOLE_MM, at=(18, -20, 18))


def crossing_holes():
    """A second hole as wide along x, through the first."""
    second = across(0.5 * HOLE_MM, at=(0, -20, 8)).rotate((0, 0, -90)).translate((0, 20, 0))
    return plate_with_cross_hole() - second


def five_holes():
    body = box(90, 40, 16)
    for k in range(5):
        body -= across(2.5, at=(12 + 16 * k, -20, 8))
    return body


def square_hole():
    return box(60, 40, 16) - box(10, 60, 8, at=(20, -10, 4))


def side_pocket(*, high_mm=8.0):
    """A blind pocket 20 wide and 14 deep in the front side."""
    return box(60, 40, 24) - box(20, 15, high_mm, at=(15, -1, 8))


def pockets_on_opposite_sides():
    return side_pocket() - box(12, 15, 6, at=(30, 26, 9))


def t_slot():
    """A slot through the top, wider inside, along x."""
    return box(60, 40, 24) - box(70, 6, 10, at=(-5, 17, 15)) - box(70, 16, 6, at=(-5, 12, 9))


def snap_hook():
    """A stem with a nose 5 mm out over 13 mm of air."""
    stem = box(4, 12, 22, at=(10, 9, 0))
    return box(50, 30, 4) + stem + box(5, 12, 5, at=(13.9, 9, 17))


def countersunk_cross_hole():
    cone = Manifold.cylinder(3.0, 6.0, 3.0, 64).rotate((-90, 0, 0)).translate((20, 0, 8))
    return plate_with_cross_hole() - cone


def plain_plate():
    return box(60, 40, 16)


def mesh_of(body):
    made = body.to_mesh()
    points, faces = np.asarray(made.vert_properties)[:, :3], np.asarray(made.tri_verts)
    return trimesh.Trimesh(points, faces, process=False)


def planned(body, *, mould="loose", **choices):
    """A plan drawn along z, where the body holds."""
    return castplan.plan(mesh_of(body), unit="mm", mould=mould, draw=(0, 0, 1), **choices)


def as_solid(points_mm, faces):
    points = np.array(points_mm, np.float64, order="C")
    return Manifold(Mesh64(points, np.array(faces, np.uint64, order="C")))


def part_of(plan):
    """The part of a plan in its draw frame: points and faces."""
    return plan.part.vertices_mm @ plan.split.draw.frame.rotation.T, plan.part.faces
