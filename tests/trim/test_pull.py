"""The judge of finished moulds judges right, and can condemn.

Halves are made here by manifold3d alone, of bodies whose answers are closed
forms; nothing of castplan takes part.
"""

import math

import numpy as np
import pull
import pytest
import trim_bodies
import trimesh
from manifold3d import Manifold

# Over the part, under it and round it.
BLOCK = Manifold.cube((90, 80, 60), True)
FAR = Manifold.cube((200, 200, 200), True)


def arrays(solid):
    """Vertices and faces of a solid."""
    mesh = solid.to_mesh64()
    return np.asarray(mesh.vert_properties)[:, :3], np.asarray(mesh.tri_verts).astype(np.int64)


def judged(part, upper, lower, pitch_mm=0.5):
    """The judge on three solids."""
    return pull.pull_apart(arrays(part), arrays(upper), arrays(lower), pitch_mm=pitch_mm)


def split_at(part, height_mm):
    """The block less the part, cut level: upper and lower half."""
    under = FAR.translate((0, 0, height_mm - 100))
    return (BLOCK - part) - under, (BLOCK - part) ^ under


def box(x, y, z):
    """A box from three (low, high)."""
    (a, b), (c, d), (e, f) = x, y, z
    return Manifold.cube((b - a, d - c, f - e)).translate((a, c, e))


@pytest.fixture(scope="module")
def pierced():
    """A slab 60 x 50 x 10 on z = 0 with a hole 20 x 20 through it, and its plugged halves."""
    part = box((-30, 30), (-25, 25), (0, 10)) - box((-10, 10), (-10, 10), (-5, 15))
    return part, *split_at(part, 0.0)


def test_a_ball_split_at_its_middle_traps_nothing():
    ball = Manifold.sphere(20, 128)
    found = judged(ball, *split_at(ball, 0.0))
    assert found.trapped_mm3 == 0
    assert found.n_bodies == (1, 1)
    assert found.is_watertight == (True, True)


def test_a_ball_split_too_high_traps_the_ring_over_it():
    ball = Manifold.sphere(20, 256)
    found = judged(ball, *split_at(ball, 8.0))
    # Cylinder on the equator less the ball's zone of height h = 8, by Archimedes
    # pi h R^2 - (pi h R^2 - pi h^3 / 3).
    assert found.lower_trapped_mm3 == pytest.approx(math.pi * 8**3 / 3, rel=0.02)
    assert found.upper_trapped_mm3 == 0
    # What it says of its own error is of the size of the error.
    assert found.sampling_mm3 < 0.02 * found.trapped_mm3
    (place, *_) = found.places
    assert place.half == "lower"
    assert 0 <= place.low_mm < place.high_mm <= 8 + 1e-9


def test_a_hole_across_is_trapped_whichever_half_has_it():
    hole = box((-40, 40), (-4, 4), (-3, 3))
    part = box((-30, 30), (-25, 25), (-10, 10)) - hole
    for height in (-3.0, 0.0, 3.0):
        found = judged(part, *split_at(part, height))
        # Half a row of rays, 0.5 mm apart, more or less along a side of 60.
        assert found.trapped_mm3 == pytest.approx(60 * 8 * 6, abs=60 * 6 * 0.25)
        assert found.locked_mm3 == pytest.approx(found.trapped_mm3, rel=1e-9)


def test_halves_that_are_swapped_are_condemned(pierced):
    part, upper, lower = pierced
    assert judged(part, upper, lower).trapped_mm3 == 0
    # Now all silicone over the part would have to leave downward: 40 x 60 x 50 less the
    # hole, and the slab's height of it; and all under it upward. The block ends at +-30.
    swapped = judged(part, lower, upper)
    over = (60 * 50 - 20 * 20) * 20
    under = (60 * 50 - 20 * 20) * 30
    assert swapped.trapped_mm3 > 0.98 * (over + under)


def test_a_plug_that_is_missing_is_told(pierced):
    part, upper, lower = pierced
    plug = box((-10, 10), (-10, 10), (0, 10))
    whole, without = judged(part, upper, lower), judged(part, upper - plug, lower)
    # The lattice meets the whole box alike; what is open is exact to one row of rays.
    assert whole.open_mm3 == pytest.approx(0, abs=1)
    assert without.open_mm3 == pytest.approx(20 * 20 * 10, rel=0.03)


def test_silicone_of_the_other_half_behind_the_part_is_told(pierced):
    part, upper, lower = pierced
    # The lower half comes up through the hole and spreads over the slab.
    head = box((-16, 16), (-16, 16), (10, 14)) + box((-10, 10), (-10, 10), (0, 12))
    found = judged(part, upper - head, lower + head)
    # 32 x 32 less the hole, 4 high.
    assert found.lower_trapped_mm3 == pytest.approx((32 * 32 - 20 * 20) * 4, rel=0.02)
    assert found.upper_trapped_mm3 == 0
    assert found.by_other_half_mm3 == 0


def test_a_film_between_faces_that_touch_traps_nothing(pierced):
    part, upper, lower = pierced
    film = box((-30, 30), (-25, 25), (9.99999, 10)) - box((-10, 10), (-10, 10), (-5, 15))
    found = judged(part - film, upper - film, lower)
    assert found.trapped_mm3 == 0
    # A lid of the lower half holds the upper half's plug down, and what is between lid
    # and slab; the lid itself has the upper half's silicone under it in the hole.
    lid = box((-12, 12), (-12, 12), (12, 13))
    held = judged(part, upper - lid, lower + lid)
    assert held.by_other_half_mm3 == pytest.approx(
        20 * 20 * 12 + (24 * 24 - 20 * 20) * 2 + 20 * 20 * 1, rel=0.02
    )


def test_overlaps_extra_bodies_and_leaks_are_told(pierced):
    part, upper, lower = pierced
    lump = box((-5, 5), (-5, 5), (2, 8))
    found = judged(part, upper, lower + lump)
    assert found.overlap_mm3 == pytest.approx(10 * 10 * 6, rel=0.05)
    assert found.n_bodies == (1, 2)
    points, faces = arrays(upper)
    found = pull.pull_apart(arrays(part), (points, faces[1:]), arrays(lower), pitch_mm=1.0)
    assert found.is_watertight == (False, True)


def test_a_void_inside_the_part_is_no_silicone():
    part = box((-30, 30), (-25, 25), (-10, 10)) - box((-8, 8), (-8, 8), (-4, 4))
    filled = box((-30, 30), (-25, 25), (-10, 10))
    found = judged(part, *split_at(filled, -10.0))
    assert found.locked_mm3 == 0
    assert found.part_mm3 == pytest.approx(60 * 50 * 20)
    assert found.open_mm3 == pytest.approx(0, abs=1)


def test_rays_cross_as_embree_says():
    """Intervals along z against trimesh's ray caster (Embree, single precision)."""
    body = trimesh.Trimesh(*trim_bodies.make("hinge_leaf")[:2], process=False)
    lattice = pull._Lattice(*body.bounds, 2.3, 27.3)
    ray, z, _ = pull.crossings(lattice.count(body.vertices), np.asarray(body.faces), lattice.shape)
    rays = np.arange(lattice.shape[0] * lattice.shape[1])
    start = np.column_stack([lattice.place(rays), np.full(len(rays), body.bounds[0, 2] - 5)])
    way = np.tile([0.0, 0.0, 1.0], (len(rays), 1))
    at, of, _ = body.ray.intersects_location(start, way, multiple_hits=True)
    ours, theirs = np.bincount(ray, minlength=len(rays)), np.bincount(of, minlength=len(rays))
    # Embree's single precision may take an edge twice or not at all: few rays come so near.
    alike = ours == theirs
    assert alike.mean() > 0.99
    order, other = np.lexsort((z, ray)), np.lexsort((at[:, 2], of))
    mine, his = z[order][alike[ray[order]]], at[other, 2][alike[of[other]]]
    np.testing.assert_allclose(mine, his, atol=1e-3)


# Those that `test_trim` parts without `--long`; the others are long.
SOON = ("panel_small", "slats_7_tilted", "scan_pierced")


@pytest.mark.parametrize(
    "name",
    [
        pytest.param(name, marks=() if name in SOON else pytest.mark.long)
        for name in trim_bodies.MAKERS
    ],
)
def test_bodies_are_closed_and_lock_what_they_say(name):
    body = trim_bodies.make(name)
    mesh = trimesh.Trimesh(body.vertices_mm, body.faces, process=False)
    if body.thickness_mm is not None:
        assert not mesh.is_watertight  # one side of a sheet
        return
    assert mesh.is_watertight
    assert mesh.body_count == 1
    assert mesh.volume > 0
    if body.locked_ml is None:
        return
    size_mm = float(np.ptp(body.vertices_mm, axis=0).max())
    pitch_mm = size_mm / 256
    locked_ml = pull.locked_mm3(body.vertices_mm, body.faces, pitch_mm=pitch_mm) / 1000
    # Askew to all walls, a lattice of 1/256 of the body finds volumes of prisms within 3 %;
    # where nothing is locked there is nothing to sample, and only rounding is left.
    assert locked_ml == pytest.approx(body.locked_ml, rel=0.03, abs=1e-6)
