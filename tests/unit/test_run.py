"""Resin along a long part, against closed forms of slow flow through gaps, ducts and pipes."""

import math

import bodies
import manifold3d
import numpy as np
import pytest
import shapes

from castplan.air.long_part import LONG_TIMES, N_SLABS, long_part
from castplan.materials.run import Feed, run_time_s

MU, RHO, G = 0.1, 1100.0, 9.81  # Pa s, kg/m3, m/s2
WIDE = {"bore_mm": 1000.0, "length_mm": 1.0}
N = 95
# Fronts go on slab by slab: half of one of 95, twice over in the square of the way.
SLABS = 0.015


def seconds(feeds, *, gap_mm=3.0, across_mm=20.0, length_mm=600.0, rim_mm=60.0, slope=0.0, n=N):
    """A gap of constant width, fed at shares of its length by gates of a kind."""
    slab_mm = length_mm / n
    return run_time_s(
        [gap_mm * across_mm * slab_mm] * n,
        [across_mm * gap_mm**3 / 12] * n,
        (np.arange(n) + 0.5) * slab_mm * slope,
        [Feed(min(int(share * n), n - 1), **kind) for share, kind in feeds],
        slab_mm=slab_mm,
        rim_mm=rim_mm,
        viscosity_mpa_s=1000 * MU,
        density_g_ml=RHO / 1000,
    )[0]


def washburn_s(length_mm, *, gap_mm=3.0, rim_mm=60.0):
    """6 mu L2 / (b2 dp): Washburn's balance for a gap (textbook)."""
    return 6 * MU * (length_mm / 1000) ** 2 / ((gap_mm / 1000) ** 2 * RHO * G * rim_mm / 1000)


@pytest.mark.parametrize("gap_mm", [1.0, 3.0])
@pytest.mark.parametrize("rim_mm", [40.0, 90.0])
def test_a_gap_fills_as_washburn_says(gap_mm, rim_mm):
    end = seconds([(0.0, WIDE)], gap_mm=gap_mm, rim_mm=rim_mm)
    assert end == pytest.approx(washburn_s(600, gap_mm=gap_mm, rim_mm=rim_mm), rel=SLABS)
    # From the other end as long, from the middle a quarter: half the way both ways.
    assert seconds([(1.0, WIDE)], gap_mm=gap_mm, rim_mm=rim_mm) == pytest.approx(end, rel=1e-9)
    middle = seconds([(0.5, WIDE)], gap_mm=gap_mm, rim_mm=rim_mm)
    assert middle == pytest.approx(0.25 * end, rel=2 * SLABS)


@pytest.mark.parametrize("n", [2, 3, 4])
def test_gates_in_turn_from_the_end_take_their_share(n):
    # n runs of L / n one after the other: n (L / n)2 = L2 / n.
    feeds = [(k / n, WIDE) for k in range(n)]
    assert seconds(feeds) == pytest.approx(washburn_s(600) / n, rel=2 * n * SLABS)


def test_a_gate_that_resin_has_not_reached_feeds_nothing():
    # The gate at the far end is the last place reached: it helps nothing.
    assert seconds([(0.0, WIDE), (1.0, WIDE)]) == pytest.approx(seconds([(0.0, WIDE)]), rel=1e-9)


def test_a_narrow_gate_alone_fills_as_hagen_and_poiseuille_say():
    # A wide cavity: all drag is in the pipe, and both fronts share it.
    pipe = {"bore_mm": 4.0, "length_mm": 50.0}
    volume_m3 = 40 * 20 * 600e-9
    rate = math.pi * 0.004**4 * RHO * G * 0.06 / (128 * MU * 0.05)
    for share in (0.0, 0.5, 1.0):
        time_s = seconds([(share, pipe)], gap_mm=40.0)
        assert time_s == pytest.approx(volume_m3 / rate, rel=0.01)


@pytest.mark.parametrize("slope", [0.05, -0.05, -0.2])
def test_uphill_and_downhill(slope):
    # x dx / (H - s x) from 0 to L, times 12 mu / (b2 rho g): -L / s - H / s2 ln(1 - s L / H).
    length, rim, b = 0.6, 0.06, 0.003
    whole = -length / slope - rim / slope**2 * math.log(1 - slope * length / rim)
    expected = 12 * MU / (b**2 * RHO * G) * whole
    assert seconds([(0.0, WIDE)], slope=slope) == pytest.approx(expected, rel=2 * SLABS)


def test_above_the_cup_resin_never_gets():
    assert seconds([(0.0, WIDE)], slope=0.11) == math.inf


def test_a_front_that_stands_higher_waits_for_the_bore():
    # Uphill one way and down the other from the middle, through a narrow gate: slower
    # than the same cavity level, and full in the end.
    pipe = {"bore_mm": 3.0, "length_mm": 80.0}
    slanted = seconds([(0.5, pipe)], slope=0.08, gap_mm=10.0)
    # The middle of its slope stands 24 mm up, the head over its far end is 12 mm.
    level = seconds([(0.5, pipe)], gap_mm=10.0, rim_mm=60 - 24.0)
    assert level < slanted < math.inf


# -- sections ----------------------------------------------------------------------


def duct_ease_mm4(a_mm, b_mm):
    """What a rectangle a x b carries: the series of the textbooks."""
    a, b = max(a_mm, b_mm), min(a_mm, b_mm)
    odd = np.arange(1, 60, 2)
    series = (np.tanh(odd * math.pi * a / (2 * b)) / odd**5).sum()
    return a * b**3 / 12 * (1 - 192 * b / (math.pi**5 * a) * series)


def long_of(solid, turn=None):
    vertices, faces = bodies.arrays(solid)
    turn = np.eye(3) if turn is None else turn
    return long_part(shapes.part_of(vertices @ turn.T, faces))


@pytest.mark.parametrize("sides_mm", [(10.0, 10.0), (20.0, 10.0), (25.0, 3.0), (40.0, 1.0)])
@pytest.mark.parametrize("seed", [0, 3])
def test_a_section_carries_at_most_what_its_rectangle_does(sides_mm, seed):
    a, b = sides_mm
    turn = shapes.rotation(seed) if seed else np.eye(3)
    long = long_of(bodies.cuboid((0, 400), (0, a), (0, b)), turn)
    assert long.length_mm == pytest.approx(400)
    assert long.areas_mm2 == pytest.approx(np.full(N_SLABS, a * b))
    exact = duct_ease_mm4(a, b)
    # Polya's and Makai's bounds: a convex section carries once to twice as much.
    assert (long.eases_mm4 <= exact).all() and (exact <= 2 * long.eases_mm4).all()
    assert long.eases_mm4 == pytest.approx(np.full(N_SLABS, (a * b) ** 3 / (12 * (a + b) ** 2)))
    if a > 30 * b:
        # A gap of 40 x 1: the ends of 1 mm are all that it leaves out.
        assert long.eases_mm4[0] == pytest.approx(exact, rel=2.1 * b / a)


def test_a_rod_carries_within_the_same_bounds():
    long = long_of(manifold3d.Manifold.cylinder(300.0, 8.0, 8.0, 256))
    exact = math.pi * 8.0**4 / 8  # Hagen and Poiseuille
    assert long.eases_mm4 == pytest.approx(np.full(N_SLABS, 2 / 3 * exact), rel=1e-3)


def test_a_bent_wall_is_a_gap_too_and_a_hole_is_left_out():
    # An angle of 20 x 20 x 2: 76 mm2, rim 80 mm; as a gap 38 mm long and 2 wide.
    outline = [(0, 0), (20, 0), (20, 2), (2, 2), (2, 20), (0, 20)]
    body = shapes.extruded(outline, 300.0)
    long = long_part(shapes.part_of(body.vertices_mm, body.faces))
    assert long.areas_mm2 == pytest.approx(np.full(N_SLABS, 76.0))
    assert long.eases_mm4 == pytest.approx(np.full(N_SLABS, 38 * 2**3 / 12), rel=0.11)
    pipe = manifold3d.Manifold.cylinder(300.0, 8.0, 8.0, 256)
    pipe -= manifold3d.Manifold.cylinder(320.0, 7.0, 7.0, 256).translate((0, 0, -10))
    long = long_of(pipe)
    # A ring of 1 mm round 7.5 mm: 2 pi 7.5 / 12.
    assert long.areas_mm2 == pytest.approx(np.full(N_SLABS, math.pi * 15), rel=1e-3)
    assert long.eases_mm4 == pytest.approx(np.full(N_SLABS, math.pi * 15 / 12), rel=2e-3)


def test_sections_follow_a_wedge():
    body = shapes.extruded([(0, 0), (480, 0), (480, 24), (0, 2)], 10.0)
    long = long_part(shapes.part_of(body.vertices_mm, body.faces))
    thick = np.sort(long.areas_mm2) / 10
    # From 2 to 24 mm over its length; its own axis lies a degree or so askew.
    assert thick == pytest.approx(2 + 22 * (np.arange(N_SLABS) + 0.5) / N_SLABS, abs=0.3)
    assert long.areas_mm2.sum() * long.slab_mm == pytest.approx(480 * 13 * 10)
    for k in (0, 20, N_SLABS - 1):
        assert long.slab_of(long.middles_mm[k]) == k


@pytest.mark.parametrize(("length_mm", "is_long"), [(99.0, False), (101.0, True)])
def test_long_is_five_times_as_long_as_wide(length_mm, is_long):
    assert LONG_TIMES == 5
    long = long_of(bodies.cuboid((0, length_mm), (0, 20), (0, 5)))
    assert (long is not None) == is_long
