"""Maps of the surface against closed forms: draft, thickness, what holds, depth, air."""

import math
from dataclasses import replace

import bodies
import bodies_split
import numpy as np
import pytest
import shapes
from output.neutral import filled

from castplan.columns.flood import fill_field
from castplan.geometry.shutoff import parting_over
from castplan.planning import build_plan
from castplan.records import AirResult, Job, Peak
from castplan.view import surface_maps
from castplan.view.records import CLOSED, FREE, HELD_LOWER, HELD_UPPER
from castplan.view.scene import build_scene
from castplan.view.surface_maps import map_surface, shown_part

# A class ends between two facets; the finest are this long along its limit.
EDGE_MM = 1.0


def maps_of(body, *, job=None, part=None):
    """The maps of a body split along z; the pour is of no matter."""
    part = part or bodies_split.part_of(body)
    s = bodies_split.split(part, job=job)
    top = int(np.argmax(s.field.top_mm))
    filling = fill_field(s.field, source=top, openings=[top])
    peaks = (filled(Peak, number=1),)
    return map_surface(
        part,
        s.frame,
        parting_over(s.field, s.line),
        s.field,
        s.held,
        s.pocket_of_gap,
        filling,
        filled(AirResult, frame=s.frame, peaks=peaks),
        shown_part(part),
    )


def facets(maps):
    """Middle, normal and area of every facet."""
    a, b, c = (maps.vertices_mm[maps.faces[:, k]] for k in range(3))
    cross = np.cross(b - a, c - a)
    double = np.linalg.norm(cross, axis=1)
    return (a + b + c) / 3, cross / double[:, None], 0.5 * double


def test_draft_of_a_cone_is_the_angle_of_its_sides():
    # Flat sides of an n-gon's frustum: tan(draft) = (R - r) cos(pi / n) / h.
    maps = maps_of(shapes.frustum(20.0, 10.0, 30.0, n_sides=64))
    _, normal, _ = facets(maps)
    is_side = np.abs(normal[:, 2]) < 0.9
    draft = math.degrees(math.atan2(10.0 * math.cos(math.pi / 64), 30.0))
    assert maps.draft_deg[is_side] == pytest.approx(np.full(is_side.sum(), draft), abs=1e-6)
    assert maps.draft_deg[~is_side] == pytest.approx(np.full((~is_side).sum(), 90.0), abs=1e-6)
    assert (maps.holder == FREE).all()


@pytest.mark.parametrize("thick_mm", [2.0, 5.0])
def test_thickness_of_a_plate(thick_mm):
    maps = maps_of(shapes.box(60.0, 40.0, thick_mm))
    # At the sides too, deep though they lead in: the plate is thin in their middle.
    assert maps.thickness_mm == pytest.approx(np.full(len(maps.faces), thick_mm), abs=1e-9)


def test_thickness_of_a_plate_that_stands_askew():
    body = shapes.box(60.0, 40.0, 3.0)
    turned = body._replace(vertices_mm=shapes.rotated(body.vertices_mm, seed=4))
    maps = maps_of(turned)
    _, _, area = facets(maps)
    # Its two large faces are told along the nearest of 49 ways and turned onto the
    # normal: exact but for a strip 3 tan(14 degrees) wide where that leaves by an edge.
    is_right = np.abs(maps.thickness_mm - 3.0) < 1e-6
    strip_mm2 = 2 * (60 + 40) * 3.0 * math.tan(math.radians(14))
    assert area[is_right].sum() > 2 * (60 * 40 - strip_mm2)


def test_thickness_of_a_ball_is_its_diameter():
    maps = maps_of(shapes.sphere(12.0, n_sides=96))
    # Every line through the middle is a diameter; the middle is found along one of 49
    # ways, up to 14 degrees off the normal, whose chord is short by cos(14)^2, 6 %.
    assert np.median(maps.thickness_mm) == pytest.approx(24.0, rel=0.03)
    assert maps.thickness_mm.min() > 24.0 * 0.90
    assert maps.thickness_mm.max() <= 24.0 + 1e-6


def test_a_slot_holds_on_its_three_faces_as_deep_as_it_is():
    deep, high, wide = 25.0, 6.0, 30.0
    maps = maps_of(bodies.slot_block((40.0, wide, 20.0), depth_mm=deep, slot_mm=high))
    middle, _, area = facets(maps)
    is_held = (maps.holder == HELD_UPPER) | (maps.holder == HELD_LOWER)
    # Floor and roof of the slot, and its end: held whatever the split.
    exact = 2 * deep * wide + high * wide
    assert area[is_held].sum() == pytest.approx(exact, rel=0.02)
    assert (maps.pocket[is_held] == 1).all() and (maps.pocket[~is_held] == 0).all()
    # The way out is to the nearest open side: two at y, one at x.
    open_mm = np.minimum(
        maps.vertices_mm[:, 0].max() - middle[:, 0],
        0.5 * wide - np.abs(middle[:, 1] - maps.vertices_mm[:, 1].mean()),
    )
    off = np.abs(maps.depth_mm - open_mm)[is_held]
    assert np.percentile(off, 95) < EDGE_MM
    assert maps.depth_mm[~is_held].max() == 0


def test_a_ball_split_above_its_middle_holds_a_zone():
    # Archimedes: the zone of a sphere between two levels has the area 2 pi R h.
    radius, above = 12.0, 3.0
    maps = maps_of(
        shapes.sphere(radius, n_sides=96), job=Job(parting="level", parting_height_mm=15.0)
    )
    _, _, area = facets(maps)
    held = area[maps.holder == HELD_LOWER].sum()
    assert held == pytest.approx(2 * math.pi * radius * above, rel=0.05)
    assert not (maps.holder == HELD_UPPER).any()
    below = area[~maps.is_upper].sum()
    assert below == pytest.approx(2 * math.pi * radius * (radius + above), rel=0.02)


def test_no_rubber_gets_into_a_closed_void():
    inner = (24.0, 18.0, 10.0)
    maps = maps_of(bodies.hollow_box(inner_mm=inner))
    _, _, area = facets(maps)
    a, b, c = inner
    assert area[maps.holder == CLOSED].sum() == pytest.approx(2 * (a * b + b * c + c * a))


def test_a_bowl_is_free():
    maps = maps_of(shapes.tray())
    assert (maps.holder == FREE).all()
    assert maps.depth_mm.max() == 0


@pytest.fixture(scope="module")
def towers():
    """Two towers, the lower one left without a vent: its air cannot get out."""
    body = shapes.two_towers()
    job = Job(draw=(0, 0, 1), up=(0, 0, 1), vent_min_height_mm=25.0)
    part = shapes.part_of(body.vertices_mm, body.faces)
    plan = build_plan(part, job)
    return plan, build_scene(plan)


def test_air_stays_on_all_of_an_unvented_tower(towers):
    _, scene = towers
    maps = scene.surface
    middle, _, area = facets(maps)
    # Top and four sides of a tower of 16 x 16 x 20 mm over the base.
    assert area[maps.is_caught].sum() == pytest.approx(16 * 16 + 4 * 16 * 20, rel=0.02)
    assert (middle[maps.is_caught, 0] < 0).all()
    # The resin cuts it off when the base is full, 10 mm up.
    assert maps.cut_off_mm[maps.is_caught] == pytest.approx(10.0, abs=0.1)
    # It stays over the base, at one height on every facet, whatever the facet's own.
    assert maps.air_floor_mm[maps.is_caught] == pytest.approx(10.0, abs=0.1)
    # Too small to be listed by the job's own limit, so it has no number.
    assert not maps.peak.any()


def test_a_listed_point_that_gets_no_vent_keeps_its_own_air():
    body = bodies.posts((8.0, 14.0, 11.0, 20.0))
    job = Job(draw=(0, 0, 1), up=(0, 0, 1), max_vents=1, feed="top")
    plan = build_plan(shapes.part_of(body.vertices_mm, body.faces), job)
    maps = build_scene(plan).surface
    _, _, area = facets(maps)
    # The gate takes the tallest post, the vent the next; top and sides of 6 x 6 mm
    # posts 11 and 8 mm high keep air.
    kept = {
        p.number: p.height_mm
        for p in plan.air.openings.peaks
        if p.number in set(maps.peak.tolist())
    }
    assert sorted(kept.values()) == pytest.approx([13.0, 16.0], abs=1e-6)
    for number, height_mm in kept.items():
        exact = 36.0 + 24.0 * (height_mm - 5.0)
        assert area[maps.peak == number].sum() == pytest.approx(exact, rel=0.04)


def test_the_film_ends_full_but_for_the_air(towers):
    _, scene = towers
    film = scene.film
    cavity_ml = shapes.two_towers().volume_mm3 / 1000
    air_ml = 16 * 16 * 20 / 1000
    assert film.cavity_ml == pytest.approx(cavity_ml, rel=0.01)
    assert film.filled_ml[-1] == pytest.approx(cavity_ml - air_ml, rel=0.01)
    assert film.caught_ml[0] == 0 and film.caught_ml[-1] == pytest.approx(air_ml, rel=0.02)
    assert np.diff(film.filled_ml) == pytest.approx(film.filled_ml[-1] / (len(film.filled_ml) - 1))
    assert (np.diff(film.level_mm) >= -1e-2).all()
    # A third of the base full is a third of its height up.
    assert film.level_mm[-1] == pytest.approx(45.0)


def test_resin_that_runs_over_an_edge_fills_the_second_leg_from_below():
    # A square U upside down, the gate on one leg's end of the bend: both legs hang
    # from the bend, so the second fills over the edge at the bend's underside.
    body = bodies.u_rod(arms_mm=(30.0, 30.0), thick_mm=8.0, gap_mm=14.0, floor_mm=6.0)
    s = bodies_split.split(bodies_split.part_of(body), rotation=np.diag([1.0, -1.0, -1.0]))
    top = int(np.argmax(s.field.top_mm + 1e-3 * s.field.centre_mm(s.field.column_of)[:, 0]))
    filling = fill_field(s.field, source=top, openings=[top])
    spills = filling.spills(min_mm3=50.0)
    assert len(spills) == 1
    leg_mm3 = 8.0 * 8.0 * 24.0
    assert spills[0].volume_mm3[-1] == pytest.approx(leg_mm3, rel=0.02)
    assert spills[0].sill_mm == pytest.approx(-6.0)
    assert spills[0].height_mm[[0, -1]] == pytest.approx([-30.0, -6.0])
    half = np.interp(-18.0, spills[0].height_mm, spills[0].volume_mm3)
    assert half == pytest.approx(leg_mm3 / 2, rel=0.02)


def test_a_heavy_part_is_thinned_and_says_so(monkeypatch):
    monkeypatch.setattr(surface_maps, "MOST_FACETS", 4_000)
    body = shapes.torus(30.0, 10.0, n_ring=96, n_tube=48)
    assert len(shown_part(bodies_split.part_of(body))[1]) <= 4_000
    maps = maps_of(body)
    assert maps.is_thinned
    # Quadric collapse keeps a smooth ring within a few hundredths of its tube.
    away = np.hypot(np.hypot(*maps.vertices_mm[:, :2].T) - 30.0, maps.vertices_mm[:, 2])
    assert away == pytest.approx(np.full(len(away), 10.0), abs=0.1)
    light = maps_of(shapes.box())
    assert not light.is_thinned


def test_the_halves_are_left_out_where_none_can_be_cut(towers):
    plan, whole = towers
    assert [half.name for half in whole.halves] == ["upper half", "lower half"]
    # One facet turned inside out bounds no solid.
    faces = plan.part.faces.copy()
    faces[0] = faces[0][::-1]
    scene = build_scene(replace(plan, part=replace(plan.part, faces=faces)))
    assert scene.halves == ()
    assert "does not bound a solid" in scene.why_no_halves


def test_the_same_plan_gives_the_same_scene(towers):
    plan, scene = towers
    again = build_scene(plan)
    for name in ("vertices_mm", "faces", "thickness_mm", "holder", "basin", "open_fraction"):
        assert np.array_equal(getattr(scene.surface, name), getattr(again.surface, name))


def test_every_pocket_of_many_is_a_class_of_its_own():
    # More pockets than fit into the bytes that holders come in; counted by Python.
    pocket = np.arange(300, dtype=np.int64)
    kinds = [(holder, caught) for holder in range(4) for caught in (False, True)]
    told = np.concatenate(
        [
            surface_maps.class_of(np.full(300, holder, np.int8), np.full(300, caught), pocket)
            for holder, caught in kinds
        ]
    )
    assert len(set(told.tolist())) == len(kinds) * 300
