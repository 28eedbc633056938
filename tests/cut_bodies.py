"""Bodies to mould in one and cut open, made by manifold3d, and their plans."""

import manifold3d
import numpy as np
import trimesh

import castplan

# Coarse where the answer does not hang on it.
COARSE = {"pitch_mm": 0.5, "n_directions": 40, "n_attitudes": 40}
RADIUS_MM = 20.0


def ball(radius_mm=RADIUS_MM):
    return manifold3d.Manifold.sphere(radius_mm, 128)


def ellipsoid():
    return ball(1.0).scale((30.0, 18.0, 12.0))


def turned(profile):
    """A body of revolution about z from (radius, height) points."""
    return manifold3d.CrossSection([profile]).revolve(64)


def lipped_cone(lip_mm):
    """A cone 30 wide at its foot, with a lip as wide over a groove all round, 20 at its top."""
    neck = 15 - lip_mm
    return turned(
        [(0, 0), (15, 0), (15, 3), (neck, 4), (neck, 7), (15, 8), (15, 10), (10, 25), (0, 25)]
    )


def knob():
    """A head on a neck on a foot, as a drawer has."""
    return turned(
        [(0, 0), (11, 0), (11, 4), (6, 7), (6, 14), (15, 18), (15, 26), (11, 30), (0, 30)]
    )


def ring():
    return manifold3d.CrossSection.circle(5.0, 48).translate((20.0, 0.0)).revolve(64)


def jar():
    """A ball hollowed through a mouth far narrower than the hollow."""
    mouth = manifold3d.Manifold.cylinder(30.0, 3.0, 3.0, 24)
    outer, inner = (manifold3d.Manifold.sphere(radius_mm, 48) for radius_mm in (20.0, 15.0))
    return outer - inner - mouth


def cup(deep_mm=25.0, wide_mm=16.0):
    block = manifold3d.Manifold.cylinder(32.0, 15.0, 15.0, 96)
    hollow = manifold3d.Manifold.cylinder(deep_mm + 1, wide_mm / 2, wide_mm / 2, 96)
    return block - hollow.translate((0, 0, 32.0 - deep_mm))


def planned(body, **choices):
    mesh = body.to_mesh()
    part = trimesh.Trimesh(
        np.asarray(mesh.vert_properties)[:, :3], np.asarray(mesh.tri_verts), process=False
    )
    return castplan.plan(part, unit="mm", mould="cut", **choices)


def codes(plan, severity="stop"):
    return [finding.code for finding in plan.findings if finding.severity == severity]
