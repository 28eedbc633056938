"""Corners and edges that should meet: joined, and what is really open left open.

Volumes are closed forms; the step of a number is IEEE 754's.
"""

import manifold3d
import numpy as np
import pytest
import shapes
import trimesh

from castplan.part.load import part_from_arrays, read_part

# Judges: trimesh and manifold3d, which share no code with castplan, say whether
# what came out is closed; volumes are closed forms of `shapes`.

NAMES = ["box", "sphere", "torus", "lipped_cup", "t_slot", "bell", "cross_hole_plate", "hook"]
# Bodies of 40 to 80 mm whose corners move by 1e-6 of their size change their
# volume by less than that times area over volume times size, below 30 for all.
MOVED = 3e-5


def soup_of(body):
    """Every facet's corners on their own, as STL has them: (3 m, 3)."""
    return np.array(body.vertices_mm[body.faces].reshape(-1, 3))


def part_of_soup(soup, **options):
    return part_from_arrays(soup, np.arange(len(soup)).reshape(-1, 3), name="soup", **options)


def assert_closed(part):
    """By the project's word, by trimesh's and by manifold3d's."""
    assert part.check.is_watertight and part.check.n_open_edges == 0
    mesh = trimesh.Trimesh(part.vertices_mm, part.faces, process=False)
    assert mesh.is_watertight and mesh.is_winding_consistent
    solid = manifold3d.Manifold(
        manifold3d.Mesh64(np.array(part.vertices_mm), np.array(part.faces, dtype=np.uint64))
    )
    assert solid.status() == manifold3d.Error.NoError
    assert part.check.volume_mm3 == pytest.approx(mesh.volume, rel=1e-9)
    assert part.check.volume_mm3 == pytest.approx(solid.volume(), rel=1e-6)


@pytest.mark.parametrize("share", [1e-9, 1e-8, 1e-7, 1e-6])
@pytest.mark.parametrize("moved", [0.02, 1.0])
@pytest.mark.parametrize("name", NAMES)
def test_corners_moved_a_little_meet(name, moved, share):
    body = shapes.ALL[name]()
    soup = soup_of(body)
    rng = np.random.default_rng(len(name))
    size = float(np.ptp(soup, axis=0).max())
    is_moved = rng.random(len(soup)) < moved
    soup[is_moved] += rng.uniform(-share, share, (is_moved.sum(), 3)) * size
    part = part_of_soup(soup)
    assert_closed(part)
    assert part.check.n_vertices == len(body.vertices_mm)
    assert part.check.volume_mm3 == pytest.approx(body.volume_mm3, rel=MOVED)


@pytest.mark.parametrize(("unit", "per_mm"), [("mm", 1.0), ("in", 1 / 25.4), ("m", 1e-3)])
@pytest.mark.parametrize("name", NAMES)
def test_bodies_turned_facet_by_facet_in_single_precision_meet(tmp_path, name, unit, per_mm):
    # Each facet's corners are turned by themselves in 32-bit numbers, as a
    # program does that keeps its facets apart: the last digits differ.
    body = shapes.ALL[name]()
    turn = shapes.rotation(4).astype(np.float32)
    rng = np.random.default_rng(1)
    soup = (soup_of(body) * per_mm).astype(np.float32)
    there = soup @ turn.T
    steps = rng.integers(-1, 2, there.shape)
    written = np.where(steps > 0, np.nextafter(there, np.float32(np.inf)), there)
    path = tmp_path / "part.stl"
    mesh = trimesh.Trimesh(written, np.arange(len(written)).reshape(-1, 3), process=False)
    path.write_bytes(mesh.export(file_type="stl"))
    part = read_part(path, unit=unit)
    assert part.check.n_vertices == len(body.vertices_mm)
    assert_closed(part)
    assert part.check.volume_mm3 == pytest.approx(body.volume_mm3, rel=MOVED)


def test_far_from_its_origin_the_step_of_the_format_counts():
    # 40 mm at 20 m from the origin: 32-bit numbers there step by 2^-9 mm.
    body = shapes.torus()
    soup = (soup_of(body) + 20_000.0).astype(np.float32)
    moved = soup.copy()
    is_moved = np.random.default_rng(2).random(len(soup)) < 0.3
    moved[is_moved] = np.nextafter(moved[is_moved], np.float32(np.inf))
    part = part_of_soup(moved)
    assert part.check.join_mm == pytest.approx(4 * 2.0**-23 * np.abs(moved).max())
    assert part.check.is_watertight
    # In double precision such numbers step by 4e-12 mm: the size counts, 80 mm.
    assert part_of_soup(moved.astype(np.float64) + 1e-9).check.join_mm == pytest.approx(
        8e-4, rel=1e-3
    )


@pytest.mark.parametrize("size_mm", [5.0, 60.0, 600.0, 1900.0])
def test_a_slit_of_a_twentieth_of_a_millimetre_stays_open(size_mm):
    # A box of which a strip of the top is missing, from side to side.
    slit_mm = 0.05
    half = 0.5 * size_mm
    body = shapes.box(size_mm, size_mm, half)
    sides = body.faces[(body.vertices_mm[body.faces][:, :, 2] < half / 2 - 1e-9).any(axis=1)]
    near, far = -0.5 * slit_mm, 0.5 * slit_mm
    z = half / 2
    top = np.array(
        [
            [[-half, -half, z], [half, -half, z], [half, near, z], [-half, near, z]],
            [[-half, far, z], [half, far, z], [half, half, z], [-half, half, z]],
        ]
    )
    vertices = np.concatenate((body.vertices_mm, top.reshape(-1, 3)))
    strips = np.array([[0, 1, 2], [0, 2, 3], [4, 5, 6], [4, 6, 7]]) + len(body.vertices_mm)
    part = part_from_arrays(vertices, np.concatenate((sides, strips)), name="slit")
    assert not part.check.is_watertight and part.check.n_holes == 1
    assert part.check.hole_mm2 == pytest.approx(slit_mm * size_mm, rel=1e-6)


def test_facets_that_collapse_leave_no_hole():
    # Corners doubled by a hair: slivers a micrometre wide between them.
    body = shapes.sphere()
    vertices, faces = trimesh.remesh.subdivide(body.vertices_mm, body.faces)
    for k in range(0, len(vertices), 9):
        a, b = faces[np.any(faces == k, axis=1)][0][faces[np.any(faces == k, axis=1)][0] != k]
        # Edge a-b's far corner k is split in two; the facet between them has next to no area.
        near = vertices[k] + 1e-5 * (vertices[a] - vertices[k])
        vertices = np.concatenate((vertices, [near]))
        of_k = np.flatnonzero((faces == k).any(axis=1) & ~(faces == b).any(axis=1))
        faces = faces.copy()
        faces[of_k] = np.where(faces[of_k] == k, len(vertices) - 1, faces[of_k])
    part = part_from_arrays(vertices, faces, name="slivers")
    assert_closed(part)
    assert part.check.volume_mm3 == pytest.approx(body.volume_mm3, rel=1e-5)


# -- edges along each other -------------------------------------------------------------


def faced_box(counts):
    """A box of 60 x 40 x 20 whose six sides are grids of their own, (n, n) cells each."""
    pieces = []
    size = np.array([60.0, 40.0, 20.0])
    for (axis, sign), n in zip(
        [(axis, sign) for axis in range(3) for sign in (-1, 1)], counts, strict=True
    ):
        u, v = (axis + 1) % 3, (axis + 2) % 3
        steps = np.linspace(-0.5, 0.5, n + 1)
        p = np.zeros((n + 1, n + 1, 3))
        p[..., axis] = sign * 0.5
        p[..., u], p[..., v] = steps[:, None], steps[None, :]
        a, b, c, d = p[:-1, :-1], p[1:, :-1], p[1:, 1:], p[:-1, 1:]
        cells = np.stack((a, b, c, a, c, d), axis=2).reshape(-1, 3, 3)
        pieces.append((cells if sign > 0 else cells[:, ::-1]) * size)
    return np.concatenate(pieces).reshape(-1, 3)


@pytest.mark.parametrize(
    "counts", [(1, 1, 1, 1, 1, 8), (1, 5, 1, 1, 8, 1), (3, 4, 5, 7, 2, 6), (1, 1, 40, 1, 1, 1)]
)
@pytest.mark.parametrize("seed", [0, 3])
def test_sides_of_other_fineness_are_closed(counts, seed):
    soup = faced_box(counts)
    if seed:
        soup = shapes.rotated(soup, seed).astype(np.float32)
    part = part_of_soup(soup)
    assert_closed(part)
    assert part.check.n_holes == 0 and part.check.doubt_mm3 == 0.0
    # 60 x 40 x 20; 32-bit numbers of 40 round by 4e-6 mm.
    assert part.check.volume_mm3 == pytest.approx(48_000.0, rel=1e-6)
    assert part.check.area_mm2 == pytest.approx(8_800.0, rel=1e-6)


def test_a_fine_rim_along_a_coarse_one_with_a_gap_is_a_narrow_hole():
    # A prism of 96 sides whose lid has 24: chords off the wall by up to
    # r (1 - cos(pi / 24)) = 0.17 mm, far over any tolerance.
    fine, coarse, r, h = 96, 24, 20.0, 10.0
    turn = 2 * np.pi * np.arange(fine) / fine
    ring = np.column_stack((r * np.cos(turn), r * np.sin(turn)))
    low = np.column_stack((ring, np.zeros(fine)))
    high = np.column_stack((ring, np.full(fine, h)))
    vertices = np.concatenate((low, high, [[0, 0, 0], [0, 0, h]]))
    k = np.arange(fine)
    after = (k + 1) % fine
    wall = np.concatenate(
        (
            np.column_stack((k, after, after + fine)),
            np.column_stack((k, after + fine, k + fine)),
            np.column_stack((after, k, np.full(fine, 2 * fine))),
        )
    )
    corner = fine + np.arange(0, fine, fine // coarse)
    lid = np.column_stack((corner, np.roll(corner, -1), np.full(coarse, 2 * fine + 1)))
    part = part_from_arrays(vertices, np.concatenate((wall, lid)), name="lid")
    # Areas of the two polygons (closed form n r^2 sin(2 pi / n) / 2), apart.
    area = [0.5 * n * r**2 * np.sin(2 * np.pi / n) for n in (fine, coarse)]
    assert part.check.n_holes == coarse
    assert part.check.hole_mm2 == pytest.approx(area[0] - area[1], rel=1e-6)
    assert not part.check.is_one_sided
    # One hole as large as the lid would leave 1.16 (area / pi)^1.5 = 9,200 mm3 open.
    assert part.check.doubt_mm3 < 10.0
