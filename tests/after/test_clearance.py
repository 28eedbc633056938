"""Inserts in copies against closed forms: box in box, block in sphere, break-through, bed."""

from types import SimpleNamespace

import bodies
import manifold3d
import numpy as np
import pytest
import shapes

from castplan.after.clearance import Setting, set_insert
from castplan.errors import InputError
from castplan.materials.cards import get_card
from castplan.records import Job

RESIN = "polyurethane-fast-70d"


def plan_of(vertices, faces):
    """As much of a plan as an insert asks for."""
    return SimpleNamespace(part=shapes.part_of(vertices, faces), job=Job(resin=RESIN))


def cuboid(x, y, z):
    return bodies.arrays(bodies.cuboid(x, y, z))


BOX = plan_of(*cuboid((0, 60), (0, 40), (0, 30)))
BLOCK = shapes.part_of(*cuboid((-5, 5), (-4, 4), (-3, 3)))


def test_a_box_in_a_box():
    # Walls: x 25-5 = 20 and 30-... ; y 20-4-0 = 6 at y = 10; z 15-3 = 12.
    found = set_insert(BOX, BLOCK, Setting(at_mm=(25, 10, 15)))
    assert found.least_wall_mm == pytest.approx(6.0, abs=1e-9)
    assert found.wall_at_mm[1] == pytest.approx(6.0)
    assert found.breaks == ()
    assert found.inside_ml == pytest.approx(10 * 8 * 6 / 1000)
    # Nowhere on it is the outside farther than from its end away from y = 0.
    assert found.walls_mm.max() <= 14.0


@pytest.mark.parametrize(
    ("wall_mm", "bed_mm", "said"),
    [
        (2.0, 0.0, "good"),
        (2.0, 0.9, "good"),
        (2.0, 1.1, "thin"),
        (0.8, 0.0, "thin"),
        (0.8, 0.4, "too-thin"),
        (0.8, 0.8, "cut-through"),
    ],
)
def test_what_is_left_of_a_wall_is_judged_beyond_its_bed(wall_mm, bed_mm, said):
    # The block's face lies so far from the box's at y = 0. 1 mm casts well, 0.5 mm in
    # small areas: common practice, no source.
    found = set_insert(BOX, BLOCK, Setting(at_mm=(25, 4 + wall_mm, 15), bed_mm=bed_mm))
    assert found.least_wall_mm == pytest.approx(wall_mm, abs=1e-9)
    assert found.wall == said


@pytest.mark.parametrize("turn", [(0, 0, 90), (0, 0, 30), (90, 0, 0), (20, 35, 50)])
def test_a_turned_box_in_a_box(turn):
    # The least wall is from a corner of the block to a face of the box.
    angles = np.radians(turn)
    step = np.eye(3)
    for axis, angle in enumerate(angles):
        c, s = np.cos(angle), np.sin(angle)
        one = {
            0: [[1, 0, 0], [0, c, -s], [0, s, c]],
            1: [[c, 0, s], [0, 1, 0], [-s, 0, c]],
            2: [[c, -s, 0], [s, c, 0], [0, 0, 1]],
        }[axis]
        step = np.array(one) @ step
    corners = BLOCK.vertices_mm @ step.T + (25, 20, 15)
    least = min((corners - 0).min(), (np.array([60, 40, 30]) - corners).min())
    found = set_insert(BOX, BLOCK, Setting(at_mm=(25, 20, 15), turn_deg=turn))
    assert found.least_wall_mm == pytest.approx(least, abs=1e-9)


def test_a_block_in_a_sphere():
    # Corner of the block at distance d from the middle: wall R - d, less what the
    # polyhedron lies inside its sphere by.
    radius = 20.0
    ball = shapes.sphere(radius)
    corner = np.linalg.norm([5, 4, 3])
    found = set_insert(plan_of(ball.vertices_mm, ball.faces), BLOCK, Setting(at_mm=(0, 0, 0)))
    middles = ball.vertices_mm[ball.faces].mean(axis=1)
    sag = radius - np.linalg.norm(middles, axis=1).min()
    assert radius - corner - sag <= found.least_wall_mm <= radius - corner + 1e-9
    assert np.abs(found.wall_at_mm) == pytest.approx((5, 4, 3), abs=0.1)  # near its corner


def test_walls_of_random_bodies_are_manifolds_gaps():
    # Judge: manifold3d's least gap between the insert and all that is outside.
    rng = np.random.default_rng(4)
    ball = shapes.sphere(20.0, n_sides=24)
    copy = bodies.solid_of(ball.vertices_mm, ball.faces)
    block = manifold3d.Manifold.cube((80, 80, 80), True) - copy
    for _ in range(4):
        hull = manifold3d.Manifold.hull_points(rng.uniform(-8, 8, (12, 3)))
        at = rng.uniform(-3, 3, 3)
        insert = shapes.part_of(*bodies.arrays(hull))
        found = set_insert(plan_of(ball.vertices_mm, ball.faces), insert, Setting(at_mm=at))
        assert found.least_wall_mm == pytest.approx(
            hull.translate(tuple(at)).min_gap(block, 100.0), abs=1e-6
        )


def test_edge_against_edge():
    # A notch of 90 degrees across the copy, its edge along y at z = 20, over a roof
    # whose ridge runs along x at z = 15: nearest in the middle of both edges.
    notch = bodies.arrays(
        bodies.cuboid((0, 60), (0, 40), (0, 30))
        - bodies.solid_of(*wedge([(30, 20), (40.1, 30.1), (19.9, 30.1)], along="y"))
    )
    roof = wedge([(15, 8), (25, 8), (20, 15)], along="x")
    found = set_insert(plan_of(*notch), shapes.part_of(*roof), Setting(at_mm=(0, 0, 0)))
    assert found.least_wall_mm == pytest.approx(5.0, abs=1e-9)
    assert found.wall_at_mm == pytest.approx((30, 20, 15), abs=1e-6)


def wedge(profile, *, along):
    """A prism over a profile (across, z), 10 to 50 mm along x, or through all of y."""
    low, high = (10, 50) if along == "x" else (-1, 41)
    ends = [(low, *p) if along == "x" else (p[0], low, p[1]) for p in profile]
    ends += [(high, *p) if along == "x" else (p[0], high, p[1]) for p in profile]
    return bodies.arrays(manifold3d.Manifold.hull_points(np.array(ends, dtype=float)))


def test_the_foot_of_a_pit_over_a_face():
    # A pit of four sides, its foot at z = 23, over the block's upper face at z = 18.
    pit = manifold3d.Manifold.hull_points(
        np.array([(25, 20, 23), (20, 15, 31), (30, 15, 31), (30, 25, 31), (20, 25, 31)], float)
    )
    copy = bodies.arrays(bodies.cuboid((0, 60), (0, 40), (0, 30)) - pit)
    found = set_insert(plan_of(*copy), BLOCK, Setting(at_mm=(24, 20.5, 15)))
    assert found.least_wall_mm == pytest.approx(5.0, abs=1e-9)
    assert found.wall_at_mm == pytest.approx((25, 20, 18), abs=1e-6)


def test_an_insert_let_in_from_above_keeps_its_side_wall():
    # Flush would be at z = 30; it stands out by 2 of its 6 mm. Round its mouth the
    # wall is not zero: the side wall of 6 mm is what is left.
    found = set_insert(BOX, BLOCK, Setting(at_mm=(25, 10, 29)))
    (out,) = found.breaks
    assert out.out_mm == pytest.approx(2.0) and out.place_mm[2] == pytest.approx(32.0)
    assert out.volume_ml == pytest.approx(10 * 8 * 2 / 1000)
    assert out.mouth_mm2 == pytest.approx(10 * 8)
    assert out.volume_ml + found.inside_ml == pytest.approx(found.insert_ml)
    assert found.least_wall_mm == pytest.approx(6.0, abs=1e-9)


def test_a_flush_insert_keeps_its_side_wall_too():
    found = set_insert(BOX, BLOCK, Setting(at_mm=(25, 10, 27)))
    assert found.breaks == () and found.flush_mm2 == pytest.approx(10 * 8)
    assert found.least_wall_mm == pytest.approx(6.0, abs=1e-9)
    assert set_insert(BOX, BLOCK, Setting(at_mm=(25, 10, 15))).flush_mm2 == 0.0


def test_an_insert_through_the_whole_copy_breaks_out_twice():
    pin = shapes.part_of(*cuboid((-2, 2), (-2, 2), (-40, 40)))
    found = set_insert(BOX, pin, Setting(at_mm=(30, 9, 15)))
    assert [piece.out_mm for piece in found.breaks] == pytest.approx([25.0, 25.0])
    assert found.least_wall_mm == pytest.approx(7.0, abs=1e-9)


def test_the_bed_of_a_box_is_steiners():
    # A box a b c grown by r: 2 (ab + bc + ca) r + pi r^2 (a + b + c) + 4/3 pi r^3.
    # The ball has 32 sides: its sections are short by up to 1 %, the ball by 2 %.
    a, b, c, r = 10.0, 8.0, 6.0, 1.0
    faces = 2 * (a * b + b * c + c * a) * r
    edges, corners = np.pi * r**2 * (a + b + c), 4 / 3 * np.pi * r**3
    found = set_insert(BOX, BLOCK, Setting(at_mm=(25, 20, 15), bed_mm=r))
    assert found.bed_ml * 1000 == pytest.approx(faces + edges + corners, rel=0.01)
    assert found.bed_ml * 1000 < faces + edges + corners
    density = get_card(RESIN, kind="resin").density_g_ml.value
    assert found.bed_g == pytest.approx(found.bed_ml * density)


def test_the_bed_of_an_insert_let_in_is_cut_at_the_face():
    # Let in flush by 6 mm: bottom, four sides, their four upright edges (a quarter
    # round each), the four at the bottom, and four eighths of a ball.
    a, b, c, r = 10.0, 8.0, 6.0, 1.0
    sides = (a * b + 2 * c * (a + b)) * r
    edges = np.pi / 4 * r**2 * (4 * c + 2 * a + 2 * b)
    found = set_insert(BOX, BLOCK, Setting(at_mm=(25, 20, 27), bed_mm=r))
    assert found.bed_ml * 1000 == pytest.approx(sides + edges + 4 / 8 * 4 / 3 * np.pi, rel=0.01)


def test_a_hollow_insert_is_bedded_inside_too():
    # A frame: 20 x 20 with a hole of 10 x 10, 4 high; sums of faces, edges and
    # corners as above, the inner edges of the hole without their rounds.
    frame = bodies.cuboid((-10, 10), (-10, 10), (-2, 2)) - bodies.cuboid((-5, 5), (-5, 5), (-3, 3))
    found = set_insert(
        BOX, shapes.part_of(*bodies.arrays(frame)), Setting(at_mm=(30, 20, 15), bed_mm=0.5)
    )
    r = 0.5
    faces = (2 * 300 + 4 * 20 * 4 + 4 * 10 * 4) * r
    outer = np.pi / 4 * r**2 * (8 * 20 + 4 * 4) + 4 / 3 * np.pi * r**3
    inner = np.pi / 4 * r**2 * 8 * 10 - r**2 * 4 * 4  # rims; and corners counted twice
    assert found.bed_ml * 1000 == pytest.approx(faces + outer + inner, rel=0.01)


def test_keep_outs_are_told_by_overlap_and_distance():
    keeps = (
        ("teeth", (28, 0, 10), (40, 40, 20)),
        ("latch", (35, 0, 0), (50, 40, 30)),
        ("corner", (33, 17, 15), (40, 20, 20)),
    )
    found = set_insert(BOX, BLOCK, Setting(at_mm=(25, 10, 15), keeps=keeps))
    teeth, latch, corner = found.keeps
    # x 28..30 of y 6..14, z 12..18 lies in the teeth's box.
    assert teeth.is_touched and teeth.overlap_ml == pytest.approx(2 * 8 * 6 / 1000)
    assert teeth.away_mm == 0.0
    assert not latch.is_touched and latch.away_mm == pytest.approx(5.0)
    assert corner.away_mm == pytest.approx(np.hypot(3, 3))


def test_an_insert_beside_the_copy_is_refused():
    with pytest.raises(InputError, match="outside the casting"):
        set_insert(BOX, BLOCK, Setting(at_mm=(100, 0, 0)))
