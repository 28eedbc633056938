"""The parting in every column: bowls, holes and slats against closed forms."""

import bodies
import bodies_split
import numpy as np
import pytest
import shapes

from castplan.columns.gaps import find_gaps
from castplan.columns.held import LOWER, SEALED, UPPER, held_by_surface
from castplan.columns.shutoff import LEAK_MM, fill_holes, surface_heights
from castplan.geometry.shutoff import cutting_surface, parting_over
from castplan.records import DrawWeights, Job

# What is held is sampled in columns; a wall along them may cost half a pitch
# of it either side.
SAMPLING = 0.03


def columns_of(body):
    """Field and gaps of a body along z."""
    field = bodies.look(body.vertices_mm, body.faces, bodies.ALONG["z"])
    return field, find_gaps(field)


def level(field, height_mm):
    return np.full(field.n_x * field.n_y, float(height_mm))


def held_ml(field, held, half):
    gaps = held.gaps
    return float((gaps.top_mm - gaps.bottom_mm)[held.half == half].sum() * field.cell_mm2) / 1000


def test_over_the_part_the_parting_runs_in_the_solid():
    # shapes.tray: 60 x 40 x 15, walls 5, floor 4. At 10 the bowl is shut off at its floor.
    field, gaps = columns_of(shapes.tray())
    built = surface_heights(field, gaps, level(field, 10.0), spreads=True)
    full = np.diff(field.first) > 0
    assert (built[full] > field.lowest_mm[full]).all()
    assert (built[full] < field.highest_mm[full]).all()
    assert (built[~full] == 10.0).all()
    # The step from wall to floor stands two columns inside the wall.
    xy = field.centre_mm(np.arange(built.size))
    beside = np.maximum(np.abs(xy[:, 0]) - 25, np.abs(xy[:, 1]) - 15)
    deep = full & (beside < 1.5 * field.pitch_mm)
    assert (built[deep] < 4).all()
    assert (built[(beside > 4 * field.pitch_mm) & full] == 10.0).all()


def test_a_bowl_shut_off_at_its_floor_holds_nothing():
    field, gaps = columns_of(shapes.tray())
    built = surface_heights(field, gaps, level(field, 10.0), spreads=True)
    assert held_by_surface(field, gaps, built).half.size == 0
    # The same can fail: clay in the bowl would be held by the part's floor.
    clay = held_by_surface(field, gaps, level(field, 10.0))
    assert held_ml(field, clay, LOWER) == pytest.approx(50 * 30 * 6 / 1000, rel=SAMPLING)
    assert held_ml(field, clay, UPPER) == 0


@pytest.mark.parametrize(("over_mm", "floods"), [(0.5 * LEAK_MM, False), (0.5, True)])
def test_clay_a_hair_over_a_flat_does_not_flood_it(over_mm, floods):
    # A box 40 x 30, its top at z = 10, in clay that stands a little over it.
    field, gaps = columns_of(shapes.box())
    built = surface_heights(field, gaps, level(field, 10 + over_mm), spreads=True)
    held = held_by_surface(field, gaps, built)
    expected = 40 * 30 * over_mm / 1000 if floods else 0.0
    assert held_ml(field, held, LOWER) == pytest.approx(expected, rel=SAMPLING)


def test_a_line_on_the_part_leaves_no_clay_over_it():
    # The same level, laid to a line on the part instead of flowing over it.
    field, gaps = columns_of(shapes.box())
    built = surface_heights(field, gaps, level(field, 10.5), spreads=False)
    assert held_by_surface(field, gaps, built).half.size == 0


def test_a_closed_void_is_nobodys():
    field, gaps = columns_of(bodies.hollow_box())
    built = surface_heights(field, gaps, level(field, 10.0), spreads=True)
    held = held_by_surface(field, gaps, built)
    assert set(held.half) == {SEALED}
    assert held_ml(field, held, SEALED) == pytest.approx(24 * 18 * 10 / 1000, rel=SAMPLING)


def slats(overlap_mm, *, gap_mm=4.0):
    """Two steps of a louvre across y: one at z 0..3, one `gap_mm` over it, lapping in x."""
    frame = bodies.cuboid((-40, 40), (-33, -30), (0, 12)) + bodies.cuboid(
        (-40, 40), (30, 33), (0, 12)
    )
    low = bodies.cuboid((-40, 0.5 * overlap_mm), (-31, 31), (0, 3))
    high = bodies.cuboid((-0.5 * overlap_mm, 40), (-31, 31), (3 + gap_mm, 6 + gap_mm))
    return shapes.part_of(*bodies.arrays(frame + low + high))


def test_between_lapping_slats_each_half_keeps_the_half_that_is_nearer():
    # Between the slats 10 x 60 x 4 mm is void; it opens up over the low slat
    # and down under the high one: each half reaches 5 mm in, none lies right through.
    made = bodies_split.split(slats(10.0))
    volume_mm3 = 10 * 60 * 4
    assert made.parting.locked_mm3 == pytest.approx(volume_mm3, rel=SAMPLING)
    assert [p.kind for p in made.undercuts.pockets] == ["pocket", "pocket"]
    assert {p.held_by for p in made.undercuts.pockets} == {"upper", "lower"}
    for pocket in made.undercuts.pockets:
        # The middle is off by half a column and half a thirtieth of the way: 0.3 mm.
        assert pocket.volume_mm3 == pytest.approx(volume_mm3 / 2, rel=0.1)
        # The deepest tenth of 5 mm begins at 4.5.
        assert pocket.depth_mm == pytest.approx(4.5, abs=0.3 + 2 * made.field.pitch_mm)


def test_all_that_is_held_is_what_the_line_tells():
    for body in (shapes.t_slot(), shapes.cross_hole_plate(), bodies.chain()):
        made = bodies_split.split(bodies_split.part_of(body))
        gaps, held = made.held.gaps, made.held.half
        told = float((gaps.top_mm - gaps.bottom_mm)[held != SEALED].sum() * made.field.cell_mm2)
        # The same columns, summed in another order.
        assert told == pytest.approx(made.line.trapped_mm3, rel=1e-9)
        assert told > 100


def panel_with_bosses():
    """A tray 100 x 60 x 15, walls and floor 2, a hole with a U-shaped wall through its floor."""
    body = bodies.cuboid((-50, 50), (-30, 30), (0, 15)) - bodies.cuboid(
        (-48, 48), (-28, 28), (2, 16)
    )
    boss = bodies.cuboid((-10, 10), (-10, 10), (0, 15)) - bodies.cuboid((-8, 8), (-8, 11), (2, 16))
    body = body + boss - bodies.cuboid((-5, 5), (-5, 5), (-1, 16))
    return shapes.part_of(*bodies.arrays(body))


@pytest.mark.parametrize("height_mm", [0.0, 8.0, 15.0])
def test_a_hole_that_opens_into_a_hollow_is_shut_off_at_the_floor(height_mm):
    # The wall round the hole has no fourth side: hole and hollow are one void.
    made = bodies_split.split(panel_with_bosses(), job=Job(parting_height_mm=height_mm))
    (plug,) = made.line.plugs
    assert 0 <= plug.height_mm <= 2
    assert made.line.trapped_mm3 < made.tie_mm3
    assert not made.undercuts.pockets
    # Void under the level that the upper half fills: hollow less boss, and the hole.
    if height_mm > 2:
        inside = 96 * 56 - (20 * 20 - 16 * 18)
        assert made.line.filled_above_mm3 == pytest.approx(inside * (height_mm - 2), rel=SAMPLING)


def test_the_cutting_surface_is_the_parting_of_the_columns():
    made = bodies_split.split(panel_with_bosses(), job=Job(parting_height_mm=15.0))
    fine = cutting_surface(made.field, made.line)
    built = parting_over(made.field, made.line)
    every = np.arange(built.size)
    xy = made.field.centre_mm(every)
    i, r = (
        np.clip(np.rint((xy[:, k] - start) / step).astype(int), 0, fine.heights_mm.shape[1 - k] - 1)
        for k, (start, step) in enumerate(
            [(fine.x0_mm, fine.step_x_mm), (fine.y0_mm, fine.step_y_mm)]
        )
    )
    near = (np.abs(fine.x_mm[i] - xy[:, 0]) < 0.05) & (np.abs(fine.y_mm[r] - xy[:, 1]) < 0.05)
    # Floor, wall tops and hole, where a node stands in the middle of a column.
    at = near & (np.maximum(np.abs(xy[:, 0]) / 49, np.abs(xy[:, 1]) / 29) < 1)
    assert at.sum() > 50
    off = np.abs(fine.heights_mm[r, i] - built)[at]
    # But for columns on the edge of a step.
    assert np.mean(off < 1e-9) > 0.97


def test_a_part_without_bowl_or_hole_is_cut_by_the_clay_itself():
    made = bodies_split.split(bodies_split.part_of(shapes.box()))
    assert cutting_surface(made.field, made.line) is made.line.surface


def test_between_crossed_wires_each_half_reaches_in_from_its_own_flanks():
    # Two square bars 4 mm apart, one over the other, joined far away at both
    # ends of the upper one. Beside the upper bar the void between them opens up,
    # beside the lower one down: the square of 10 x 10 falls into four triangles
    # along its diagonals, two of each half. With the upper bar cut short at the
    # middle, its end opens up too: of the 10 x 5 the lower half gets the triangle
    # at the one edge that opens down, 10 long and 5 deep, less what lies nearer
    # to the end: cut off at half the depth, 2.5.
    low = bodies.cuboid((-30, 30), (-5, 5), (0, 8))
    rail = bodies.cuboid((-5, 5), (-30, 30), (12, 20))
    short = bodies.cuboid((-5, 5), (-30, 0), (12, 20))

    def legs(*ends):
        # To the lower bar's level and along to its end: one body.
        solid = bodies.cuboid((-30, -22), (-30, 30), (0, 8))
        for y in ends:
            solid += bodies.cuboid((-30, 5), (y, y + 8), (0, 8))
            solid += bodies.cuboid((-5, 5), (y, y + 8), (0, 20))
        return solid

    crossed, ended = low + rail + legs(-30, 22), low + short + legs(-30)
    cut_mm2 = 10 * 5 / 2 - 5 * 2.5 / 2
    for solid, whole_mm2, lower_mm2 in ((crossed, 100, 50), (ended, 50, cut_mm2)):
        vertices, faces = bodies.arrays(solid)
        assert len(solid.decompose()) == 1
        # A line that keeps to the part, whatever its clay costs.
        job = Job(draw_weights=DrawWeights(trapped_min_per_ml=3000.0))
        made = bodies_split.split(shapes.part_of(vertices, faces), job=job)
        assert {p.kind for p in made.undercuts.pockets} == {"pocket"}
        of = {
            half: sum(p.volume_mm3 for p in made.undercuts.pockets if p.held_by == half)
            for half in ("upper", "lower")
        }
        assert sum(of.values()) == pytest.approx(4 * whole_mm2, rel=0.02)
        # Of columns about as near to both, a band along the diagonals, all go to one half.
        assert of["lower"] == pytest.approx(4 * lower_mm2, rel=0.15)


def test_a_plug_meets_the_wall_of_its_hole():
    # shapes' plate 40 x 30, 20 thick, its clay at the foot, a hole plugged half way up: the
    # step down to the clay's height stands within the wall, not along it.
    body = bodies.cuboid((-20, 20), (-15, 15), (0, 20)) - bodies.cuboid((-5, 5), (-5, 5), (-1, 21))
    field, gaps = columns_of(shapes.part_of(*bodies.arrays(body)))
    rim_mm = np.array([[5.0, 0.0], [0.0, 5.0], [-5.0, 0.0], [0.0, -5.0]])
    base = fill_holes(field, level(field, 0.0), [(rim_mm, np.full(4, 10.0), 10.0)])
    built = surface_heights(field, gaps, base, spreads=True)
    xy = field.centre_mm(np.arange(built.size))
    beside_mm = np.abs(xy).max(axis=1) - 5
    assert (built[beside_mm < 2.5 * field.pitch_mm] == 10.0).all()
    far = (beside_mm > 6 * field.pitch_mm) & (np.diff(field.first) > 0)
    assert (built[far] < 1.0).all()
