"""Bodies whose mould a mould maker names at sight, made by manifold3d, mm.

Beside each body stand the kinds that an experienced hand would make of it (common
practice, no source); where several stand, either would do.
"""

from itertools import pairwise

import cut_bodies
import loose_bodies
import numpy as np
import trimesh
from manifold3d import Manifold, OpType

BALL_MM, BAR_MM = 12.0, 5.0


def half_ball():
    return Manifold.sphere(20.0, 96).trim_by_plane((0, 0, 1), 0.0)


def dumb_bell():
    ends = [Manifold.sphere(BALL_MM, 64).translate((x, 0, 0)) for x in (-24.0, 24.0)]
    bar = Manifold.cylinder(48.0, BAR_MM, BAR_MM, 64).rotate((0, 90, 0))
    return ends[0] + ends[1] + bar.translate((-24, 0, 0))


def pinned_plate():
    """With a hole across each way, or it could lie on its edge with the hole upright."""
    pin = Manifold.cylinder(200.0, 3.0, 3.0, 64)
    holes = pin.rotate((90, 0, 0)).translate((42.0, 100.0, 7.0))
    holes += pin.rotate((0, 90, 0)).translate((-100.0, 18.0, 7.0))
    return Manifold.cube((60.0, 36.0, 14.0)) - holes


def slanting_holes():
    """A plate with a hole across at 35 degrees and one across the other way, out of its top."""
    pin = Manifold.cylinder(200.0, 2.5, 2.5, 48, True)
    holes = pin.rotate((0, 55, 0)).translate((20.0, 12.0, 8.0))
    holes += pin.rotate((90, 0, 0)).rotate((0, 0, 20)).translate((48.0, 18.0, 8.0))
    return Manifold.cube((64.0, 36.0, 16.0)) - holes


def crossed_knob():
    """A turned knob with a hole across its neck."""
    pin = Manifold.cylinder(80.0, 2.0, 2.0, 48, True).rotate((90, 0, 0))
    return cut_bodies.knob() - pin.translate((0, 0, 10))


def dovetail_back():
    """A flat back that is narrower than the face: draft the wrong way, 8 mm a side."""
    return Manifold.hull_points(
        np.array(
            [
                (x * s, y * s, z)
                for z, s in ((0, 1.0), (14, 1.6))
                for x in (-14, 14)
                for y in (-9, 9)
            ],
            dtype=float,
        )
    )


def tube():
    return Manifold.cylinder(60.0, 12.0, 12.0, 96) - Manifold.cylinder(60.0, 9.0, 9.0, 96)


def u_bend():
    """A round bar bent to a U."""
    bar = Manifold.cylinder(40.0, 6.0, 6.0, 48).rotate((90, 0, 0))
    ring = trimesh.creation.torus(20.0, 6.0, major_sections=64, minor_sections=48)
    bend = _solid(ring) ^ Manifold.cube((80.0, 60.0, 20.0), True).translate((0, 30.0, 0))
    return bend + bar.translate((20, 0.5, 0)) + bar.translate((-20, 0.5, 0))


def spring():
    """Two and a half turns of wire."""
    turns = np.linspace(0, 5 * np.pi, 120)
    path = np.column_stack([14 * np.cos(turns), 14 * np.sin(turns), 12 * turns / (2 * np.pi)])
    balls = [Manifold.sphere(3.0, 16).translate(tuple(p)) for p in path]
    return Manifold.batch_boolean(
        [Manifold.batch_hull([a, b]) for a, b in pairwise(balls)],
        OpType.Add,
    )


def lattice():
    bars = [
        Manifold.cube((44.0, 4.0, 4.0)).translate((0, 20.0 * j, 20.0 * k))
        for j in range(3)
        for k in range(3)
    ]
    along = Manifold.batch_boolean(bars, OpType.Add)
    turned = along.rotate((0, 0, 90)).translate((44.0, 0, 0))
    return along + turned + along.rotate((0, -90, 0)).translate((44.0, 0, 0))


def ball():
    return Manifold.sphere(15.0, 64)


def egg():
    return Manifold.sphere(1.0, 96).scale((12.0, 12.0, 17.0))


def lipped_cone():
    """A lip that the silicone stretches over."""
    return cut_bodies.lipped_cone(1.0)


def deep_cup():
    return cut_bodies.cup()


def ribbed_tray():
    """A flat tray with a rim: hollow at the top, flat below."""
    return Manifold.cube((80.0, 50.0, 15.0)) - Manifold.cube((72.0, 42.0, 12.0)).translate(
        (4, 4, 3)
    )


def rosette():
    """A flat-backed turned ornament."""
    return cut_bodies.turned(
        [(0, 0), (30, 0), (30, 3), (26, 6), (22, 4), (16, 9), (8, 6), (5, 12), (0, 13)]
    )


def snap_hook():
    return loose_bodies.snap_hook()


def _solid(mesh):
    return loose_bodies.as_solid(mesh.vertices, mesh.faces)


def mesh_of(body):
    made = body.to_mesh64()
    points, faces = np.array(made.vert_properties)[:, :3], np.array(made.tri_verts, np.int64)
    return points, faces


BODIES = {
    "half ball on its flat": (half_ball, ("open",)),
    "dumb-bell": (dumb_bell, ("two-part",)),
    "plate with crossing holes": (pinned_plate, ("loose",)),
    "plate with slanting holes": (slanting_holes, ("loose",)),
    "knob": (cut_bodies.knob, ("cut", "two-part", "open")),
    # Parted along its axis the hole is drawn with a half.
    "knob with a cross hole": (crossed_knob, ("loose", "two-part")),
    "snap hook": (snap_hook, ("loose", "two-part", "open")),  # its catch is within the stretch
    "t-slot": (loose_bodies.t_slot, ("loose", "two-part")),
    "side pocket": (loose_bodies.side_pocket, ("two-part", "open", "loose")),
    "lugs with a pin hole": (loose_bodies.lugs_with_pin_hole, ("two-part", "loose")),
    "back narrower than the face": (dovetail_back, ("open", "two-part")),
    "ring": (cut_bodies.ring, ("two-part",)),
    "tube": (tube, ("two-part",)),
    "ball": (ball, ("two-part", "cut")),
    "egg": (egg, ("two-part", "cut")),
    "cone with a lip of 1 mm": (lipped_cone, ("open", "cut")),
    "deep cup": (deep_cup, ("open", "two-part")),
    "tray": (ribbed_tray, ("open", "two-part")),  # two where its floor is what is seen
    "rosette": (rosette, ("open",)),
    "jar": (cut_bodies.jar, ("two-part", "cut")),
    "U-bend": (u_bend, ("two-part",)),
    "spring": (spring, ("two-part",)),
    "lattice": (lattice, ("two-part", "loose")),
}
