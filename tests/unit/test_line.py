"""The parting line: its four kinds, plugs of holes, clay heights, the surface it spans.

Areas and heights are closed forms of the bodies made here.
"""

from dataclasses import replace

import bodies
import bodies_split
import numpy as np
import pytest
import shapely
import shapes
from output.neutral import filled
from scipy.optimize import lsq_linear

from castplan.bench.schedule import hollow_text
from castplan.columns import rim, surface
from castplan.geometry.shutoff import parting_over
from castplan.mould.bedding import choose_bedding
from castplan.mould.mould import mean_height_mm
from castplan.records import FlexResult, HolePlug, Job, MouldResult, PartingLine, PocketFlex
from castplan.split.line import find_lines, is_worth_another
from castplan.split.wish import LineWish


def z_plate():
    """A plate bent square: x -30..0 at z 0..4, x 0..30 at z 10..14, a riser between."""
    solid = bodies.cuboid((-30, 2), (-15, 15), (0, 4)) + bodies.cuboid(
        (-2, 30), (-15, 15), (10, 14)
    )
    solid += bodies.cuboid((-2, 2), (-15, 15), (0, 14))
    return shapes.part_of(*bodies.arrays(solid))


def countersunk():
    """A 40 x 40 x 6 plate, hole of radius 4 up to z = 3, then a cone to radius 8 at z = 6."""
    plate = bodies.cuboid((-20, 20), (-20, 20), (0, 6))
    profile = [(0, -1), (4, -1), (4, 3), (8, 6), (9, 6.75), (0, 6.75)]
    tool = shapes.revolved(profile, 96)
    solid = plate - bodies.solid_of(tool.vertices_mm, tool.faces)
    return shapes.part_of(*bodies.arrays(solid))


# -- the smoothest line --------------------------------------------------------------


@pytest.mark.parametrize("seed", range(6))
def test_taut_line_is_the_least_squares_line_within_its_ranges(seed):
    # Truth: scipy's bounded least squares on steps and pull.
    rng = np.random.default_rng(seed)
    n = 40
    middle = np.cumsum(rng.normal(size=n))
    low, high = middle - rng.uniform(0.2, 3, n), middle + rng.uniform(0.2, 3, n)
    target, pull = np.clip(rng.normal(size=n), low, high), 0.05
    step = np.eye(n) - np.roll(np.eye(n), 1, axis=1)
    rows = np.vstack([step, np.sqrt(pull) * np.eye(n)])
    right = np.concatenate([np.zeros(n), np.sqrt(pull) * target])
    truth = lsq_linear(rows, right, bounds=(low, high), tol=1e-14).x
    found = rim.taut_line(low, high, target, pull, 4000)
    assert (found >= low).all() and (found <= high).all()
    # Sweeps stop at steps of 1e-5.
    assert np.abs(found - truth).max() < 1e-3


def test_taut_line_in_free_ranges_is_level():
    low, high = np.full(50, -3.0), np.full(50, 5.0)
    found = rim.taut_line(low, high, np.full(50, 1.0), 1e-3, 4000)
    assert np.abs(found - 1.0).max() < 1e-4


# -- steps ---------------------------------------------------------------------------


def test_bent_plate_is_parted_in_two_levels():
    made = bodies_split.split(z_plate())
    assert made.parting.locked_mm3 == pytest.approx(0, abs=1)
    # Any level leaves one wing wholly over or under clay: at best a wing's face
    # times the 6 mm between the wings.
    least_mm3 = made.options["level"].trapped_mm3
    assert least_mm3 == pytest.approx(28 * 30 * 6, rel=0.05)
    assert made.options["tilted"].trapped_mm3 > made.tie_mm3
    assert made.line.kind == "stepped"
    assert made.options["stepped"].trapped_mm3 < made.tie_mm3
    (outline,) = made.line.outlines
    levels = np.unique(np.round(outline.line_mm, 6))
    assert len(levels) == 2
    assert 0 <= levels[0] <= 4 and 10 <= levels[1] <= 14
    assert "2 steps" in str(made.options["stepped"].note)


def test_effort_decides_among_lines_that_are_free():
    # A box is free for all four: the level one is recommended.
    made = bodies_split.split(bodies_split.part_of(shapes.box()))
    assert all(option.is_free for option in made.line.options)
    assert made.line.kind == "level" and not made.line.is_asked_for
    assert [option.kind for option in made.line.options] == [
        "level",
        "tilted",
        "stepped",
        "following",
    ]


# -- plugs of holes ------------------------------------------------------------------


def test_countersunk_hole_is_shut_off_where_it_is_narrowest():
    made = bodies_split.split(countersunk())
    (plug,) = made.line.plugs
    # The straight part, 0 to 3; ranges are read a sliver (here a column and a
    # half) inside, where the cone is 3/4 of that higher.
    reach_mm = 0.75 * 2.5 * made.field.pitch_mm
    assert plug.free_low_mm == pytest.approx(0, abs=1e-6)
    assert 3 - 1e-6 < plug.free_high_mm < 3 + reach_mm
    assert plug.free_low_mm <= plug.height_mm <= plug.free_high_mm
    assert plug.trapped_mm3 < made.tie_mm3 and not plug.is_following
    assert plug.width_mm == pytest.approx(8, abs=3 * made.field.pitch_mm)
    assert plug.area_mm2 == pytest.approx(shapes.polygon_factor(96) * 16, rel=0.03)
    assert plug.centre_mm == pytest.approx((0, 0), abs=made.field.pitch_mm)
    # Made in the file's own frame; the clay there is at the plug's height.
    at = surface.read(
        made.line.surface.x_mm,
        made.line.surface.y_mm,
        made.line.surface.heights_mm,
        np.array([[0.0, 0.0]]),
    )
    assert at[0] == pytest.approx(plug.height_mm, abs=1e-6)


def test_hole_through_a_saddle_gets_a_plug_that_follows_its_rim():
    part = bodies_split.part_of(bodies_split.saddle_plate(rise_mm=24, thick_mm=3))
    body = bodies.solid_of(part.vertices_mm, part.faces) - bodies.cuboid(
        (-16, 16), (-16, 16), (-40, 40)
    )
    made = bodies_split.split(shapes.part_of(*bodies.arrays(body)))
    (plug,) = made.line.plugs
    # The rim's ranges: c x y to c x y + 3 with c = 4 x 24 / 60^2, corners at 16:
    # no level fits all, 6.83 - (-6.83 + 3) apart.
    bend_mm = 4 * 24 / 60**2 * 16**2
    assert plug.free_low_mm == pytest.approx(bend_mm, abs=0.5)
    assert plug.free_high_mm == pytest.approx(-bend_mm + 3, abs=0.5)
    assert plug.is_following
    inside = (plug.rim.line_mm >= plug.rim.low_mm) & (plug.rim.line_mm <= plug.rim.high_mm)
    assert inside.all()
    assert np.ptp(plug.rim.line_mm) > 2 * bend_mm - 3 - 1


# -- clay ----------------------------------------------------------------------------


def test_clay_strip_runs_round_a_tray_every_ten_millimetres():
    part = bodies_split.part_of(shapes.tray(60, 40, 15))
    made = bodies_split.split(part, job=Job(parting_height_mm=15.0))
    (strip,) = made.line.strips
    # Perimeter 200; corners are cut by up to a column's diagonal each.
    assert strip.length_mm == pytest.approx(200, rel=0.02)
    along = [station.along_mm for station in strip.stations]
    assert along[:-1] == pytest.approx(10.0 * np.arange(len(along) - 1))
    assert along[-1] == strip.length_mm
    low = np.array(made.box.low_mm)
    for station in strip.stations:
        # Rim of the tray, above the inside of the box's floor.
        assert station.height_mm == pytest.approx(15 - low[2], abs=1e-9)
        assert station.low_mm - 1e-9 <= station.height_mm <= station.high_mm + 1e-9
        x, y = np.array(station.from_corner_mm) + low[:2]
        beside = max(abs(x) / 30, abs(y) / 20)
        assert beside == pytest.approx(1, abs=0.03)
    # Back where it began.
    assert strip.stations[-1].from_corner_mm == pytest.approx(
        strip.stations[0].from_corner_mm, abs=2 * made.field.pitch_mm
    )


@pytest.mark.parametrize("kind", ["level", "tilted", "stepped", "following"])
@pytest.mark.parametrize("name", ["saddle", "z_plate", "countersunk"])
def test_part_lies_below_or_above_every_kind_of_surface(name, kind):
    part = {
        "saddle": lambda: bodies_split.part_of(bodies_split.saddle_plate(n_cells=24)),
        "z_plate": z_plate,
        "countersunk": countersunk,
    }[name]()
    made = bodies_split.split(part, job=Job(parting=kind), pitch_mm=0.4)
    line = made.line
    assert line.part_below_mm3 + line.part_above_mm3 == pytest.approx(made.field.volume_mm3)
    assert min(line.filled_above_mm3, line.filled_below_mm3) >= 0
    assert line.trapped_mm3 == made.options[kind].trapped_mm3
    # The surface passes through the line where it meets the part.
    plane = line.surface
    for outline in line.outlines:
        at = surface.read(plane.x_mm, plane.y_mm, plane.heights_mm, outline.points_mm)
        off = np.abs(at - outline.line_mm)
        # Nodes are 0.9 mm apart and the clay falls by up to 6 mm over the 12 to
        # the box: half of that between two nodes. A riser may fall between two.
        assert np.median(off) < 0.45
        if (name, kind) == ("saddle", "following"):
            assert off.max() < 0.9
        if kind in ("level", "tilted"):
            assert off.max() < 1e-9
    # At the walls of the box the clay is level, or on the plane.
    edge = np.concatenate([plane.heights_mm[0], plane.heights_mm[-1]])
    if kind != "tilted":
        assert np.ptp(edge) < 1e-9
        assert edge[0] == line.box_height_mm


def test_mean_of_the_surface_is_that_of_a_fine_grid():
    part = bodies_split.part_of(bodies_split.saddle_plate(n_cells=24))
    plane = bodies_split.split(part, job=Job(parting="following"), pitch_mm=0.4).line.surface
    x, y = (
        np.linspace(nodes[0], nodes[-1], 601)[:-1] + (nodes[-1] - nodes[0]) / 1200
        for nodes in (plane.x_mm, plane.y_mm)
    )
    points = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    mean_mm = surface.read(plane.x_mm, plane.y_mm, plane.heights_mm, points).mean()
    (x0, x1), (y0, y1) = plane.x_mm[[0, -1]], plane.y_mm[[0, -1]]
    found_mm = mean_height_mm(plane, shapely.box(x0, y0, x1, y1))
    assert found_mm == pytest.approx(mean_mm, abs=1e-3)


def test_what_would_tear_is_parted_again_by_a_line_that_traps_least():
    # An ellipsoid lying askew: by the default weights a plain bed is cheaper than
    # a line on the part (its options' own figures), but it traps more.
    part = bodies_split.part_of(bodies_split.ellipsoid())
    turn = shapes.rotation(2)
    made = bodies_split.split(part, turn)
    assert not made.options[made.line.kind].is_free
    wish = LineWish(tie_mm3=made.tie_mm3)
    laid = find_lines(made.drawn, made.job, wish, ends_mm=made.ends_mm)
    first, again = (one.line for one in laid)
    assert first.kind == made.line.kind
    for one in laid:
        over_mm = parting_over(made.drawn.field, one.line, made.drawn.gaps)
        assert np.array_equal(one.built_mm, over_mm)
    assert made.options[again.kind].is_free and again.kind != made.line.kind
    hard = filled(FlexResult, pockets=(filled(PocketFlex, verdict="may tear"),))
    easy = filled(FlexResult, pockets=(filled(PocketFlex, verdict="flexes out"),))
    assert is_worth_another(made.line, hard, tie_mm3=made.tie_mm3)
    assert not is_worth_another(made.line, easy, tie_mm3=made.tie_mm3)
    assert not is_worth_another(again, hard, tie_mm3=made.tie_mm3)
    asked = replace(made.line, is_asked_for=True)
    assert not is_worth_another(asked, hard, tie_mm3=made.tie_mm3)


@pytest.mark.parametrize(
    ("filled_mm3", "height_mm", "tells"),
    [(39e3, 13.0, True), (39e3, 0.0, False), (0.0, 13.0, False)],
)
def test_a_hollow_that_a_hole_leads_into_is_filled_before_the_part_lies_on_it(
    filled_mm3, height_mm, tells
):
    plugs = (filled(HolePlug, number=1, height_mm=height_mm, is_following=False),)
    flat = {"kind": "level", "box_height_mm": 0.0}
    line = filled(PartingLine, plugs=plugs, filled_below_mm3=filled_mm3, **flat)
    job = Job()
    bedding = choose_bedding(line, job, ends_mm=(-job.under_mm, 50.0), upper_ml=100.0)
    assert bedding.kind == "flat-back"
    text = hollow_text(line, filled(MouldResult, bedding=bedding))
    assert ("39.0 ml" in str(text)) == tells == bool(text)
