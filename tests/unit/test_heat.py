"""Ceiling of heat and map of thickness, against closed forms."""

import math
from dataclasses import replace

import numpy as np
import pytest
import shapes
import trimesh
from output.neutral import filled
from scipy.integrate import quad, solve_ivp
from scipy.linalg import solve_banded

from castplan.bench import findings as bench_findings
from castplan.bench.heat import (
    DIFFUSIVITY_MM2_S,
    PLACES,
    adiabatic_rise,
    find_heat,
    kept_by_block,
    kept_in_cup,
    kept_share,
    warmth_of,
)
from castplan.columns.field import sample
from castplan.columns.thickness import length_through, points_inside
from castplan.errors import InputError
from castplan.materials.cards import class_cards, get_card
from castplan.records import (
    Cup,
    DrawResult,
    Frame,
    Job,
    MeshCheck,
    Part,
    Sourced,
    WeighResult,
)

NO_CUPS = filled(WeighResult)


def part_of(mesh):
    return filled(
        Part,
        name="body",
        vertices_mm=np.asarray(mesh.vertices, float),
        faces=np.asarray(mesh.faces, np.int32),
        check=filled(
            MeshCheck,
            extent_mm=tuple(float(v) for v in mesh.extents),
            volume_mm3=float(mesh.volume),
        ),
    )


def heat_of(mesh, job=None, rotation=None):
    draw = filled(DrawResult, frame=Frame(rotation=np.eye(3) if rotation is None else rotation))
    return find_heat(part_of(mesh), draw, NO_CUPS, job or Job())


def number(value, unit, low=None, high=None):
    return Sourced(value=value, unit=unit, basis="assumed", source="test", low=low, high=high)


@pytest.mark.parametrize(
    ("heat_kj_kg", "rise_c"),
    # 31.5 % NCO, half of the mix: 31.5 * 0.5 / 42.02 = 3.748 mol/kg; at 55 and 80 kJ/mol
    # (J. Therm. Anal. Cal. 83 (2006) 355; doi 10.1007/978-94-009-0767-6_11) and 1.8 kJ/kgK
    # (from memory) 114.5 and 166.6 K.
    [(0.315 * 0.5 / 0.04202 * 55, 114.5), (0.315 * 0.5 / 0.04202 * 80, 166.6)],
)
def test_adiabatic_rise_of_a_urethane(heat_kj_kg, rise_c):
    card = filled_card(number(heat_kj_kg, "kJ/kg"), number(1800, "J/(kg K)"))
    assert adiabatic_rise(card).value == pytest.approx(rise_c, abs=0.06)


@pytest.mark.parametrize("thickness_mm", [2.0, 5.0, 12.0, 40.0])
@pytest.mark.parametrize("minutes", [3.0, 30.0])
def test_the_share_kept_is_that_of_finite_differences(thickness_mm, minutes):
    # One dimension, Crank and Nicolson's scheme solved by SciPy, the same stuff in and
    # round the slab, twelve times as far as heat goes. Cells of a 60th of the slab and
    # 400 steps: within 1 %.
    a = DIFFUSIVITY_MM2_S
    reach = 6 * math.sqrt(a * 60 * minutes) + thickness_mm
    cell = min(thickness_mm / 60, reach / 400)
    n = 2 * int(reach / cell) + 1
    x = (np.arange(n) - n // 2) * cell
    inside = np.clip(0.5 + (thickness_mm / 2 - np.abs(x)) / cell, 0, 1)
    step = 60 * minutes / 400
    r = a * step / cell**2 / 2
    bands = np.zeros((3, n))
    bands[0, 1:] = bands[2, :-1] = -r
    bands[1] = 1 + 2 * r
    warm = np.zeros(n)
    for _ in range(400):
        flow = warm.copy()
        flow[1:-1] += r * (warm[2:] - 2 * warm[1:-1] + warm[:-2])
        warm = solve_banded((1, 1), bands, flow + inside / 400)
    share = kept_share(thickness_mm=thickness_mm, minutes=minutes)
    assert warm[n // 2] == pytest.approx(share, rel=0.01)


def test_a_thin_cast_stays_cool_and_a_thick_one_does_not():
    ball = heat_of(trimesh.creation.icosphere(radius=40.0))
    plate = heat_of(trimesh.creation.box((80, 60, 3)))
    assert plate.peak_c.high < ball.peak_c.low
    assert plate.peak_c.value == pytest.approx(plate.thin_c.value, abs=1)
    rise = ball.rise_c
    assert plate.peak_c.high < 23 + rise.high / 2 and ball.peak_c.low > 23 + 0.9 * rise.low


@pytest.mark.parametrize("sides_mm", [(10, math.inf, math.inf), (10, 10, math.inf), (12, 20, 9)])
@pytest.mark.parametrize("minutes", [3.0, 30.0])
def test_the_share_of_a_block_is_that_of_its_slabs(sides_mm, minutes):
    # The mean over its ages by SciPy's adaptive quadrature; the slab by its closed form.
    def kept(age_s):
        return math.prod(
            math.erf(side / (4 * math.sqrt(DIFFUSIVITY_MM2_S * age_s))) for side in sides_mm
        )

    mean, _ = quad(kept, 0, 60 * minutes, limit=200)
    share = kept_by_block(sides_mm=sides_mm, minutes=minutes)
    assert share == pytest.approx(mean / 60 / minutes, rel=2e-3)
    slab = kept_share(thickness_mm=min(sides_mm), minutes=minutes)
    assert share == pytest.approx(slab, rel=2e-3) or share < slab


def test_a_small_ball_stays_cooler_than_a_slab_of_its_thickness():
    # 20 mm: 4.4 g of resin. Its middle loses heat on all sides.
    ball = heat_of(trimesh.creation.icosphere(radius=10.0, subdivisions=3))
    slab = heat_of(trimesh.creation.box((200, 200, 20)))
    assert ball.peak_c.value - 23 < 0.75 * (slab.peak_c.value - 23)

    # It cannot be cooler than a ball of the same stuff, by the same source's instantaneous
    # ball: erf(s) - 2 s exp(-s^2) / sqrt(pi) with s = R / (2 sqrt(a t)).
    def kept(age_s):
        s = 10.0 / (2 * math.sqrt(DIFFUSIVITY_MM2_S * age_s))
        return math.erf(s) - 2 * s / math.sqrt(math.pi) * math.exp(-(s**2))

    mean, _ = quad(kept, 0, 60 * 30.0, limit=200)
    assert ball.peak_c.low >= 23 + ball.rise_c.low * mean / 1800


@pytest.mark.parametrize("mass_g", [20.0, 85.0, 1000.0])
@pytest.mark.parametrize("minutes", [3.0, 30.0])
def test_a_cup_keeps_what_still_air_leaves_it(mass_g, minutes):
    # The balance of heat of a cylinder as high as wide, integrated by SciPy: 10 W/(m2 K)
    # of still air (from memory) on all its surface.
    card = get_card("polyurethane-fast-70d", kind="resin")
    volume_m3 = mass_g / 1.05 * 1e-6
    wide_m = (4 * volume_m3 / math.pi) ** (1 / 3)
    area_m2 = math.pi * wide_m * wide_m + 2 * math.pi / 4 * wide_m**2
    loss = 10 * area_m2 / (mass_g / 1000 * 1800)
    solved = solve_ivp(
        lambda t, kept: 1 / (60 * minutes) - loss * kept, (0, 60 * minutes), [0], rtol=1e-8
    )
    share = kept_in_cup(mass_g=mass_g, minutes=minutes, card=card)
    assert share == pytest.approx(solved.y[0, -1], rel=1e-4)


def test_a_small_cup_gets_less_hot_than_a_large_one():
    def cup_c(mass_g):
        weigh = filled(
            WeighResult,
            cups=(filled(Cup, card="polyurethane-fast-70d", mass_g=mass_g),),
        )
        draw = filled(DrawResult, frame=Frame(rotation=np.eye(3)))
        body = part_of(trimesh.creation.box((20, 20, 20)))
        return find_heat(body, draw, weigh, Job()).cup_c

    small, large = cup_c(20.0), cup_c(1000.0)
    assert small.low + 20.0 < large.low and small.value + 10.0 < large.value
    assert large.low < large.value < large.high < 200.0


def finding_of(mesh):
    return next(
        (found for found in bench_findings._heat(heat_of(mesh)) if found.code == "too-thick"), None
    )


def test_thick_is_a_warning_where_there_is_mass_to_warm():
    # A hemisphere 80 mm across is 134 ml, 141 g; a ball of 28 mm 11.5 ml, 12 g; a plate
    # of 400 g is thin.
    half = trimesh.creation.icosphere(radius=40.0, subdivisions=4)
    half = trimesh.intersections.slice_mesh_plane(half, (0, 0, 1), (0, 0, 1e-6)).convex_hull
    warned = finding_of(half)
    assert warned.severity == "warn"
    assert "25 mm that this resin allows in one pour (from memory); it weighs 14" in str(
        warned.message
    )
    ball = finding_of(trimesh.creation.icosphere(radius=14.0, subdivisions=4))
    assert ball.severity == "note"
    assert finding_of(trimesh.creation.box((200, 200, 10))) is None


def test_a_hemisphere_of_80_mm_is_too_thick_for_a_fast_resin():
    half = trimesh.creation.icosphere(radius=40.0, subdivisions=4)
    half = trimesh.intersections.slice_mesh_plane(half, (0, 0, 1), (0, 0, 1e-6))
    hull = half.convex_hull
    heat = heat_of(hull)
    assert heat.thickest_mm == pytest.approx(40.0, abs=2.0)
    assert heat.limit_mm < heat.thickest_mm and heat.over_limit_fraction > 0.3


@pytest.mark.parametrize("card", class_cards().values(), ids=lambda card: card.card_id)
def test_every_resin_says_how_thick_a_section_it_takes(card):
    # Plaster and wax set without much heat (from memory).
    is_cool = card.kind == "silicone" or card.chemistry in ("plaster", "wax")
    assert (card.max_section_mm is None) == is_cool


def filled_card(heat, capacity):
    card = get_card("polyurethane-fast-70d", kind="resin")
    return replace(card, reaction_heat_kj_kg=heat, specific_heat_j_kg_k=capacity)


def test_the_urethane_card_holds_the_published_range():
    rise = adiabatic_rise(get_card("polyurethane-fast-70d", kind="resin"))
    assert rise.low == pytest.approx(114.5, abs=0.5)
    assert rise.high == pytest.approx(166.6, abs=6)  # at 1750 J/kgK (from memory) instead
    assert rise.low < rise.value < rise.high


@pytest.mark.parametrize("card", class_cards().values(), ids=lambda card: card.card_id)
def test_only_resins_warm(card):
    is_cool = card.kind == "silicone" or card.pour_at_c is not None
    assert (adiabatic_rise(card) is None) == is_cool


def test_length_through_a_point():
    """A block 20 x 20 mm, 10 mm high: its height within it, and a pitch around it."""
    mesh = trimesh.creation.box((20, 20, 10))
    faces = np.asarray(mesh.faces, np.int32)
    field = sample(np.asarray(mesh.vertices), faces, faces[:0], np.eye(3), pitch_mm=1.0)
    points = [(1, 2, 0), (1, 2, 4.9), (1, 2, 5.6), (1, 2, -5.6), (1, 2, 6.5), (40, 0, 0)]
    lengths = length_through(field, np.array(points, float))
    assert lengths == pytest.approx([10, 10, 10, 10, np.inf, np.inf])
    inside, volume_mm3 = points_inside(field)
    assert volume_mm3.sum() == pytest.approx(field.volume_mm3)
    assert length_through(field, inside) == pytest.approx(np.full(len(inside), 10.0))


@pytest.mark.parametrize("turn_deg", [0, 30])
def test_a_plate_is_as_thick_as_it_is(turn_deg):
    """60 x 40 x 5 mm: exact along the draw, however it stands in the file."""
    mesh = trimesh.creation.box((60, 40, 5))
    angle = math.radians(turn_deg)
    rotation = np.array(
        [[math.cos(angle), 0, -math.sin(angle)], [0, 1, 0], [math.sin(angle), 0, math.cos(angle)]]
    )
    mesh.apply_transform(np.block([[rotation.T, np.zeros((3, 1))], [np.zeros((1, 3)), 1]]))
    heat = heat_of(mesh, rotation=rotation)
    assert heat.thickest_mm == pytest.approx(5, rel=1e-6)
    # Along its rim a slanting line is shorter; inside, none is.
    rows, columns = (side // 5 for side in heat.thickness_mm.shape)
    inside = heat.thickness_mm[rows:-rows, columns:-columns]
    assert inside == pytest.approx(np.full(inside.shape, 5.0), rel=1e-6)


def test_a_ball_is_thickest_in_its_middle():
    mesh = trimesh.creation.icosphere(subdivisions=4, radius=10)
    heat = heat_of(mesh)
    # Shortest of 13 chords: 20 mm at the centre; the facets lie 0.2 % within the ball and
    # the nearest sampled point half a pitch of 0.2 mm off.
    assert heat.thickest_mm == pytest.approx(20, rel=0.005)
    assert np.linalg.norm(heat.thickest_at_mm) < 1.0


def test_a_corner_of_two_walls_is_not_as_long_as_the_walls():
    """Walls of 6 mm, 60 and 40 mm long, 50 wide: the ball that fits the inner corner.

    It touches the two outer faces and the inner edge: d = 2 t / (1 + 1/sqrt 2) = 7.03 mm,
    a closed form; the shortest of the 13 lines through a point is never less than that
    and never more than the corner's diagonal, t sqrt 2 = 8.49 mm.
    """
    body = trimesh.boolean.union(
        [
            trimesh.creation.box(bounds=[[0, 0, 0], [60, 50, 6]]),
            trimesh.creation.box(bounds=[[0, 0, 0], [6, 50, 40]]),
        ],
        engine="manifold",
    )
    heat = heat_of(body)
    assert 2 * 6 / (1 + 1 / math.sqrt(2)) <= heat.thickest_mm <= 6 * math.sqrt(2) * 1.01
    x, _, z = heat.thickest_at_mm
    assert x < 6 and z < 6


def test_share_over_the_limit_is_by_volume():
    """A plate of 30 x 30 x 10 mm with a block of 30 x 30 x 30 mm: 9000 and 27000 mm3."""
    plate = trimesh.creation.box(bounds=[[0, 0, 0], [30, 30, 10]])
    block = trimesh.creation.box(bounds=[[50, 0, 0], [80, 30, 30]])
    job = Job(resin="epoxy-slow-80d")  # takes 20 mm
    heat = heat_of(trimesh.util.concatenate([plate, block]), job)
    assert heat.limit_mm == 20
    # Of a cube of side a, the points whose 13 lines are all longer than 2/3 a: those further
    # from each edge than the face diagonals (a - |x| - |y| > a sqrt 2 / 3, ...) and from each
    # corner than the body diagonals allow. By a plain sum over a grid of points.
    grid = (np.arange(60) + 0.5) / 60 - 0.5
    x, y, z = np.meshgrid(grid, grid, grid, indexing="ij")
    shortest = np.ones_like(x)
    for way in [(1, 1, 0), (1, -1, 0), (1, 0, 1), (1, 0, -1), (0, 1, 1), (0, 1, -1)] + [
        (1, a, b) for a in (1, -1) for b in (1, -1)
    ]:
        ahead, behind = np.full_like(x, np.inf), np.full_like(x, np.inf)
        for p, w in zip((x, y, z), way, strict=True):
            if w:
                ahead = np.minimum(ahead, (0.5 - w * p) / abs(w))
                behind = np.minimum(behind, (0.5 + w * p) / abs(w))
        length = (ahead + behind) * math.sqrt(sum(w * w for w in way))
        shortest = np.minimum(shortest, length)
    share = float((shortest > 2 / 3).mean())
    # 96 points along 80 mm sample the cube's edges to about 0.8 of 30 mm.
    assert heat.over_limit_fraction == pytest.approx(0.75 * share, abs=0.02)


def test_the_map_covers_the_shadow():
    heat = heat_of(trimesh.creation.box((48, 24, 6)))
    rows, columns = heat.thickness_mm.shape
    assert columns == 48 and rows in (24, 25)  # the points' own extent may round up
    assert heat.cell_mm == pytest.approx(1.0, rel=0.02)  # within a column of the edge


def test_places_and_what_is_none():
    # Dry heat of IACS UR E10: 55 C, and 70 C in a housing with other equipment; air on board
    # of IACS UR M40: 45 C; all from memory.
    assert [warmth_of(place).value for place in ("shade", "cabin", "behind-glass")] == [45, 55, 70]
    heats = [warmth_of(place).value for place in PLACES]
    assert heats == sorted(heats)
    mesh = trimesh.creation.box((10, 10, 10))
    found = heat_of(mesh, Job(place="cabin")).place_c
    assert (found.value, found.source) == (55, warmth_of("cabin").source)
    assert heat_of(mesh).place_c is None
    with pytest.raises(
        InputError, match="found 'moon', need one of indoors, shade, cabin, behind-glass, on-deck"
    ):
        heat_of(mesh, Job(place="moon"))


def test_full_sun_by_the_sol_air_formula_in_its_own_units():
    """Sol-air temperature as ASHRAE Handbook, Fundamentals, has it in inch-pound units.

    0.15 and 0.30 h ft2 F/Btu for light and dark surfaces, 7 F to the sky (from memory).
    1 Btu/(h ft2) = 3.1546 W/m2. Both unit systems round their constants: 1.2 C apart for dark.
    """
    sun = 1120.0 / 3.1546
    for gain, found_c in zip((0.15, 0.30), PLACES["on-deck"][1:3], strict=True):
        fahrenheit = (45.0 * 9 / 5 + 32) + gain * sun - 7
        assert found_c == pytest.approx((fahrenheit - 32) * 5 / 9, abs=1.2)


def test_a_hook_is_thinner_than_it_is_wide():
    body = shapes.hook()
    mesh = trimesh.Trimesh(body.vertices_mm, body.faces, process=False)
    assert heat_of(mesh).thickest_mm < min(mesh.extents)
