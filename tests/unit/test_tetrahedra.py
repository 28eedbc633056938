"""Marching tetrahedra: closed, oriented, and where the values say.

Volumes are closed forms; solids by manifold3d.
"""

import manifold3d
import numpy as np
import pytest

from castplan.geometry.tetrahedra import zero_surface


def solid_of(vertices_mm, faces):
    solid = manifold3d.Manifold(manifold3d.Mesh64(vertices_mm, faces.astype(np.uint64)))
    assert solid.status() == manifold3d.Error.NoError
    return solid


def nodes_in(n):
    return np.stack(np.meshgrid(*[np.arange(n)] * 3, indexing="ij"), -1).reshape(-1, 3)


@pytest.mark.parametrize("is_all", [True, False])
def test_a_ball(is_all):
    nodes = nodes_in(40)
    values = 0.5 * (15 - np.linalg.norm(nodes - 19.3, axis=1))
    kept = values > -1.0 if is_all else np.abs(values) < 1.0
    surface = zero_surface(
        nodes[kept], values[kept], origin_mm=np.array([3.0, 2, 1]), cell_mm=0.5, is_all=is_all
    )
    solid = solid_of(*surface)
    # Chords of about a cell fall short by h^2 / 4 R of the radius: 0.3 % of the volume.
    assert solid.volume() == pytest.approx(4 / 3 * np.pi * 7.5**3, rel=4e-3)
    assert solid.genus() == 0
    away = np.linalg.norm(surface[0] - (np.array([3.0, 2, 1]) + 0.5 * 19.3), axis=1)
    assert away == pytest.approx(7.5, abs=0.02)


def test_noise_is_closed_all_the_same():
    nodes = nodes_in(20)
    values = np.random.default_rng(1).normal(size=len(nodes))
    values[((nodes == 0) | (nodes == 19)).any(axis=1)] = -1.0
    solid = solid_of(*zero_surface(nodes, values, origin_mm=np.zeros(3), cell_mm=1.0, is_all=True))
    # Half the inner nodes are inside; cells about a node weigh it fully on average.
    assert solid.volume() == pytest.approx(0.5 * 18**3, rel=0.1)
