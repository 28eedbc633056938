"""The split of bodies whose answer is known: what holds, how, and where the line runs.

Each expected value is a closed form, derived in `shapes`, `bodies` or
`bodies_split` or beside the check. 256 columns along the longest side.
"""

import math

import bodies
import bodies_split
import numpy as np
import pytest
import shapes

from castplan.columns.gaps import find_gaps
from castplan.columns.scores import score_directions
from castplan.geometry import frames
from castplan.records import DrawWeights, Job

# Columns along walls and rims: see the tests of gaps.
SAMPLING = 3e-3
HALF_MM = (20.0, 14.0, 9.0)
# Of ellipsoids a level bed traps little, and the default weights take it; here
# every line is to keep to its part.
STRICT = DrawWeights(trapped_min_per_ml=3000.0)
ALONG = bodies.ALONG


@pytest.fixture(scope="module")
def splits():
    """Split of a body along a frame, made once."""
    made = {}

    def get(name, body, rotation=ALONG["z"], **choices):
        if name not in made:
            made[name] = bodies_split.split(
                bodies_split.part_of(body), rotation, job=Job(**choices)
            )
        return made[name]

    return get


def locked_mm3(body, rotation, *, pitch_mm=None):
    gaps = find_gaps(bodies.look(body.vertices_mm, body.faces, rotation, pitch_mm=pitch_mm))
    return (
        float((gaps.top_mm - gaps.bottom_mm).sum())
        * (pitch_mm or float(np.ptp(body.vertices_mm, axis=0).max()) / 256) ** 2
    )


@pytest.mark.parametrize(
    "body",
    [
        bodies_split.ellipsoid(),
        bodies_split.hourglass(),
        bodies_split.nested_cups(),
        bodies_split.nested_cups(4.0),
        bodies_split.bowl()[0],
        bodies_split.bored_rod(),
        bodies_split.saddle_plate(),
    ],
)
def test_bodies_are_closed_and_hold_their_volume(body):
    check = bodies_split.part_of(body).check
    assert check.is_watertight
    # Exact for flat facets; the round hole of the rod is 2e-4 of its own off.
    assert check.volume_mm3 == pytest.approx(body.volume_mm3, rel=1e-4)


# -- balls and ellipsoids: free for every draw, the line at the silhouette ---------


def test_convex_bodies_hold_nothing_for_any_draw():
    for body in (shapes.sphere(10, 48), bodies_split.ellipsoid(HALF_MM, 48)):
        rotations = np.array([shapes.rotation(k) for k in range(60)])
        scores = score_directions(body.vertices_mm, body.faces, rotations, pitch_mm=0.25)
        # Convex: one interval a column, to the rounding of their sums.
        assert scores[:, 1].max() < 1e-6 * body.volume_mm3


@pytest.mark.parametrize("seed", [2, 3, 7])
def test_ellipsoid_is_parted_at_its_silhouette(splits, seed):
    turn = shapes.rotation(seed)
    made = splits(f"ellipsoid {seed}", bodies_split.ellipsoid(HALF_MM), turn, draw_weights=STRICT)
    slopes = np.array(bodies_split.silhouette_plane(HALF_MM, turn))
    (outline,) = made.line.outlines
    silhouette_mm = outline.points_mm @ slopes
    # Ranges are read a sliver of 0.1 mm, here a column and a half, inside the
    # outline; there the surface is up to c sqrt(2 d / a) above and below it.
    assert (outline.low_mm < silhouette_mm + 0.15).all()
    assert (outline.high_mm > silhouette_mm - 0.15).all()
    reach_mm = 20 * math.sqrt(2 * 1.5 * made.field.pitch_mm / 9)
    assert np.abs(outline.line_mm - silhouette_mm).max() < reach_mm
    # The seam keeps to mesh edges: within one facet of the silhouette curve,
    # whose points in the normal's terms are those square to the draw.
    seam = made.seam.loops_mm[0] @ turn
    normal = seam / np.square(HALF_MM)
    slope = (normal @ turn[2]) / np.linalg.norm(normal, axis=1)
    # A facet turns by 2 pi / 96, times the sharpest bend of the ellipse, a / c.
    assert np.abs(slope).mean() < 2 * math.pi / 96 * 20 / 9
    # A facet, 1.3 mm wide, may go to the wrong half if that saves as much seam:
    # 2 mm3 a mm, so at most 2.6 mm deep, on the tightest bend (c^2 / a, 4 mm)
    # a slope of 2.6 / (2 x 4).
    assert np.abs(slope).max() < 0.32
    assert len(made.seam.loops_mm) == made.seam.n_expected == 1


@pytest.mark.parametrize("way", [(0.15, 0.1, 1), (-0.1, 0.25, 1), (0.3, 0.0, 1)])
def test_oblique_ellipsoid_takes_a_tilted_plane(splits, way):
    # Tilted and not level: the level at the middle traps, by symmetry, what
    # lies between it and the silhouette's plane; that plane traps nothing.
    turn = frames.turn_to(way)
    made = splits(f"oblique {way}", bodies_split.ellipsoid(HALF_MM), turn, draw_weights=STRICT)
    slopes = np.array(bodies_split.silhouette_plane(HALF_MM, turn))
    assert 0.05 < np.linalg.norm(slopes) < math.tan(math.radians(20))
    assert made.line.kind == "tilted"
    assert made.options["level"].trapped_mm3 > 3 * made.tie_mm3
    assert made.options["tilted"].trapped_mm3 < 0.1 * made.tie_mm3
    # The ranges leave the plane about the reach of a sliver over half the width.
    assert np.abs(np.array(made.line.plane[1:]) - slopes).max() < 0.1


def test_level_split_of_an_oblique_ellipsoid_traps_the_closed_form(splits):
    # Over the ellipse of the shadow, in units that make it the unit circle, the
    # silhouette stands at h(x) = s x (s: its highest), the surface at
    # h + c w and h - c w with w = sqrt(1 - x^2 - y^2). What a level at 0 cuts
    # off is where h > c w on one side and its mirror image on the other: with
    # x = r cos t, twice the integral of (s x - c w) over s x > c w. Integrated
    # numerically here, to 1e-3.
    turn = frames.turn_to((0.3, 0.0, 1))
    made = splits(
        "oblique (0.3, 0.0, 1)", bodies_split.ellipsoid(HALF_MM), turn, draw_weights=STRICT
    )
    m = turn @ np.diag(1 / np.square(HALF_MM)) @ turn.T
    shadow = np.linalg.inv(np.linalg.inv(m)[:2, :2])  # x' S x = 1 is the outline
    slopes = np.array(bodies_split.silhouette_plane(HALF_MM, turn))
    rise_mm = math.sqrt(slopes @ np.linalg.inv(shadow) @ slopes)
    half_mm = 1 / math.sqrt(m[2, 2])
    at = (np.arange(1200) + 0.5) / 600 - 1
    x, y = np.meshgrid(at, at)
    w2 = 1 - x**2 - y**2
    over = np.clip(rise_mm * x - half_mm * np.sqrt(np.clip(w2, 0, None)), 0, None)
    area_mm2 = 1 / math.sqrt(np.linalg.det(shadow))
    expected_mm3 = 2 * over[w2 > 0].sum() / 600**2 * area_mm2
    # A band 1 to 3 mm wide at 0.16 mm a column, on a 96-gon.
    assert made.options["level"].trapped_mm3 == pytest.approx(expected_mm3, rel=0.03)


@pytest.mark.parametrize("seed", range(1, 7))
def test_some_line_frees_an_ellipsoid_whichever_way_it_is_pulled(splits, seed):
    turn = shapes.rotation(seed)
    made = splits(f"ellipsoid {seed}", bodies_split.ellipsoid(HALF_MM), turn, draw_weights=STRICT)
    assert made.options[made.line.kind].is_free
    assert made.undercuts.pockets == ()


@pytest.mark.parametrize("seed", range(1, 7))
def test_by_the_default_weights_no_line_costs_much_more_than_another(splits, seed):
    # What is traded for the work of modelling clay is paid in rubber worked free.
    made = splits(f"plain ellipsoid {seed}", bodies_split.ellipsoid(HALF_MM), shapes.rotation(seed))
    weights, chosen = made.job.draw_weights, made.options[made.line.kind]
    for option in made.line.options:
        extra_min = weights.trapped_min_per_ml * option.trapped_mm3 / 1000
        clay = {"level": 0.0, "tilted": 0.5}.get(option.kind, 1.0)
        climb_mm = option.high_mm - option.low_mm
        clay_min = clay * (weights.following_min + weights.line_min_per_mm * climb_mm)
        assert option.cost_min == pytest.approx(extra_min + clay_min)
        if not chosen.is_free:
            assert chosen.cost_min <= option.cost_min + 5.0


# -- rings, lips and waists --------------------------------------------------------


def test_torus_is_free_along_its_axis_and_a_bridge_across(splits):
    body = shapes.torus(30, 10)
    made = splits("torus", body)
    assert made.line.kind == "level" and made.undercuts.pockets == ()
    assert made.parting.height_mm == pytest.approx(0, abs=made.field.pitch_mm)
    # Genus 1: two closed loops, round the outside and round the hole.
    assert len(made.seam.loops_mm) == made.seam.n_expected == 2
    (plug,) = made.line.plugs
    # Counted in whole columns less a half at either end, which a round rim cuts short.
    assert plug.width_mm == pytest.approx(2 * (30 - 10), abs=3 * made.field.pitch_mm)
    assert plug.height_mm == pytest.approx(0, abs=1)
    across = splits("torus across", body, ALONG["x"])
    # Along x the hole is closed off wherever ring lies before and behind it; it
    # opens at both faces. Of the 2 pi R r^2 pi and its hole, Guldin's theorem
    # gives what lies within the outer edge's slab less the ring: by level,
    # chords of the circle of radius R - w with w half the tube's width there.
    z = (np.arange(20000) + 0.5) / 10000 * 10 - 10
    inner = 30 - np.sqrt(100 - z**2)
    expected_mm3 = float((math.pi * inner**2).sum() * 1e-3)
    largest = across.undercuts.pockets[0]
    assert (largest.kind, largest.n_mouths) == ("bridge", 2)
    # Polygons of 96 and 48 sides hold 0.5 % less ring.
    assert largest.volume_mm3 == pytest.approx(expected_mm3, rel=0.015)
    assert across.flex.pockets[0].verdict == "locked"


@pytest.mark.parametrize(
    ("name", "body", "wide_mm", "narrow_mm"),
    [
        ("lipped cup", shapes.lipped_cup(bore_mm=16, lip_mm=12), 32, 24),
        ("slight lip", shapes.lipped_cup(bore_mm=16, lip_mm=15), 32, 30),
        ("hourglass", bodies_split.hourglass(15, 10, 30), 30, 20),
        ("slim hourglass", bodies_split.hourglass(15, 14, 30), 30, 28),
        ("stemmed cups", bodies_split.nested_cups(4.0), 30, 8),
    ],
)
def test_lip_all_round_stretches_by_its_diameters(splits, name, body, wide_mm, narrow_mm):
    made = splits(name, body)
    (pocket,), (flex,) = made.undercuts.pockets, made.flex.pockets
    assert (pocket.kind, pocket.n_mouths) == ("pocket", 1)
    assert pocket.volume_mm3 == pytest.approx(body.trapped_mm3["z"], rel=SAMPLING)
    assert flex.is_all_round
    # A ring is traced within half a pitch; its perimeter runs up to 1 % long.
    assert flex.wide_mm == pytest.approx(wide_mm, abs=2 * made.field.pitch_mm)
    assert flex.narrow_mm == pytest.approx(narrow_mm, abs=2 * made.field.pitch_mm)
    # Stripping undercuts: (D_max - D_min) / D_min. A core of silicone, within a cup,
    # keeps its volume and is drawn long instead: (D_max / D_min)^2 - 1.
    assert flex.is_core == ("lip" in name)
    ratio = wide_mm / narrow_mm
    stretch = ratio**2 - 1 if flex.is_core else ratio - 1
    slack = 2 * ratio if flex.is_core else 1  # the derivative by the ratio
    assert flex.stretch_fraction == pytest.approx(stretch, abs=0.015 * ratio * slack)


def test_depth_under_a_lip_is_the_way_out_from_under_it(splits):
    # Under the lip of the cup, 12 to 16 mm from the axis and even in height, the
    # way out from radius r is r - 12; shares of the volume grow as r^2.
    made = splits("lipped cup", shapes.lipped_cup(bore_mm=16, lip_mm=12))
    (pocket,) = made.undercuts.pockets
    expected_mm = math.sqrt(12**2 + 0.9 * (16**2 - 12**2)) - 12
    # Fast marching, first order in the pitch.
    assert pocket.depth_mm == pytest.approx(expected_mm, abs=made.field.pitch_mm)


def test_hourglass_is_free_on_its_side(splits):
    made = splits("hourglass side", bodies_split.hourglass(), ALONG["x"])
    assert made.undercuts.pockets == ()
    # Its own mirror plane.
    assert made.line.kind == "level"
    assert made.parting.height_mm == pytest.approx(0, abs=made.field.pitch_mm)


# -- grooves and hooks -------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "body", "axis", "n_pockets"),
    [
        ("dovetail", shapes.dovetail(), "z", 2),
        ("t_slot", shapes.t_slot(), "z", 2),
        ("hook", shapes.hook(), "x", 1),
        ("slot", bodies.slot_block(), "z", 1),
        ("bored", bodies.bored_block(), "z", 1),
    ],
)
def test_open_grooves_are_pockets_with_one_mouth(splits, name, body, axis, n_pockets):
    made = splits(name, body, ALONG[axis])
    pockets = made.undercuts.pockets
    assert [(p.kind, p.n_mouths) for p in pockets] == [("pocket", 1)] * n_pockets
    total_mm3 = sum(p.volume_mm3 for p in pockets)
    assert total_mm3 == pytest.approx(body.trapped_mm3[axis], rel=SAMPLING)
    assert not any(f.is_all_round for f in made.flex.pockets)
    # The same body is free along the groove.
    along = "y" if body.trapped_mm3.get("y") == 0 else "x"
    if body.trapped_mm3.get(along) == 0:
        assert locked_mm3(body, ALONG[along]) == 0


def test_blind_bore_is_as_deep_as_it_was_drilled(splits):
    # 25 mm deep, even in section: tenths of the volume are tenths of the depth.
    made = splits("bored", bodies.bored_block(), ALONG["z"])
    (pocket,), (flex,) = made.undercuts.pockets, made.flex.pockets
    assert pocket.depth_mm == pytest.approx(0.9 * 25, abs=made.field.pitch_mm)
    # Section 12 x 6 all along.
    assert flex.neck_mm2 == pytest.approx(72, rel=0.05)
    assert flex.belly_mm2 == pytest.approx(72, rel=0.05)
    assert flex.thick_mm == pytest.approx(6, rel=1e-3)


# -- bridges -----------------------------------------------------------------------


@pytest.mark.parametrize("axis", ["z", "y"])
@pytest.mark.parametrize("n_across", [96, 256])
def test_hole_across_a_rod_is_a_bridge(axis, n_across):
    # Its mouths stand at the very ends of the shadow.
    body = bodies_split.bored_rod()
    made = bodies_split.split(bodies_split.part_of(body), ALONG[axis], pitch_mm=36 / n_across)
    (pocket,), (flex,) = made.undercuts.pockets, made.flex.pockets
    assert (pocket.kind, pocket.n_mouths) == ("bridge", 2)
    assert flex.verdict == "locked"
    if axis == "z":
        assert pocket.volume_mm3 == pytest.approx(body.trapped_mm3["z"], rel=0.01)


def test_rod_is_free_along_its_hole(splits):
    made = splits("rod x", bodies_split.bored_rod(), ALONG["x"])
    assert made.undercuts.pockets == ()
    assert len(made.seam.loops_mm) == made.seam.n_expected == 2


@pytest.mark.parametrize("seed", range(12))
def test_link_of_chain_is_locked_for_every_draw(seed):
    # Two linked rings cannot be parted by anything simply connected: the space
    # round them has the fundamental group of a torus, that of two balls joined
    # over discs is free. So at every draw some rubber is held from two sides.
    chain = bodies.chain()
    field = bodies.look(chain.vertices_mm, chain.faces, shapes.rotation(seed), pitch_mm=0.3)
    gaps = find_gaps(field)
    weight = (gaps.top_mm - gaps.bottom_mm) * field.cell_mm2
    volume_mm3 = np.bincount(gaps.pocket, weights=weight)
    held = gaps.n_mouths > 1
    # More than the tie: at each crossing at least a rod of rubber between tubes.
    assert held.any() and volume_mm3[held].max() > 6.5


# -- bowls, trays and cups ---------------------------------------------------------


def test_bowl_and_tray_split_at_their_rim_trap_nothing():
    bowl, holds_mm3 = bodies_split.bowl()
    for body, height_mm, inside_mm3 in ((bowl, 20.0, holds_mm3), (shapes.tray(), 15.0, 16500.0)):
        part = bodies_split.part_of(body)
        made = bodies_split.split(part, job=Job(parting_height_mm=height_mm))
        assert made.line.kind == "level" and made.line.is_asked_for
        assert made.line.box_height_mm == pytest.approx(made.field.low_mm[2] + height_mm)
        assert made.line.trapped_mm3 < made.tie_mm3
        # What it holds belongs to the half that reaches into it.
        assert made.line.filled_above_mm3 == pytest.approx(inside_mm3, rel=SAMPLING)
        assert made.line.filled_below_mm3 == pytest.approx(0, abs=1e-6)  # sums of lengths


def test_bowl_is_split_at_its_rim_unasked(splits):
    # Its outside is widest there; free are the heights down to where the tie is
    # reached: on a ball's flank a level z under the rim traps pi z^3 / 3.
    made = splits("bowl", bodies_split.bowl()[0])
    reach_mm = (3 * made.tie_mm3 / math.pi) ** (1 / 3)
    assert made.line.kind == "level"
    assert made.parting.free_high_mm == pytest.approx(0, abs=0.1)
    assert made.parting.free_low_mm == pytest.approx(-reach_mm, abs=0.15)


@pytest.mark.parametrize("stem_mm", [0.0, 4.0])
def test_nested_cups_hold_what_lies_under_the_inner_one(splits, stem_mm):
    body = bodies_split.nested_cups(stem_mm)
    made = splits(f"stem {stem_mm}", body)
    (pocket,) = made.undercuts.pockets
    # The ring between the walls opens upward, like both bores: only the room
    # under the inner cup is shut in. It opens into that ring, all round.
    assert pocket.volume_mm3 == pytest.approx(body.trapped_mm3["z"], rel=SAMPLING)
    assert (pocket.kind, pocket.n_mouths) == ("pocket", 1)
    assert pocket.low_mm[2] == pytest.approx(3) and pocket.high_mm[2] == pytest.approx(9)
    # From radius r the way out is 15 - r.
    inner_mm2 = stem_mm**2
    expected_mm = 15 - math.sqrt(inner_mm2 + 0.1 * (15**2 - inner_mm2))
    assert pocket.depth_mm == pytest.approx(expected_mm, abs=1.5 * made.field.pitch_mm)


# -- a rim that no plane fits ------------------------------------------------------


def test_saddle_needs_a_line_that_follows(splits):
    body = bodies_split.saddle_plate()
    made = splits("saddle", body)
    assert made.undercuts.pockets == ()
    least_mm3 = bodies_split.saddle_level_mm3()
    # No plane traps less than the closed form; the level in the middle is it.
    assert made.options["level"].trapped_mm3 == pytest.approx(least_mm3, rel=0.01)
    assert made.options["tilted"].trapped_mm3 == pytest.approx(least_mm3, rel=0.02)
    assert not made.options["level"].is_free and not made.options["tilted"].is_free
    following = made.options["following"]
    assert following.is_free and following.trapped_mm3 < 1
    # Two corners at 6 mm and two at -6, 3 mm of play at each.
    climb_mm = following.high_mm - following.low_mm
    assert 2 * 6 - 3 - 0.5 < climb_mm < 2 * 6
    assert made.line.kind in ("stepped", "following")


@pytest.mark.parametrize("kind", ["level", "tilted", "stepped", "following"])
def test_the_asked_kind_of_line_is_built(kind):
    part = bodies_split.part_of(bodies_split.saddle_plate(n_cells=24))
    made = bodies_split.split(part, job=Job(parting=kind), pitch_mm=0.5)
    assert made.line.kind == kind and made.line.is_asked_for
    assert made.line.trapped_mm3 == made.options[kind].trapped_mm3
