"""Filling: conservation at every level, and air caught and spilled in closed form."""

import bodies
import numpy as np
import pytest
import shapes

from castplan.columns.flood import climb, fill_field
from castplan.columns.peaks import find_peaks

# Bodies are 100 columns and more across: volumes to a few parts in a thousand.
SAMPLING = 0.01
DOWN = np.diag([1.0, -1.0, -1.0])


def fill(body_arrays, opened_xy, *, fed_xy=None, rotation=bodies.ALONG["z"], pitch_mm=0.4):
    """Fill through the first opening, or from the column over `fed_xy`."""
    field = bodies.look(*body_arrays, rotation, pitch_mm=pitch_mm)

    def over(x, y):
        column = field.column_at(x_mm=x, y_mm=y)
        return field.first[column + 1] - 1

    openings = np.array([over(*xy) for xy in opened_xy], dtype=np.int64)
    source = int(openings[0]) if fed_xy is None else int(over(*fed_xy))
    return fill_field(field, source=source, openings=openings)


def at_the_end(filling):
    level = filling.high_mm + 1
    return filling.filled_mm3(level_mm=level), filling.caught_mm3(level_mm=level)


def cups(depths_mm=(4.0, 9.0), bore_mm=12.0):
    """A slab of cavity with inverted cups on its roof: square domes of given height."""
    solid = bodies.cuboid((0, 80), (0, 30), (0, 10))
    for k, depth in enumerate(depths_mm):
        x = 30 + 30 * k
        half = bore_mm / 2
        solid += bodies.cuboid((x - half, x + half), (15 - half, 15 + half), (0, 10 + depth))
    # A riser at one end, higher than all domes, is the only opening.
    solid += bodies.cuboid((0, 8), (11, 19), (0, 30))
    return bodies.arrays(solid)


@pytest.mark.parametrize("depths", [(4.0, 9.0), (1.0, 2.5)])
def test_inverted_cups_keep_their_own_volume(depths):
    filling = fill(cups(depths), [(4, 15)])
    filled, caught = at_the_end(filling)
    assert caught == pytest.approx(12 * 12 * sum(depths), rel=2 * SAMPLING)
    # With an opening in the deeper one only the other's stays.
    filling = fill(cups(depths), [(4, 15), (60, 15)])
    assert at_the_end(filling)[1] == pytest.approx(12 * 12 * depths[0], rel=2 * SAMPLING)
    filling = fill(cups(depths), [(4, 15), (30, 15), (60, 15)])
    assert at_the_end(filling) == (pytest.approx(filling.field.volume_mm3), 0.0)
    assert filled > 0


def test_air_is_caught_when_the_resin_stands_at_the_rim():
    filling = fill(cups(), [(4, 15)])
    assert filling.caught_mm3(level_mm=9.9) == 0.0
    # The slab's roof is level at 10: both domes are cut off there together.
    assert filling.caught_mm3(level_mm=10.1) == pytest.approx(12 * 12 * 13, rel=2 * SAMPLING)


def test_a_bell_standing_on_its_mouth_is_one_room():
    # The cavity is the bell's wall and crown: its one roof is the crown.
    body = shapes.bell(20, 30, 16, 24)
    filling = fill((body.vertices_mm, body.faces), [(0, 0)], fed_xy=(18, 0))
    filled, caught = at_the_end(filling)
    assert caught == 0
    assert filled == pytest.approx(body.volume_mm3, rel=SAMPLING)


def test_both_legs_of_a_u_want_a_vent_when_fed_from_below():
    body = bodies.u_rod((30, 45), 8, 14, 6)
    arrays = (body.vertices_mm, body.faces)
    low, high, bend = (4, 0), (26, 0), (15, 0)
    # Legs stand on the bend at 6: 8 x 8 mm2, 24 and 39 high.
    for opened, kept in (([high], 64 * 24), ([low], 64 * 39), ([low, high], 0.0)):
        filling = fill(arrays, opened, fed_xy=bend, pitch_mm=0.2)
        assert at_the_end(filling)[1] == pytest.approx(kept, rel=2 * SAMPLING, abs=1e-9)


@pytest.mark.parametrize(
    ("rotation", "opened", "kept_mm3"),
    [
        (bodies.ALONG["z"], (30, 0), 0.0),  # lying: one roof all round
        (bodies.ALONG["x"], (0, 0), 0.0),  # standing, open at the top of the ring
    ],
)
def test_a_ring_lying_and_standing_needs_one_opening(rotation, opened, kept_mm3):
    body = shapes.torus(30, 10)
    field = bodies.look(body.vertices_mm, body.faces, rotation, pitch_mm=0.5)
    tree = find_peaks(field, min_rise_mm=0.01)
    filling = fill_field(field, source=int(tree.interval[0]), openings=tree.interval[:1])
    filled, caught = at_the_end(filling)
    # Lying, the roof is level but for the facets: the lattice sees ripples of
    # a hundredth of a millimetre over 2 x 94 mm of crest.
    assert caught == pytest.approx(kept_mm3, abs=3.0)
    assert filled + caught == pytest.approx(field.volume_mm3)
    assert field.volume_mm3 == pytest.approx(59217.626, rel=SAMPLING)  # 2 pi^2 R r^2
    assert opened is not None


def test_a_staircase_keeps_nothing_when_open_at_the_top():
    body = shapes.staircase(4, 10, 6, 30)
    filling = fill((body.vertices_mm, body.faces), [(35, 0)])
    assert at_the_end(filling)[1] == 0
    # The level passes one tread after the other: 10 x 30 mm2 each, 40 to 10 mm long.
    for level, volume in ((6, 40 * 30 * 6), (9, 40 * 180 + 30 * 30 * 3), (24, 300 * 60)):
        assert filling.filled_mm3(level_mm=level) == pytest.approx(volume, rel=SAMPLING)


@pytest.mark.parametrize("seed", range(6))
def test_filled_caught_and_open_make_the_cavity_at_every_level(seed):
    field = bodies.random_field(seed=seed, n_x=14, n_y=12, is_whole=seed % 2 == 0)
    rng = np.random.default_rng(seed)
    openings = rng.choice(field.top_mm.size, 3, replace=False)
    filling = fill_field(field, source=int(openings[0]), openings=openings)
    last = -1.0, -1.0
    for level in np.linspace(-1, 11, 49):
        wet, caught = filling.wet_mm(level_mm=level), filling.caught_mm(level_mm=level)
        # Resin from below and caught air from above never overlap ...
        assert (wet + caught <= field.top_mm - field.bottom_mm + 1e-9).all()
        now = filling.filled_mm3(level_mm=level), filling.caught_mm3(level_mm=level)
        # ... and neither is ever lost again.
        assert now[0] >= last[0] and now[1] >= last[1]
        last = now
    # At the end no air with a way out is left.
    level = filling.high_mm + 1
    assert sum(at_the_end(filling)) == pytest.approx(field.volume_mm3)
    assert level > filling.low_mm


def two_basins():
    """Two wells under one roof: fed at the left, the right one fills over the sill."""
    solid = bodies.cuboid((0, 60), (0, 20), (20, 40))
    solid += bodies.cuboid((0, 25), (0, 20), (8, 21)) + bodies.cuboid((35, 60), (0, 20), (0, 21))
    return bodies.arrays(solid)


def test_a_well_behind_a_sill_fills_by_running_over():
    filling = fill(two_basins(), [(10, 10)])
    (basin,) = filling.basins(min_mm3=10)
    assert basin.sill_mm == pytest.approx(20)
    assert basin.depth_mm == pytest.approx(20)
    assert basin.volume_mm3 == pytest.approx(25 * 20 * 20, rel=SAMPLING)
    # Below the sill only the left well takes resin, past it both are full.
    assert filling.filled_mm3(level_mm=14) == pytest.approx(25 * 20 * 6, rel=SAMPLING)
    assert filling.filled_mm3(level_mm=20.01) == pytest.approx(
        25 * 20 * 12 + 25 * 20 * 20, rel=SAMPLING
    )
    # Fed into the deeper one it runs over the other way.
    (other,) = fill(two_basins(), [(50, 10)]).basins(min_mm3=10)
    assert other.volume_mm3 == pytest.approx(25 * 20 * 12, rel=SAMPLING)


def test_a_body_without_wells_spills_nowhere():
    body = shapes.staircase(4, 10, 6, 30)
    assert fill((body.vertices_mm, body.faces), [(35, 0)]).basins(min_mm3=1) == []


def test_resin_never_reaches_what_no_way_leads_to():
    solid = bodies.cuboid((0, 20), (0, 20), (0, 20)) + bodies.cuboid((40, 50), (0, 20), (0, 20))
    filling = fill(bodies.arrays(solid), [(10, 10)])
    filled, caught = at_the_end(filling)
    assert filled == pytest.approx(8000, rel=SAMPLING)
    assert caught == pytest.approx(4000, rel=SAMPLING)


def test_a_bubble_climbs_to_the_ridge():
    # A roof that falls 1 in 2 from its ridge at x = 20.
    body = shapes.extruded([(0, 0), (60, 0), (60, 10), (20, 30), (0, 20)], 20)
    field = bodies.look(body.vertices_mm, body.faces, pitch_mm=0.5)
    start = field.first[field.column_at(x_mm=55.0, y_mm=0.0)]
    end = climb(
        field.first, field.bottom_mm, field.top_mm, field.column_of, field.n_x, int(start), 0.0
    )
    x = field.centre_mm(field.column_of[[end]])[0, 0]
    assert x == pytest.approx(20, abs=2 * field.pitch_mm)
