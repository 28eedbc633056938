"""What `castplan check` finds: each fault planted, each counted."""

import numpy as np
import pytest
import shapes
import trimesh
from manifold3d import Manifold

from castplan.part.crossings import count_crossing
from castplan.part.health import examine
from castplan.part.load import part_from_arrays
from castplan.texts import say
from castplan.words.health import health_lines


def joined(*pairs):
    vertices, faces, n = [], [], 0
    for points, triangles in pairs:
        vertices.append(points)
        faces.append(np.asarray(triangles) + n)
        n += len(points)
    return np.concatenate(vertices), np.concatenate(faces)


def ball(radius_mm=20.0, subdivisions=4):
    """An even ball (a subdivided icosahedron), as scanners' meshes are."""
    mesh = trimesh.creation.icosphere(subdivisions=subdivisions, radius=radius_mm)
    return np.array(mesh.vertices), np.array(mesh.faces)


@pytest.mark.parametrize("name", shapes.ALL)
def test_a_sound_body_has_no_fault(name):
    body = shapes.ALL[name]()
    health = examine(shapes.part_of(shapes.rotated(body.vertices_mm, 3), body.faces))
    assert health.holes == ()
    assert [piece.kind for piece in health.bodies] == ["part"]
    assert (health.n_crossing, health.n_zero_area, health.n_duplicates) == (0, 0, 0)
    assert health.n_tested == len(body.faces)


def test_holes_are_measured_largest_first():
    body = shapes.box(40.0, 30.0, 20.0)
    corners = body.vertices_mm[body.faces]
    is_open = (corners[:, :, 2] == 10.0).all(axis=1) | (corners[:, :, 0] == 20.0).all(axis=1)
    # Two sides that meet: one hole round both.
    (hole,) = examine(shapes.part_of(body.vertices_mm, body.faces[~is_open])).holes
    assert hole.rim_length_mm == pytest.approx(2 * 40 + 2 * 20 + 2 * 30)
    # Vector area of the two sides together: the root of the sum of squares.
    assert hole.area_mm2 == pytest.approx(np.hypot(40 * 30, 30 * 20))
    is_open = (np.abs(corners[:, :, 2]) == 10.0).all(axis=1) & (
        corners[:, :, 2].min(axis=1) == corners[:, :, 2].max(axis=1)
    )
    one, two = examine(shapes.part_of(body.vertices_mm, body.faces[~is_open])).holes
    assert one.area_mm2 == pytest.approx(1200.0) and two.area_mm2 == pytest.approx(1200.0)
    assert sorted((one.middle_mm[2], two.middle_mm[2])) == pytest.approx([-10.0, 10.0])


def test_bodies_are_told_apart():
    outer, void = shapes.box(40, 40, 40), shapes.box(20, 20, 20)
    shell, speck = shapes.box(4, 4, 4), shapes.box(1, 1, 1)
    part = shapes.part_of(
        *joined(
            (outer.vertices_mm, outer.faces),
            (void.vertices_mm + np.array([8, 0, 0]), void.faces[:, ::-1]),
            (shell.vertices_mm - np.array([15, 0, 0]), shell.faces),
            (speck.vertices_mm + np.array([60, 0, 0]), speck.faces),
        )
    )
    assert [(piece.kind, piece.n_triangles) for piece in examine(part).bodies] == [
        ("part", 12),
        ("void", 12),
        ("inner shell", 12),
        ("speck", 12),
    ]


def test_doubled_and_flat_facets_are_counted():
    body = shapes.torus()
    # A corner on the middle of an edge, and the flat facet that closes it there.
    faces = body.faces.copy()
    a, b, c = faces[0]
    n = len(body.vertices_mm)
    vertices = np.concatenate((body.vertices_mm, [(body.vertices_mm[a] + body.vertices_mm[b]) / 2]))
    pieces = np.array([[a, n, c], [n, b, c], [a, b, n]])
    faces = np.concatenate((pieces, faces[1:], faces[1:4]))
    health = examine(part_from_arrays(vertices, faces, name="a"))
    assert (health.n_duplicates, health.n_zero_area) == (3, 1)


def test_a_flat_facet_on_its_own_is_dropped():
    body = shapes.torus()
    n = len(body.vertices_mm)
    vertices = np.concatenate((body.vertices_mm, [[0, 0, 0], [1, 0, 0], [2, 0, 0]]))
    part = part_from_arrays(vertices, [*body.faces, [n, n + 1, n + 2]], name="a")
    assert part.check.n_dropped_triangles == 1 and part.check.is_watertight
    assert part.check.n_triangles == len(body.faces)


# -- crossings --------------------------------------------------------------------


def test_two_boxes_that_cross_are_counted_by_hand():
    # A bar through a cube along x: its four long sides of two facets each pass
    # through both walls of the cube, of two facets each; the bar's ends are free.
    cube, bar = shapes.box(20, 20, 20), shapes.box(60, 4, 4)
    # Askew in the plane of the wall, so that every facet of it is met.
    turn = np.radians(10)
    spun = bar.vertices_mm @ np.array(
        [[1, 0, 0], [0, np.cos(turn), -np.sin(turn)], [0, np.sin(turn), np.cos(turn)]]
    )
    vertices, faces = joined((cube.vertices_mm, cube.faces), (spun, bar.faces))
    assert count_crossing(vertices, faces.astype(np.int32)) == (8 + 4, 24)


def test_bodies_that_only_touch_do_not_cross():
    one = shapes.box(20, 20, 20)
    vertices, faces = joined(
        (one.vertices_mm, one.faces), (one.vertices_mm + np.array([20, 3, 3]), one.faces)
    )
    assert count_crossing(vertices, faces.astype(np.int32))[0] == 0


@pytest.mark.parametrize("seed", range(3))
def test_crossings_agree_with_a_search_over_all_pairs(seed):
    import igl

    rng = np.random.default_rng(seed)
    vertices = rng.normal(size=(120, 3))
    faces = np.arange(120, dtype=np.int32).reshape(-1, 3)  # a soup, no shared corners
    corners = vertices[faces]
    is_crossing = np.zeros(len(faces), dtype=bool)
    for i in range(len(faces)):
        for j in range(i):
            # libigl's own test, after Guigue and Devillers 2003.
            a, b = ([corner[None] for corner in corners[k]] for k in (i, j))
            if igl.tri_tri_intersection_test_3d(*a, *b)[0]:
                is_crossing[[i, j]] = True
    n_crossing, n_tested = count_crossing(vertices, faces)
    assert n_tested == len(faces) and n_crossing > 0
    assert n_crossing == is_crossing.sum()


# -- noise ------------------------------------------------------------------------


def roughened(vertices, faces, noise_mm, seed=5):
    """Independent noise along the normals, as trimesh has them."""
    normals = trimesh.Trimesh(vertices, faces, process=False).vertex_normals
    rng = np.random.default_rng(seed)
    return vertices + normals * rng.normal(0, noise_mm, (len(vertices), 1))


def refined(solid, edge_mm):
    """A manifold3d solid with its facets cut finer, flat as they are."""
    mesh = solid.refine_to_length(edge_mm).to_mesh64()
    return np.array(mesh.vert_properties[:, :3]), np.array(mesh.tri_verts, dtype=np.int64)


def plate():
    """A drilled plate with a boss: flat and curved faces."""
    bored = Manifold.cube((60, 40, 10), True) - Manifold.cylinder(20, 8, 8, 64, True)
    return bored + Manifold.cylinder(12, 5, 5, 64).translate((20, 0, 0))


def grown():
    """A lump without any flat face, from a level set."""

    def inside(x, y, z):
        return 20 - np.sqrt(x * x + y * y + z * z) + 3 * np.sin(x / 4) * np.sin(y / 5)

    mesh = Manifold.level_set(inside, (-25, -25, -25, 25, 25, 25), 1.0).to_mesh64()
    return np.array(mesh.vert_properties[:, :3]), np.array(mesh.tri_verts, dtype=np.int64)


def faceted(mesh):
    return np.array(mesh.vertices), np.array(mesh.faces)


CLEAN = {
    "plate": lambda: refined(plate(), 1.0),
    "ball of 32 sides": lambda: refined(Manifold.sphere(20, 32), 2.0),
    "coarse ball": lambda: refined(Manifold.sphere(20, 32), 4.0),
    "rod": lambda: refined(Manifold.cylinder(40, 10, 10, 32), 1.0),
    "icosphere": ball,
    "ball by rows": lambda: faceted(trimesh.creation.uv_sphere(20.0, count=[40, 40])),
    "capsule": lambda: faceted(trimesh.creation.capsule(30, 10, count=[32, 32])),
    "ring": lambda: faceted(trimesh.creation.torus(30, 10, 96, 48)),
    "coarse ring": lambda: faceted(trimesh.creation.torus(30, 10, 36, 18)),
}


@pytest.mark.parametrize("name", CLEAN)
def test_a_clean_body_is_told_no_noise(name):
    vertices, faces = CLEAN[name]()
    assert examine(shapes.part_of(vertices, faces)).noise_mm == 0.0
    # Nor in the 32-bit numbers of an STL file, turned.
    turned = shapes.rotated(vertices, 2).astype(np.float32)
    assert examine(shapes.part_of(turned, faces)).noise_mm == 0.0


@pytest.mark.parametrize("noise_mm", [0.02, 0.05, 0.1])
@pytest.mark.parametrize("made", [ball, CLEAN["ring"], grown])
def test_planted_noise_is_told(made, noise_mm):
    vertices, faces = made()
    health = examine(shapes.part_of(roughened(vertices, faces, noise_mm), faces))
    # A quantile over 2,000 corners: 4 % of spread; the normals themselves lean
    # with the noise, up to a tenth of it.
    assert health.noise_mm == pytest.approx(noise_mm, rel=0.15)


def test_a_scan_whose_flat_was_filled_in_keeps_its_noise():
    # A noisy half ball on a clean flat cut: a third of the corners lie in the plane.
    vertices, faces = refined(Manifold.sphere(20, 200).trim_by_plane((0, 0, 1), 0.0), 1.0)
    noisy = roughened(vertices, faces, 0.05)
    noisy[vertices[:, 2] < 1e-9] = vertices[vertices[:, 2] < 1e-9]
    assert examine(shapes.part_of(noisy, faces)).noise_mm == pytest.approx(0.05, rel=0.2)


def test_a_drawing_tells_no_noise():
    body = shapes.frustum(20.0, 12.0, 30.0, 512)
    assert examine(shapes.part_of(body.vertices_mm, body.faces)).noise_mm is None


def test_resolution_is_the_median_edge():
    vertices, faces = ball(20.0, 3)
    health = examine(shapes.part_of(vertices, faces))
    edges = np.linalg.norm(vertices[faces] - np.roll(vertices[faces], 1, axis=1), axis=2)
    assert health.edge_mm == pytest.approx(np.median(edges), rel=0.02)


def told(part):
    """What is said to matter, and what not."""
    lines = health_lines(part.check, examine(part))
    rest = lines.index(say("health.harmless"))
    return lines[:rest], lines[rest + 1 :]


def test_what_the_plan_depends_on_comes_first():
    vertices, faces = ball()
    rough = roughened(vertices, faces, 0.2)
    speck = shapes.box(0.5, 0.5, 0.5)
    away = np.linalg.norm(vertices[faces].mean(axis=1) - (0.0, 0.0, 20.0), axis=1)
    part = shapes.part_of(
        *joined((rough, faces[away > 9.0]), (speck.vertices_mm + 40.0, speck.faces))
    )
    matters, harmless = told(part)
    assert matters[0] == say("health.matters")
    assert [line.split(":")[0] for line in matters[1:]] == ["Holes", "Bodies", "Noise"]
    assert {line.split(":")[0] for line in harmless} == {
        "Crossings",
        "Joints",
        "Facets",
        "Resolution",
    }


def test_of_a_clean_body_nothing_matters():
    matters, harmless = told(shapes.part_of(*ball()))
    assert matters == [say("health.nothing_matters")] and len(harmless) == 7


def test_one_small_hole_changes_no_amount():
    vertices, faces = ball()
    matters, harmless = told(shapes.part_of(vertices, faces[1:]))
    assert matters == [say("health.nothing_matters")]
    assert any(line.startswith("Holes: 1,") for line in harmless)
