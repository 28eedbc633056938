"""A mould that is poured in one and cut open: what it takes, where the knife goes, what leaves.

Volumes, arcs and openings are closed forms of the bodies; whether the block leaves is
asked of manifold3d, by moving pieces of the finished solid past the part.
"""

from functools import cache
from pathlib import Path

import bodies as bodies_of
import manifold3d
import numpy as np
import pull
import pytest
import shapely
import trimesh
from cut_bodies import COARSE, RADIUS_MM, ball, ellipsoid, planned

import castplan
from castplan.planning import build_solids

# A shorter test finds first what these find.
LONG = pytest.mark.long
SAMPLES = Path(__file__).parents[2] / "sample_parts"


def solid(mesh):
    """A trimesh mesh as a solid of manifold3d."""
    return manifold3d.Manifold(
        manifold3d.Mesh64(
            np.array(mesh.vertices, np.float64, order="C"),
            np.array(mesh.faces, np.uint64, order="C"),
        )
    )


@cache
def ball_plan():
    return planned(ball(), draw=(0, 0, 1), up=(0, 0, 1))


@cache
def with_solids(name):
    return castplan.plan(SAMPLES / f"{name}.stl", unit="mm", mould="cut", solids={"halves"})


# -- what it takes ------------------------------------------------------------------


@pytest.mark.parametrize(
    "body", [pytest.param(ball(), marks=LONG), ellipsoid()], ids=["ball", "ellipsoid"]
)
def test_it_takes_the_box_less_part_and_sticks(body):
    plan = planned(body, **COARSE)
    block = plan.mould.block
    size = np.subtract(block.high_mm, block.low_mm)
    # The meshes' own volume; the bodies are 0.2 % under the round ones.
    part_ml = body.volume() / 1000
    # Bores as cylinders, the cup a cone's frustum of 45 degrees: by hand from the ports.
    ports_ml = 0.0
    for port in block.ports:
        bore, deep = port.diameter_mm / 2, max((port.cup_mm - port.diameter_mm) / 2, 0.0)
        deep = min(deep, port.length_mm / 2)
        wide = port.cup_mm / 2 if deep else bore
        ports_ml += np.pi * bore**2 * (port.length_mm - deep) / 1000
        ports_ml += np.pi * deep * (bore**2 + bore * wide + wide**2) / 3000
    assert block.upper_ml == pytest.approx(size.prod() / 1000 - part_ml - ports_ml, rel=1e-4)
    assert (block.lower_ml, len(plan.mould.keys.places_mm)) == (0.0, 0)
    (mix, resin) = plan.bench.amounts.mixes
    assert (mix.name, mix.half, mix.net_ml) == ("Mould", "whole", block.upper_ml)
    assert resin.net_ml == pytest.approx(
        part_ml + ports_ml + plan.mould.gate.reservoir_ml, rel=1e-4
    )


@pytest.mark.parametrize("name", ["coat_hook", "sliding_catch"])
def test_mould_part_and_ports_are_the_box(name):
    made = with_solids(name)
    plan, (block,) = made.record, made.solids
    assert block.name == "mould"
    mould = solid(trimesh.Trimesh(block.vertices_mm, block.faces, process=False))
    part_mm3 = trimesh.Trimesh(plan.part.vertices_mm, plan.part.faces).volume
    assert len(mould.decompose()) == 1
    held_ml = (mould.volume() + part_mm3) / 1000 + plan.mould.block.ports_ml
    # Round bores are polygons, and end on a wall of the part that is not level.
    assert held_ml == pytest.approx(plan.mould.block.box_ml, rel=1e-3)


def test_printed_walls_stand_on_the_board_of_the_silicone():
    planned = castplan.plan(SAMPLES / "coat_hook.stl", unit="mm", mould="cut", solids={"walls"})
    plan = planned.record
    points = np.concatenate([wall.vertices_mm for wall in planned.solids])
    size = np.ptp(points, axis=0)
    # As high as the silicone and the rim over it, along what is up at either pour.
    up = plan.split.draw.frame.rotation @ plan.air.attitude.rest.up
    inside = np.subtract(plan.mould.block.high_mm, plan.mould.block.low_mm)
    high_mm = float(np.abs(inside @ up))
    assert high_mm == pytest.approx(plan.mould.block.bedding.mark_mm)
    assert high_mm < size[2] < high_mm + 20.0
    assert size[:2].max() < high_mm  # the hook stands upright, on its end


# -- where the knife goes -------------------------------------------------------------


def test_the_seam_on_a_ball_is_its_arc():
    slit = ball_plan().mould.slit
    # The great circle in front of where the knife stops; columns of 0.08 mm.
    arc_mm = 2 * RADIUS_MM * np.arccos(slit.stop_mm / RADIUS_MM)
    assert slit.chosen.seam_mm == pytest.approx(arc_mm, rel=0.01)
    assert slit.outline_fraction == pytest.approx(arc_mm / (2 * np.pi * RADIUS_MM), rel=0.01)
    # Past the middle by a tenth of the ball's width at least, and less than all round.
    assert -RADIUS_MM < slit.stop_mm <= -0.1 * RADIUS_MM
    on_part = np.concatenate(slit.seams_mm)
    assert np.linalg.norm(on_part, axis=1) == pytest.approx(RADIUS_MM, abs=0.1)


def test_a_bent_lip_opens_as_far_as_the_part_is_high():
    plan = ball_plan()
    slit, block = plan.mould.slit, plan.mould.block
    depth, radius = slit.chosen.depth_mm, slit.radius_mm
    assert (slit.reach_mm, slit.thick_mm) == pytest.approx((20.0, 32.0), abs=0.1)
    # The edge of an arc moves aside by r (1 - cos(l / r)); for bends of under 55 degrees
    # the parabola of the plan is within 8 % of that: the next term is a twelfth of l2 / r2.
    aside_mm = radius * (1 - np.cos(depth / radius))
    assert depth / radius < np.radians(55)
    assert aside_mm == pytest.approx(slit.reach_mm, rel=0.08)
    # The outside of a bent bar is longer than its middle by thickness / (2 radius).
    outside = (radius + slit.thick_mm / 2) / radius - 1
    assert slit.chosen.strain_fraction == pytest.approx(outside, rel=1e-9)
    width_mm = block.high_mm[1] - block.low_mm[1]
    inertia_mm4 = width_mm * slit.thick_mm**3 / 12
    modulus_mpa = plan.split.flex.modulus_high_mpa
    # Cantilever under an end load, Roark's Formulas for Stress and Strain, table 8.1 case 1a.
    force_n = 3 * modulus_mpa * inertia_mm4 * slit.reach_mm / depth**3
    assert slit.chosen.force_n == pytest.approx(force_n, rel=0.02)  # the draw's own y
    # No deeper than a hand asks for.
    assert slit.chosen.verdict == "opens"
    assert force_n == pytest.approx(slit.hand_n, rel=0.02)


def test_the_zigzag_runs_on_the_block_and_ends_where_the_knife_stops():
    plan = ball_plan()
    slit, box = plan.mould.slit, plan.split.box
    way = np.array(slit.way)
    path = slit.outside_mm
    assert path[[0, -1]] @ way == pytest.approx(slit.stop_mm, abs=1e-6)
    assert path[[0, -1], 2] == pytest.approx(plan.split.line.box_height_mm, abs=1e-6)
    assert np.abs(path[:, 2] - slit.middle_mm[:, 2]).max() == pytest.approx(slit.amplitude_mm)
    ring = shapely.LinearRing(box.outline_mm)
    assert shapely.distance(ring, shapely.points(path[:, :2])).max() < 1e-6
    # Depth on both sides and the marked side itself: a box of 64.
    flat_mm = np.linalg.norm(np.diff(path[:, :2], axis=0), axis=1).sum()
    assert flat_mm == pytest.approx(2 * slit.chosen.depth_mm + 64.0, abs=0.1)
    assert slit.chosen.depth_mm + slit.chosen.hinge_mm == pytest.approx(64.0, abs=1e-6)


@pytest.mark.parametrize(
    ("name", "part"),
    [
        ("coat_hook", None),
        pytest.param("ball", ball(), marks=LONG),
        ("ellipsoid", ellipsoid()),
    ],
)
def test_each_lip_lifts_off_and_the_part_slides_out_of_the_rest(name, part):
    choices = {} if part is None else {"draw": (0, 0, 1)}
    made = with_solids(name) if part is None else planned(part, solids={"halves"}, **choices)
    plan, (block,) = made.record, made.solids
    slit = plan.mould.slit
    assert plan.split.line.kind == "level"
    mould = solid(trimesh.Trimesh(block.vertices_mm, block.faces, process=False))
    turned_mm = plan.part.vertices_mm @ plan.split.draw.frame.rotation.T
    body = solid(trimesh.Trimesh(turned_mm, plan.part.faces, process=False))
    # Off the part's own flats by a hair, as solids that share a plane leave slivers.
    level = plan.split.line.box_height_mm
    front = mould.trim_by_plane(slit.way, slit.stop_mm)
    cap = mould.trim_by_plane(tuple(-v for v in slit.way), -slit.stop_mm)
    lips = (front.trim_by_plane((0, 0, 1), level), front.trim_by_plane((0, 0, -1), -level))
    size = np.ptp(turned_mm, axis=0)
    for step in (0.1, 0.4, 1.0):
        for lip, sense in zip(lips, (1.0, -1.0), strict=True):
            moved = lip.translate((0, 0, sense * step * size[2]))
            # What the sampling of the parting leaves, in 0.02 % of the part.
            assert (moved ^ body).volume() < 2e-4 * body.volume()
        # The lips bend; the hinge stays, and the part slides off it toward the opening.
        away = step * float(np.abs(size @ np.array(slit.way)))
        moved = body.translate(tuple(away * v for v in slit.way))
        # So little bends out of the way: a fraction told in the plan's own module, 0.3 %.
        assert (moved ^ cap).volume() < 3.5e-3 * body.volume()


@pytest.mark.parametrize(
    ("name", "choices"),
    [("coat_hook", {}), pytest.param("posts", {"parting": "following"}, marks=LONG)],
)
def test_the_lips_as_solids_are_the_block_and_hold_no_more_than_any_cut(name, choices):
    plan = castplan.plan(SAMPLES / f"{name}.stl", unit="mm", mould="cut", **choices).record
    upper, lower = build_solids(plan, {"lips"})
    turned_mm = plan.part.vertices_mm @ plan.split.draw.frame.rotation.T
    bodies = [
        bodies_of.solid_of(turned_mm, plan.part.faces),
        *(bodies_of.solid_of(lip.vertices_mm, lip.faces) for lip in (upper, lower)),
    ]
    assert [len(body.decompose()) for body in bodies] == [1, 1, 1]
    block = plan.mould.block
    held_ml = sum(body.volume() for body in bodies) / 1000 + block.ports_ml
    assert held_ml == pytest.approx(block.box_ml, rel=1e-3)
    # In front of the hinge, by rays that know nothing of the plan.
    slit = plan.mould.slit
    front = [bodies_of.arrays(body.trim_by_plane(slit.way, slit.stop_mm)) for body in bodies]
    pulled = pull.pull_apart(*front)
    assert pulled.overlap_mm3 < 1.0
    # What the part locks along this draw, and of it what the two looks differ by.
    assert pulled.excess_mm3 <= 1.0 + 2 * pulled.sampling_mm3
    assert pulled.trapped_mm3 == pytest.approx(plan.split.line.trapped_mm3, abs=2.0)


def test_the_knife_keeps_off_the_face_that_shows():
    plan = planned(ellipsoid(), draw=(0, 0, 1), up=(0, 0, 1), show_face=(1, 0, 0))
    slit = plan.mould.slit
    assert {side.side for side in slit.options} == {"+x", "-x", "+y", "-y"}
    shown = {side.side: side.seam_on_show_mm for side in slit.options if side.verdict == "opens"}
    assert shown[slit.chosen.side] == min(shown.values()) < max(shown.values())
    # It starts at the far end, and stops before it comes round to what is seen.
    way = plan.split.draw.frame.point_in_part(slit.way)
    assert way == pytest.approx((-1, 0, 0), abs=1e-6)


def test_the_side_of_gate_and_vents_is_no_place_for_the_knife():
    plan = planned(ellipsoid(), draw=(0, 0, 1), up=(1, 0, 0), **COARSE)
    up = plan.split.draw.frame.rotation @ np.array((1.0, 0, 0))
    ways = [np.eye(3)["xy".index(s.side[1])] * (1 if s.side[0] == "+" else -1) for s in
            plan.mould.slit.options]  # fmt: skip
    assert len(ways) == 3 and all(way @ up < 0.5 for way in ways)
    for route in plan.mould.vents.routes:
        leg = route.path_mm[-1] - route.path_mm[0]
        # A vent near the gate leans off the pouring cup, which stands straight over its gate.
        least = np.cos(np.radians(31.0)) if route.route == "slanted" else 1 - 1e-9
        assert leg @ up >= least * np.linalg.norm(leg)
