"""Volumes and level sections against trimesh and manifold3d."""

import bodies
import numpy as np
import pytest
import shapes
import trimesh

# At 512 columns across an area is off by 5e-4 at most (a thin ring).
SAMPLING = 5e-3
HEIGHTS = (0.13, 0.31, 0.5, 0.72, 0.9)  # shares of the body's height


def section_mm2(field, height_mm):
    """Area of the columns that hold solid at a height."""
    cut = (field.bottom_mm <= height_mm) & (height_mm < field.top_mm)
    return float(np.count_nonzero(cut) * field.cell_mm2)


def trimesh_section_mm2(mesh, height_mm):
    """Area inside trimesh's cut of the facets with a level plane (Green's theorem)."""
    up = (0.0, 0.0, 1.0)
    lines, facet = trimesh.intersections.mesh_plane(mesh, up, (0, 0, height_mm), return_faces=True)
    start, end = lines[:, 0, :2], lines[:, 1, :2]
    # Keep the solid on the left: the facet's normal then points to the right.
    right = np.stack([end[:, 1] - start[:, 1], start[:, 0] - end[:, 0]], axis=1)
    sense = np.sign((right * mesh.face_normals[facet, :2]).sum(axis=1))
    return float(0.5 * (sense * (start[:, 0] * end[:, 1] - end[:, 0] * start[:, 1])).sum())


def fine(vertices_mm, faces):
    pitch_mm = float(np.ptp(vertices_mm, axis=0).max()) / 512
    return bodies.look(vertices_mm, faces, pitch_mm=pitch_mm)


@pytest.mark.parametrize("seed", [None, 1, 2])
@pytest.mark.parametrize(
    "name", ["t_slot", "dovetail", "torus", "lipped_cup", "hook", "cross_hole_plate", "two_towers"]
)
def test_level_sections_have_trimeshs_and_manifolds_area(name, seed):
    body = shapes.ALL[name]()
    vertices = shapes.rotated(body.vertices_mm, seed) if seed else body.vertices_mm
    field = fine(vertices, body.faces)
    mesh = trimesh.Trimesh(vertices, body.faces, process=False)
    solid = bodies.solid_of(vertices, body.faces)
    low, high = vertices[:, 2].min(), vertices[:, 2].max()
    whole_mm2 = float(np.prod(np.ptp(vertices[:, :2], axis=0)))
    for share in HEIGHTS:
        height_mm = low + share * (high - low)
        expected_mm2 = trimesh_section_mm2(mesh, height_mm)
        # The two libraries agree first; manifold3d rounds a slice to about 1e-6.
        assert solid.slice(height_mm).area() == pytest.approx(expected_mm2, rel=1e-5)
        # abs: a section that is only a tip is a few columns.
        assert section_mm2(field, height_mm) == pytest.approx(
            expected_mm2, rel=SAMPLING, abs=5e-4 * whole_mm2
        )


@pytest.mark.parametrize("seed", range(4))
def test_boolean_solids_have_manifolds_volume(seed):
    # Plates, drilled and chamfered by other bodies, all at odd angles.
    rng = np.random.default_rng(seed)
    solid = bodies.solid_of(*bodies.moved(shapes.box(60, 40, 12), (0, 0, 0)))
    for k, (tool, is_cut) in enumerate(
        ((shapes.sphere(9), True), (shapes.frustum(4, 7, 40), True), (shapes.torus(12, 3), False))
    ):
        place = rng.uniform((-20, -12, -4), (20, 12, 4))
        other = bodies.solid_of(*bodies.moved(tool, place, shapes.rotation(50 * seed + k)))
        solid = solid - other if is_cut else solid + other
    vertices, faces = bodies.arrays(solid)
    field = fine(shapes.rotated(vertices, seed + 1), faces)
    assert field.n_unclosed == 0
    assert field.volume_mm3 == pytest.approx(solid.volume(), rel=1e-3)
    mesh = trimesh.Trimesh(vertices, faces, process=False)
    assert mesh.volume == pytest.approx(solid.volume(), rel=1e-9)


def test_bounds_are_the_meshs():
    body = shapes.hook()
    for seed in (1, 2, 3):
        turn = shapes.rotation(seed)
        field = bodies.look(body.vertices_mm, body.faces, turn)
        mesh = trimesh.Trimesh(body.vertices_mm @ turn.T, body.faces, process=False)
        assert np.array([field.low_mm, field.high_mm]) == pytest.approx(mesh.bounds, abs=1e-9)


@pytest.mark.parametrize("name", ["hook", "dovetail", "torus", "cross_hole_plate"])
def test_shadow_is_manifolds_projection(name):
    body = shapes.ALL[name]()
    for seed in (1, 5):
        vertices = shapes.rotated(body.vertices_mm, seed)
        field = fine(vertices, body.faces)
        shadow_mm2 = np.count_nonzero(np.diff(field.first)) * field.cell_mm2
        expected_mm2 = bodies.solid_of(vertices, body.faces).project().area()
        assert shadow_mm2 == pytest.approx(expected_mm2, rel=1e-3)
