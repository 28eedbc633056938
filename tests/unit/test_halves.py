"""The halves: closed bodies whose volumes add up to the box, and that open along the draw.

Volumes are closed forms of the faceted bodies (tests/shapes.py) and of caps,
cylinders and cones (elementary geometry), measured a second time by trimesh.
"""

import math
from dataclasses import replace

import bodies
import moulds
import numpy as np
import pytest
import shapes
from output.neutral import filled

from castplan import records
from castplan.errors import GeometryError
from castplan.geometry import block, regions
from castplan.mould.halves import make_halves

# body, height of a level parting that traps nothing beyond `trapped_mm3`
LEVEL = {
    "sphere": (shapes.sphere(radius_mm=20.0), 0.0),
    "frustum": (shapes.frustum(), 0.0),
    "torus": (shapes.torus(), 0.0),
    "tray": (shapes.tray(), 10.0),
    "bell": (shapes.bell(), 5.0),
    "lipped cup": (shapes.lipped_cup(), 10.0),
    "two towers": (shapes.two_towers(), 5.0),
    "t slot": (shapes.t_slot(), 5.0),
    "hollow box": (bodies.hollow_box(), 0.0),
    "slot block": (bodies.slot_block(), 10.0),
}


@pytest.fixture(scope="module")
def made():
    return {name: moulds.make_mould(body, z) for name, (body, z) in LEVEL.items()}


def check_law(mould):
    """upper + lower + cavity + ports = box, and both closed, one body each."""
    halves = mould.halves
    total = halves.cavity_mm3 + halves.ports_mm3
    for half in (halves.upper, halves.lower):
        mesh = moulds.as_trimesh(half)
        assert mesh.is_watertight
        assert mesh.is_winding_consistent
        assert mesh.body_count == 1
        # Two programs, one formula: rounding only.
        assert mesh.volume == pytest.approx(half.volume_mm3, rel=1e-9)
        total += mesh.volume
    # The law asks for 0.1 %; cuts in double precision keep a billionth.
    assert total == pytest.approx(halves.box_mm3, rel=1e-9)
    assert halves.n_bodies == (1, 1)


@pytest.mark.parametrize("name", LEVEL)
def test_halves_and_cavity_make_the_box(made, name):
    check_law(made[name])


@pytest.mark.parametrize("name", sorted(set(LEVEL) - {"hollow box"}))
def test_the_cavity_is_the_part(made, name):
    # The files of the bodies are exact to double precision.
    assert made[name].halves.cavity_mm3 == pytest.approx(LEVEL[name][0].volume_mm3, rel=1e-6)


def test_a_sealed_void_is_cast_solid(made):
    # bodies.hollow_box is 40 x 30 x 20 outside; no silicone reaches its inside.
    assert made["hollow box"].halves.cavity_mm3 == pytest.approx(40 * 30 * 20, rel=1e-9)


@pytest.mark.parametrize("name", LEVEL)
def test_each_half_leaves_but_for_the_named_pockets(made, name):
    mould = made[name]
    body = LEVEL[name][0]
    locked = body.trapped_mm3.get("z", 0.0) if name != "hollow box" else 0.0
    held = sum(
        moulds.held_mm3(half, body.vertices_mm, body.faces, mould.box, up=up)
        for half, up in ((mould.halves.upper, True), (mould.halves.lower, False))
    )
    # Sampled at 0.25 mm: half a column along the walls of the pocket.
    assert held == pytest.approx(locked, abs=0.02 * locked + 2.0)


def test_the_leaving_test_can_fail():
    body = shapes.sphere(radius_mm=20.0)
    mould = moulds.make_mould(body, 8.0)
    held = moulds.held_mm3(mould.halves.lower, body.vertices_mm, body.faces, mould.box, up=False)
    # Between equator and a cut at 8: cylinder less spherical zone, by Archimedes
    # V = pi h (R^2 + r^2 + h^2 / 3) / 2 for a zone of radii R and r.
    zone = math.pi * 8 / 2 * (400 + (400 - 64) + 64 / 3)
    # What the lower half holds over the ball: the ring between the cylinder on
    # the equator and the ball, up to the cut.
    ring = math.pi * 400 * 8 - zone
    # A small difference of two volumes: 64 sides and columns of 0.25 mm show.
    assert held == pytest.approx(ring, rel=0.06)


def test_a_symmetric_part_gives_halves_that_differ_by_the_keys():
    mould = moulds.make_mould(shapes.sphere(radius_mm=20.0), 0.0)
    upper, lower = mould.halves.upper, mould.halves.lower
    n, d, h = len(mould.keys.places_mm), mould.keys.diameter_mm, mould.keys.depth_mm
    assert n >= 3
    # Spherical cap: V = pi h (3 a^2 + h^2) / 6, a the radius of its base.
    cap = math.pi * h * (3 * (d / 2) ** 2 + h**2) / 6
    # A ball of 32 segments lies inside the round one: (pi / 32)^2 / 3 of its radius, 3 %.
    assert (upper.volume_mm3 - lower.volume_mm3) / 2 == pytest.approx(n * cap, rel=0.04)


def test_raised_keys_stand_on_the_lower_half():
    job = records.Job(bed="printed")
    mould = moulds.make_mould(shapes.sphere(radius_mm=20.0), 0.0, job=job)
    assert mould.keys.is_raised
    assert mould.halves.lower.volume_mm3 > mould.halves.upper.volume_mm3
    assert mould.halves.lower.vertices_mm[:, 2].max() == pytest.approx(mould.keys.depth_mm)
    check_law(mould)


def test_a_bowl_under_the_parting_goes_to_the_upper_half():
    # shapes.tray: 60 x 40 x 15, walls 5, floor 4; the cut at 10 crosses the bowl.
    mould = moulds.make_mould(shapes.tray(), 10.0)
    assert mould.halves.n_moved == 1
    assert mould.halves.upper.vertices_mm[:, 2].min() == pytest.approx(4.0, abs=1e-9)
    inside = np.abs(mould.halves.lower.vertices_mm[:, :2]) < (24.0, 14.0)
    assert (mould.halves.lower.vertices_mm[inside.all(axis=1), 2] <= 1e-9).all()


def test_a_dome_over_the_parting_goes_to_the_lower_half():
    body = shapes.tray()
    turned = body._replace(vertices_mm=body.vertices_mm * (1, -1, -1), trapped_mm3={})
    mould = moulds.make_mould(turned, -10.0)
    assert mould.halves.n_moved == 1
    assert mould.halves.lower.vertices_mm[:, 2].max() == pytest.approx(-4.0, abs=1e-9)
    check_law(mould)


def test_handing_over_by_booleans_gives_the_same(monkeypatch):
    """The way taken where rims differ in rounding, against the sewn one."""
    sewn = moulds.make_mould(shapes.tray(), 10.0).halves
    monkeypatch.setattr(regions, "_sew", lambda *sides: None)
    united = moulds.make_mould(shapes.tray(), 10.0)
    check_law(united)
    assert united.halves.n_moved == sewn.n_moved == 1
    for name in ("upper", "lower"):
        one, two = getattr(sewn, name), getattr(united.halves, name)
        assert one.volume_mm3 == pytest.approx(two.volume_mm3, rel=1e-9)


SURFACES = {
    "tilted": lambda x, y: 2.0 + 0.15 * x - 0.1 * y,
    "wavy": lambda x, y: 3.0 * np.sin(x / 11.0) * np.cos(y / 9.0),
    "stepped": lambda x, y: np.where(x > 0, 3.0, -3.0),
}


@pytest.mark.parametrize("name", SURFACES)
def test_other_surfaces_keep_the_law(name):
    mould = moulds.make_mould(shapes.torus(), SURFACES[name])
    check_law(mould)
    lower = moulds.as_trimesh(mould.halves.lower)
    box = mould.box
    # The lower half at the wall ends at the surface.
    at = lower.vertices[np.abs(lower.vertices[:, 0] - box.low_mm[0]) < 1e-6]
    top = at[at[:, 2] > box.low_mm[2] + 1e-6]
    wanted = SURFACES[name](top[:, 0], top[:, 1])
    # Between nodes 2.5 mm apart a wave of 9 mm bends by 0.1 mm.
    assert np.abs(top[:, 2] - wanted).max() < 0.15


def test_a_tilted_split_opens_a_tilted_part():
    body = shapes.frustum(low_radius_mm=15.0, high_radius_mm=15.0, height_mm=24.0)
    turn = np.array([[1, 0, 0], [0, math.cos(0.25), -math.sin(0.25)]])
    turn = np.vstack([turn, np.cross(turn[0], turn[1])])
    tilted = body._replace(vertices_mm=(body.vertices_mm - (0, 0, 12)) @ turn.T)
    # Slope of the disc's middle plane: z = y tan(0.25).
    mould = moulds.make_mould(tilted, lambda x, y: y * math.tan(0.25))
    check_law(mould)


def test_ports_take_their_cylinders():
    body = shapes.box(40.0, 30.0, 20.0)
    ports = [((0, 0, 10.0), "gate", 8.0), ((-15, -10, 10.0), "vent", 2.5)]
    mould = moulds.make_mould(body, 0.0, ports=ports)
    check_law(mould)
    high = mould.box.high_mm[2] - 10.0
    # 48-sided cylinders; the cup opens 45 degrees from 8 to 20 mm over 6 mm: a
    # frustum pi h (R^2 + R r + r^2) / 3 instead of its cylinder.
    round_ = shapes.polygon_factor(48)
    gate = round_ * 16 * (high - 6) + round_ * 6 * (100 + 40 + 16) / 3
    vent = round_ * 1.25**2 * high
    assert mould.halves.ports_mm3 == pytest.approx(gate + vent, rel=1e-6)
    # What the plan counts as resin in the cup: round, so a third of a percent more.
    cup = round_ * 6 * (100 + 40 + 16) / 3 - round_ * 16 * 6
    assert block.cup_mm3(mould.mould.ports[0]) == pytest.approx(cup, rel=0.004)
    assert block.cup_mm3(mould.mould.ports[1]) == 0.0


def test_ports_follow_their_routes():
    body = shapes.box(40.0, 30.0, 20.0)
    ports = [((0, 0, 10.0), "gate", 8.0), ((20, 5, 0.0), "vent", 3.0), ((0, 9, 10.0), "vent", 2.0)]
    mould = moulds.make_mould(body, 0.0, ports=ports)
    wall = mould.box.high_mm[0]
    # Vent 1 runs along the parting out of the side; nothing leads out of vent 2.
    routes = (
        filled(
            records.Route,
            label="1",
            route="groove",
            path_mm=np.array([(20.0, 5.0, 0.0), (wall, 5.0, 0.0)]),
        ),
        filled(records.Route, label="2", route="none"),
    )
    no_keys = replace(mould.keys, places_mm=np.empty((0, 3)))
    plain = make_halves(mould.part, replace(mould.cut, keys=no_keys, ports=()))
    halves = make_halves(mould.part, replace(mould.cut, keys=no_keys, routes=routes))
    round_ = shapes.polygon_factor(48)
    high = mould.box.high_mm[2] - 10.0
    gate = round_ * 16 * (high - 6) + round_ * 6 * (100 + 40 + 16) / 3
    groove = round_ * 1.5**2 * (wall - 20.0)
    assert plain.ports_mm3 == 0.0
    assert halves.ports_mm3 == pytest.approx(gate + groove, rel=1e-6)
    # Half of the groove in each half, but for the micrometre of a flat parting.
    lost = plain.lower.volume_mm3 - halves.lower.volume_mm3
    assert lost == pytest.approx(groove / 2, rel=1e-3)


def test_a_gate_stays_inside_a_thin_part():
    body = shapes.box(60.0, 40.0, 2.0)
    mould = moulds.make_mould(body, 0.0, ports=[((0, 0, 1.0), "gate", 8.0)])
    check_law(mould)
    lower = mould.halves.lower
    near = np.hypot(*lower.vertices_mm[:, :2].T) < 5
    # No bore under the part.
    assert not near.any()


@pytest.mark.parametrize("flat", ["top", "base"])
def test_a_parting_in_a_flat_of_the_part(flat):
    """A cut in the plane of a face, with a bore that ends in that plane."""
    body = shapes.box(60.0, 40.0, 2.0)
    z = 1.0 if flat == "top" else -1.0
    mould = moulds.make_mould(body, z, ports=[((0, 0, 1.0), "gate", 8.0)])
    check_law(mould)
    box, n = mould.box, len(mould.keys.places_mm)
    assert n >= 3
    d, h = mould.keys.diameter_mm, mould.keys.depth_mm
    caps = n * math.pi * h * (3 * (d / 2) ** 2 + h**2) / 6 * (1 if mould.keys.is_raised else -1)
    floor = (box.high_mm[0] - box.low_mm[0]) * (box.high_mm[1] - box.low_mm[1])
    plain = floor * (z - box.low_mm[2]) - (4800.0 if flat == "top" else 0.0)
    # Keys within 4 %; a micrometre over the floor; no skin over the flat.
    assert mould.halves.lower.volume_mm3 == pytest.approx(plain + caps, abs=0.04 * abs(caps) + 10)


def test_two_bodies_that_overlap_are_one_cavity():
    one, two = shapes.box(30.0, 30.0, 20.0), shapes.box(30.0, 30.0, 20.0)
    vertices, faces = bodies.joined(one[:2], bodies.moved(two, (10.0, 5.0, 0.0)))
    # Each 18,000; they share 20 x 25 x 20.
    both = shapes.Body(vertices, faces, 2 * 18_000 - 10_000, None, {})
    mould = moulds.make_mould(both, 0.0)
    assert mould.halves.cavity_mm3 == pytest.approx(26_000, rel=1e-9)
    check_law(mould)


def test_a_surface_that_bounds_nothing_is_refused():
    one = shapes.box(20.0, 20.0, 10.0)
    sheet = shapes.Body(one.vertices_mm, one.faces[:5], 4000.0, None, {})
    part = shapes.part_of(sheet.vertices_mm, one.faces)
    whole = moulds.make_mould(one, 0.0)
    # Five triangles of twelve without caps.
    broken = records.Part(
        name="sheet",
        vertices_mm=part.vertices_mm,
        faces=part.faces[:5],
        cap_faces=np.empty((0, 3), np.int32),
        check=part.check,
    )
    with pytest.raises(GeometryError, match="does not bound a solid"):
        make_halves(broken, whole.cut)


@pytest.mark.parametrize("shape", ["round", "outline"])
def test_other_boxes_keep_the_law(shape):
    mould = moulds.make_mould(shapes.torus(), 0.0, job=records.Job(box=shape))
    assert mould.box.shape == shape
    check_law(mould)
    assert len(mould.keys.places_mm) >= 3
