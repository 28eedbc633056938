"""Whether a solid leaves along a way: by voxels of its slices, nothing of castplan.

A voxel is in a solid where its middle lies in the slice there (manifold3d's, asked by
shapely); rays would count films between two walls that touch. Moved out along a way, a
solid meets every voxel of another that stands beyond one of its own in the same row.
"""

import numpy as np
import shapely
import trimesh
from manifold3d import Manifold, Mesh64


def turn_to(way):
    """A rotation (3, 3) whose third row is a way."""
    z = np.asarray(way, dtype=float)
    z = z / np.linalg.norm(z)
    x = np.cross(z, np.eye(3)[int(np.argmin(np.abs(z)))])
    x = x / np.linalg.norm(x)
    return np.stack([x, np.cross(z, x), z])


class Lattice:
    """Voxels square to a way, over the box of some bodies; each row runs along the way."""

    def __init__(self, meshes, way, *, pitch_mm):
        self.turn, self.pitch_mm = turn_to(way), pitch_mm
        points = np.concatenate([mesh.vertices for mesh in meshes]) @ self.turn.T
        # Off the middle: bodies are made about it, and a ray along a facet tells nothing.
        low, high = points.min(axis=0) - 0.37 * pitch_mm, points.max(axis=0) + pitch_mm
        self.axes = [
            np.arange(a, b, pitch_mm) + 0.5 * pitch_mm for a, b in zip(low, high, strict=True)
        ]

    def fill(self, mesh):
        """Which voxels lie in a closed mesh, (n_x, n_y, n_z) bool."""
        x, y, z = self.axes
        points = np.array(mesh.vertices @ self.turn.T, np.float64, order="C")
        solid = Manifold(Mesh64(points, np.array(mesh.faces, np.uint64, order="C")))
        grid = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2)
        inside = np.zeros((len(grid), len(z)), dtype=bool)
        for level, height in enumerate(z):
            rings = [ring for ring in solid.slice(height).to_polygons() if len(ring) > 2]
            for ring in rings:  # holes turn the other way, and lie in what they are holes of
                inside[:, level] ^= shapely.contains_xy(shapely.Polygon(ring), grid)
        return inside.reshape(len(x), len(y), len(z))


def met_mm3(moving, standing, pitch_mm):
    """What of a solid would have to pass another on its way out, mm3."""
    beyond = np.cumsum(standing[:, :, ::-1], axis=2)[:, :, ::-1] > 0
    return float((moving & beyond).sum() * pitch_mm**3)


def as_mesh(solid):
    return trimesh.Trimesh(solid.vertices_mm, solid.faces, process=False)


def blocked_mm3(moving, standing, way, *, pitch_mm):
    """The same of meshes: what is in the way of one as it leaves all others."""
    lattice = Lattice([moving, *standing], way, pitch_mm=pitch_mm)
    others = np.zeros([len(axis) for axis in lattice.axes], dtype=bool)
    for mesh in standing:
        others |= lattice.fill(mesh)
    return met_mm3(lattice.fill(moving), others, pitch_mm)
