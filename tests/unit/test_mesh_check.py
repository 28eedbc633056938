"""What a triangle list holds: merging, holes, bodies, turning inside out.

Volumes and counts are closed forms of the bodies made here.
"""

import time

import manifold3d
import numpy as np
import pytest
import shapes
import trimesh

from castplan.errors import GeometryError, InputError
from castplan.part import check
from castplan.part.load import part_from_arrays

# Rounding of a few thousand float64 sums; the guarded values differ by 1e-4 at least.
ROUNDING = 1e-12


def directed_surplus(faces):
    """Uses of every directed edge less uses of its reverse; zeros when closed.

    An independent count, by a dictionary, of what `check` finds by sorting.
    """
    surplus = {}
    for a, b, c in np.asarray(faces).tolist():
        for start, end in ((a, b), (b, c), (c, a)):
            key, sign = ((start, end), 1) if start < end else ((end, start), -1)
            surplus[key] = surplus.get(key, 0) + sign
    return surplus


def assert_caps_close(part):
    assert any(directed_surplus(part.faces).values()), "nothing to close"
    assert not any(directed_surplus(np.concatenate((part.faces, part.cap_faces))).values())
    # Every extra vertex is used, and none of them by the surface.
    n_surface = part.check.n_vertices
    assert part.faces.max() < n_surface
    assert set(part.cap_faces[:, 2]) == set(range(n_surface, len(part.vertices_mm)))
    assert part.check.n_holes == len(part.vertices_mm) - n_surface


@pytest.mark.parametrize("name", shapes.ALL)
def test_closed_forms_hold_however_the_body_lies(name):
    body = shapes.ALL[name]()
    for seed, factor in ((1, 1.0), (2, 0.125), (3, 40.0)):
        vertices_mm = shapes.scaled(shapes.rotated(body.vertices_mm, seed), factor)
        faces = body.faces
        if seed == 2:
            vertices_mm, faces = shapes.mirrored(vertices_mm, faces)
        part = shapes.part_of(*shapes.shuffled(vertices_mm, faces, seed))
        result = part.check
        assert result.volume_mm3 == pytest.approx(body.volume_mm3 * factor**3, rel=ROUNDING)
        assert result.area_mm2 == pytest.approx(body.area_mm2 * factor**2, rel=ROUNDING)
        assert result.is_watertight and result.is_winding_consistent
        assert not result.is_inverted
        assert (result.n_bodies, result.n_holes, result.n_merged_vertices) == (1, 0, 0)
        assert len(part.cap_faces) == 0


@pytest.mark.parametrize("name", shapes.ALL)
def test_two_libraries_agree_with_the_closed_forms(name):
    body = shapes.ALL[name]()
    mesh = trimesh.Trimesh(body.vertices_mm, body.faces, process=False)
    assert mesh.is_watertight
    assert mesh.volume == pytest.approx(body.volume_mm3, rel=ROUNDING)
    assert mesh.area == pytest.approx(body.area_mm2, rel=ROUNDING)
    solid = manifold3d.Manifold(manifold3d.Mesh64(body.vertices_mm, body.faces.astype(np.uint64)))
    assert solid.status() == manifold3d.Error.NoError
    # manifold3d merges what its own tolerance, about 1e-12 of the box, calls one.
    assert solid.volume() == pytest.approx(body.volume_mm3, rel=1e-10)


def test_fine_facets_come_near_the_smooth_bodies():
    # Smooth closed forms: 4/3 pi r^3 and 2 pi^2 R r^2; n flat steps fall short by
    # about (2 pi / n)^2 / 6 a turn, 2e-4 here for each of the two turns.
    ball = shapes.sphere(10.0, 256)
    assert ball.volume_mm3 == pytest.approx(4188.790, rel=5e-4)
    ring = shapes.torus(30.0, 10.0, 256, 256)
    assert ring.volume_mm3 == pytest.approx(59217.626, rel=5e-4)
    assert ring.area_mm2 == pytest.approx(11843.525, rel=5e-4)
    cone = shapes.frustum(20.0, 10.0, 30.0, 512)
    assert cone.volume_mm3 == pytest.approx(21991.149, rel=5e-4)


def test_far_from_the_origin_keeps_its_digits():
    body = shapes.sphere()
    part = shapes.part_of(body.vertices_mm + 1e6, body.faces)
    # Coordinates near 1e6 are rounded to 1e-10 mm, 1e-11 of the radius.
    assert part.check.volume_mm3 == pytest.approx(body.volume_mm3, rel=1e-9)


@pytest.mark.parametrize("name", ["box", "torus", "cross_hole_plate"])
def test_a_body_inside_out_is_turned(name):
    body = shapes.ALL[name]()
    part = shapes.part_of(body.vertices_mm, body.faces[:, ::-1])
    assert part.check.is_inverted
    assert part.check.volume_mm3 == pytest.approx(body.volume_mm3, rel=ROUNDING)
    assert check.volume_mm3(part.vertices_mm, part.faces) > 0


def test_an_open_body_inside_out_is_turned_with_its_caps():
    body = shapes.sphere()
    part = shapes.part_of(body.vertices_mm, body.faces[5:, ::-1])
    assert part.check.is_inverted
    assert_caps_close(part)
    closed = np.concatenate((part.faces, part.cap_faces))
    assert check.volume_mm3(part.vertices_mm, closed) == pytest.approx(part.check.volume_mm3)


def test_a_soup_is_merged_to_the_last_bit():
    body = shapes.torus()
    soup_mm = body.vertices_mm[body.faces].reshape(-1, 3)
    soup_mm[soup_mm == 0.0] *= np.where(np.arange((soup_mm == 0.0).sum()) % 2, 1.0, -1.0)
    assert np.signbit(soup_mm[soup_mm == 0.0]).any(), "no -0.0 to merge"
    part = shapes.part_of(soup_mm, np.arange(len(soup_mm)).reshape(-1, 3))
    assert part.check.n_vertices == len(body.vertices_mm)
    assert part.check.n_merged_vertices == len(soup_mm) - len(body.vertices_mm)
    assert part.check.is_watertight
    assert not np.signbit(part.vertices_mm[part.vertices_mm == 0.0]).any()


def test_a_last_bit_apart_is_joined_and_told():
    body = shapes.box()
    soup_mm = body.vertices_mm[body.faces].reshape(-1, 3)
    soup_mm[0] = np.nextafter(soup_mm[0], np.inf)
    part = shapes.part_of(soup_mm, np.arange(len(soup_mm)).reshape(-1, 3))
    assert part.check.n_vertices == 8 and part.check.is_watertight
    assert tuple(map(str, part.check.changes)) == ("joined 1 corner to another within 0.0004 mm",)


def test_what_is_closed_is_left_as_it_is():
    # Corners nearer to each other than the tolerance, where nothing is open.
    body = shapes.box()
    vertices, faces = body.vertices_mm.copy(), body.faces
    near = np.flatnonzero((vertices == vertices.max(axis=0)).sum(axis=1) == 2)[0]
    corner = np.flatnonzero((vertices == vertices.max(axis=0)).all(axis=1))[0]
    vertices[near] = vertices[corner] - 1e-5 * (vertices[corner] - vertices[near])
    part = shapes.part_of(vertices, faces)
    assert part.check.changes == () and part.check.n_vertices == 8


def test_corners_written_with_other_roundings_are_joined_and_told():
    # A text file with five digits: corners of one place differ in the last.
    body = shapes.torus()
    soup_mm = body.vertices_mm[body.faces].reshape(-1, 3)
    rng = np.random.default_rng(0)
    soup_mm = soup_mm + rng.uniform(-1e-4, 1e-4, soup_mm.shape)
    part = shapes.part_of(soup_mm, np.arange(len(soup_mm)).reshape(-1, 3))
    assert tuple(map(str, part.check.changes)) == (
        "joined 23040 corners to others within 0.0008 mm",
    )
    assert part.check.is_watertight and part.check.n_vertices == len(body.vertices_mm)
    # Moved by 1e-4 mm at most: the area of 11,800 mm2 times that.
    assert part.check.volume_mm3 == pytest.approx(body.volume_mm3, abs=1.2)


def test_points_whose_hashes_collide_stay_apart():
    # The hash can be solved for the last coordinate: any two x, y then collide.
    def before_last(x, y):
        word = np.array([x, y]).view(np.uint64)
        mixed = word[0] * np.uint64(0x9E3779B97F4A7C15)
        mixed = ((mixed ^ mixed >> np.uint64(31)) + word[1]) * np.uint64(0xBF58476D1CE4E5B9)
        return mixed ^ mixed >> np.uint64(31)

    with np.errstate(over="ignore"):
        for x in np.arange(2.0, 50.0):
            word = np.array(3.0).view(np.uint64) + before_last(1.0, 1.0) - before_last(x, 1.0)
            z = np.array([word], dtype=np.uint64).view(np.float64)[0]
            if np.isfinite(z):
                break
    points = np.array([[1.0, 1.0, 3.0], [x, 1.0, z], [1.0, 1.0, 3.0], [0.0, 0.0, 0.0]])
    vertices, faces = check.merge_vertices(points, np.array([[0, 1, 3], [1, 2, 3]]))
    assert len(vertices) == 3
    assert np.array_equal(vertices[faces], points[[[0, 1, 3], [1, 2, 3]]])


def test_the_order_of_the_file_is_kept():
    body = shapes.tray()
    soup_mm = body.vertices_mm[body.faces].reshape(-1, 3)
    first = {}
    for point in soup_mm.tolist():
        first.setdefault(tuple(point), len(first))
    part = shapes.part_of(soup_mm, np.arange(len(soup_mm)).reshape(-1, 3))
    assert [tuple(point) for point in part.vertices_mm.tolist()] == list(first)
    assert np.array_equal(part.vertices_mm[part.faces], body.vertices_mm[body.faces])


def test_facets_that_name_a_corner_twice_are_dropped():
    body = shapes.box()
    lines = np.array([[0, 0, 1], [2, 3, 3], [4, 5, 4], [6, 6, 6]], dtype=np.int32)
    part = shapes.part_of(body.vertices_mm, np.concatenate((lines, body.faces)))
    assert part.check.n_dropped_triangles == 4
    assert part.check.n_triangles == 12
    assert part.check.is_watertight


def test_of_a_facet_held_many_times_two_copies_stay_and_the_rest_is_listed():
    body = shapes.box()
    # The same facet begun at each of its corners, and one the other way round.
    again = np.array([np.roll(body.faces[0], k) for k in range(9)])
    faces = np.concatenate((body.faces, again, body.faces[:1, ::-1]))
    part = shapes.part_of(body.vertices_mm, faces)
    assert part.check.n_triangles == 12 + 1 + 1
    assert "left out 8 facets that the file holds twice" in map(str, part.check.changes)


def test_two_bodies_in_one_place_are_left_as_they_are():
    body = shapes.box()
    part = shapes.part_of(body.vertices_mm, np.concatenate((body.faces, body.faces)))
    assert part.check.n_triangles == 24
    assert part.check.changes == ()


def test_a_vertex_used_only_by_dropped_facets_is_gone():
    body = shapes.box()
    vertices_mm = np.concatenate((body.vertices_mm, [[900.0, 0.0, 0.0]]))
    part = shapes.part_of(vertices_mm, np.concatenate((body.faces, [[8, 8, 0]])))
    assert part.check.n_vertices == 8
    assert part.check.extent_mm == (40.0, 30.0, 20.0)


def test_a_box_without_its_lid_is_closed_by_a_flat_fan():
    body = shapes.box(40.0, 30.0, 20.0)
    is_lid = (body.vertices_mm[body.faces][:, :, 2] == 10.0).all(axis=1)
    assert is_lid.sum() == 2
    part = shapes.part_of(body.vertices_mm, body.faces[~is_lid])
    assert (part.check.n_holes, part.check.n_open_edges, len(part.cap_faces)) == (1, 4, 4)
    assert not part.check.is_watertight and part.check.is_winding_consistent
    assert part.check.volume_mm3 == pytest.approx(24000.0, rel=ROUNDING)
    assert part.check.area_mm2 == pytest.approx(body.area_mm2 - 1200.0, rel=ROUNDING)
    assert part.vertices_mm[-1] == pytest.approx([0.0, 0.0, 10.0])
    assert_caps_close(part)


def test_a_tube_has_two_holes():
    body = shapes.frustum(10.0, 10.0, 30.0, 24)
    corners = body.vertices_mm[body.faces]
    is_end = np.ptp(corners[:, :, 2], axis=1) == 0
    part = shapes.part_of(body.vertices_mm, body.faces[~is_end])
    assert (part.check.n_holes, part.check.n_open_edges) == (2, 48)
    assert part.check.volume_mm3 == pytest.approx(body.volume_mm3, rel=ROUNDING)
    assert_caps_close(part)


@pytest.mark.parametrize("seed", range(5))
def test_caps_close_whatever_is_missing(seed):
    body = shapes.torus()
    kept = np.random.default_rng(seed).random(len(body.faces)) > 0.3
    part = shapes.part_of(*shapes.shuffled(body.vertices_mm, body.faces[kept], seed))
    assert_caps_close(part)


def test_one_facet_turned_over_is_turned_back_and_told():
    body = shapes.sphere()
    faces = body.faces.copy()
    faces[1000] = faces[1000, ::-1]
    part = shapes.part_of(body.vertices_mm, faces)
    assert tuple(map(str, part.check.changes)) == ("turned 1 facet to agree with its neighbours",)
    assert part.check.is_winding_consistent and part.check.is_watertight
    assert part.check.volume_mm3 == pytest.approx(body.volume_mm3, rel=ROUNDING)
    assert np.array_equal(np.sort(part.faces, axis=1), np.sort(body.faces, axis=1))
    assert not any(directed_surplus(part.faces).values())


def test_bodies_are_counted_and_a_void_is_taken_off():
    outer, inner = shapes.box(40.0, 40.0, 40.0), shapes.box(10.0, 10.0, 10.0)
    vertices_mm = np.concatenate((outer.vertices_mm, inner.vertices_mm))
    both = np.concatenate((outer.faces, inner.faces[:, ::-1] + 8))
    part = shapes.part_of(vertices_mm, both)
    assert (part.check.n_bodies, part.check.is_watertight) == (2, True)
    assert part.check.volume_mm3 == pytest.approx(64000.0 - 1000.0, rel=ROUNDING)


@pytest.mark.parametrize(
    ("vertices", "faces", "words"),
    [
        pytest.param(np.zeros((0, 3)), np.zeros((0, 3)), "no triangles", id="nothing"),
        pytest.param(
            [[0, 0, 0], [1, 0, 0], [2, 0, 0]], [[0, 0, 1]], "all shrunk to a line", id="line"
        ),
        pytest.param([[0, 0, 5], [1, 0, 5], [0, 1, 5]], [[0, 1, 2]], "no size along z", id="flat"),
        pytest.param(
            [[0, 0, 0], [1, 0, 1], [0, 1, 1]], [[0, 1, 2]], "encloses no volume", id="tilted sheet"
        ),
        pytest.param(
            [[0, 0, 0], [1, 0, 1], [0, 1, 1]],
            [[0, 1, 2], [2, 1, 0]],
            "encloses no volume",
            id="two-sided sheet",
        ),
    ],
)
def test_what_encloses_nothing_is_refused(vertices, faces, words):
    with pytest.raises(GeometryError, match=words):
        part_from_arrays(vertices, faces, name="test")


@pytest.mark.parametrize("index", [-1, 8])
def test_a_facet_may_only_name_vertices_that_are_there(index):
    body = shapes.box()
    faces = body.faces.copy()
    faces[4, 1] = index
    with pytest.raises(InputError, match="outside 0 to 7"):
        part_from_arrays(body.vertices_mm, faces, name="test")


@pytest.mark.long
def test_a_large_torn_mesh_takes_bounded_time():
    body = shapes.torus(n_ring=600, n_tube=300)
    kept = np.random.default_rng(0).random(len(body.faces)) > 0.35
    start_s = time.process_time()
    part = shapes.part_of(body.vertices_mm, body.faces[kept])
    # Took 0.6 s; anything that loops over the edges in Python takes longer than this.
    assert time.process_time() - start_s < 6.0
    assert part.check.n_open_edges > 200_000
    edges = check.edges_of(
        np.concatenate((part.faces, part.cap_faces)), n_vertices=len(part.vertices_mm)
    )
    assert not edges.surplus.any()


def test_the_callers_arrays_are_left_alone():
    body = shapes.box()
    vertices_mm, faces = body.vertices_mm.copy(), body.faces[:, ::-1].copy()
    shapes.part_of(vertices_mm, faces)
    assert np.array_equal(vertices_mm, body.vertices_mm)
    assert np.array_equal(faces, body.faces[:, ::-1])
    assert vertices_mm.flags.writeable and faces.flags.writeable
