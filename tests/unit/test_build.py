"""Hold-down, equipment, sections: Archimedes, Pythagoras and closed forms."""

import math
from dataclasses import replace
from functools import cache

import bodies
import moulds
import numpy as np
import pytest
import shapely
import shapes
from output.neutral import filled

from castplan import records
from castplan.bench.equipment import Boxed, check_equipment
from castplan.bench.equipment_findings import list_equipment_findings
from castplan.geometry.shutoff import cutting_surface
from castplan.mould.boards import cut_boards
from castplan.mould.findings import list_build_findings
from castplan.mould.holddown import weigh_lift
from castplan.mould.section import cut_sections, plane_cut


def test_wood_floats_in_silicone_and_brass_does_not():
    # A cube of 50 mm displaces 125 ml; 1.08 g/ml of silicone lifts it with 135 g.
    mould = filled(records.MouldResult, part_ml=125.0)
    for density, lift, floats in ((0.6, 60.0, True), (8.5, 0.0, False), (1.08, 0.0, False)):
        job = records.Job(original_density_g_ml=density)
        hold = weigh_lift(mould, job, part_mm3=125_000.0)
        assert hold.displaced_g == pytest.approx(135.0)
        assert hold.lift_g == pytest.approx(lift, abs=1e-9)
        assert hold.is_floating is floats


def test_a_hollow_part_is_lifted_by_its_whole_outside():
    # 25 ml closed void in 125 ml: 100 ml of plastic at 1.05 g/ml weigh 105 g.
    mould = filled(records.MouldResult, part_ml=125.0)
    hold = weigh_lift(mould, records.Job(original_density_g_ml=1.05), part_mm3=100_000.0)
    assert hold.lift_g == pytest.approx(135.0 - 105.0)


def test_a_weighed_part_needs_no_density():
    mould = filled(records.MouldResult, part_ml=125.0)
    hold = weigh_lift(mould, records.Job(original_g=120.0), part_mm3=125_000.0)
    assert (hold.part_g, hold.is_floating) == (120.0, True)
    assert hold.lift_g == pytest.approx(15.0)
    unknown = weigh_lift(mould, records.Job(), part_mm3=125_000.0)
    assert unknown.is_floating is None
    assert unknown.lift_g == pytest.approx(135.0)


def amounts_of(mass_g=400.0):
    mix = filled(records.Mix, mass_g=mass_g, density_g_ml=1.08, half="upper")
    cast = filled(records.Mix, mass_g=100.0, density_g_ml=1.05)
    return filled(records.AmountsResult, mixes=(mix, cast))


def equipment_of(size=(60.0, 80.0, 40.0), pour=(0, 0, 1.0), **choices):
    """A block of a given size; 60 x 80 has a diagonal of 100."""
    x, y = size[:2]
    outline = [(0, 0), (x, 0), (x, y), (0, y)]
    box = filled(
        records.BoxResult,
        shape="rectangle",
        outline_mm=outline,
        low_mm=(0, 0, 0),
        high_mm=size,
    )
    base = filled(records.Board, name="base board", count=1, size_mm=(x + 60, y + 60))
    boards = filled(records.BoardsResult, boards=(base,), thickness_mm=10.0, rim_mm=10.0)
    mould = filled(records.MouldResult, lower_ml=50.0, upper_ml=100.0, part_ml=40.0, ports_ml=2.0)
    other = {2: np.eye(3), 0: bodies.ALONG["x"], 1: bodies.ALONG["y"]}
    up = other[int(np.argmax(pour))][2]
    boxed = Boxed(box=box, boards=boards, block=mould, up=up)
    return check_equipment(boxed, amounts_of(), records.Job(**choices))


def test_a_block_stands_in_a_pot_of_its_diagonal():
    # 3-4-5: between two boards of 10 mm it is 60 high.
    (fit,) = equipment_of(pot_mm=(100.0, 60.0)).fits
    assert (fit.is_fitting, fit.way, fit.is_as_poured) == (True, "draw", True)
    assert fit.need_mm == pytest.approx((100.0, 60.0), abs=1e-6)
    assert not equipment_of(pot_mm=(99.0, 60.0)).fits[0].is_fitting
    assert not equipment_of(pot_mm=(100.0, 59.0)).fits[0].is_fitting


def test_another_side_up_is_found_and_said():
    # Turned x up: 80 x 60 across, hypot 100, 60 high. With y up: 60 x 60, 84.9 across, 80 high.
    (fit,) = equipment_of(pot_mm=(90.0, 90.0)).fits
    assert (fit.is_fitting, fit.way, fit.is_as_poured) == (True, "y", False)
    assert fit.need_mm == pytest.approx((math.hypot(60, 60), 80.0))
    (poured,) = equipment_of(pot_mm=(90.0, 90.0), pour=(0, 1.0, 0)).fits
    assert poured.is_as_poured


def test_a_filled_box_stands_upright_in_the_chamber():
    # Base board 120 x 140, diagonal 184.4; 40 of rubber, 10 of rim, 10 of board.
    (fit,) = equipment_of(chamber_mm=(190.0, 60.0)).fits
    assert (fit.name, fit.way, fit.is_fitting) == ("vacuum chamber", "draw", True)
    assert fit.need_mm == pytest.approx((math.hypot(120, 140), 60.0), rel=1e-6)
    assert not equipment_of(chamber_mm=(184.0, 60.0)).fits[0].is_fitting


def test_masses_add_up():
    found = equipment_of(scale_max_g=500.0)
    # 150 ml at 1.08 and 42 ml at 1.05; a board of 120 x 140 x 10 at 0.75.
    assert found.block_g == pytest.approx(150 * 1.08 + 42 * 1.05)
    assert found.boxed_g == pytest.approx(150 * 1.08 + 168 * 0.75)
    assert found.is_scale_enough is True
    assert equipment_of(scale_max_g=399.0).is_scale_enough is False
    assert equipment_of().is_scale_enough is None


@pytest.mark.parametrize(
    ("body", "axis", "at", "area"),
    [
        (shapes.box(40.0, 30.0, 20.0), 1, 3.0, 800.0),
        (shapes.box(40.0, 30.0, 20.0), 0, 3.0, 600.0),
        # Through the middle of a torus: two 48-gons of radius 10.
        (shapes.torus(), 1, 0.0, 2 * shapes.polygon_factor(48) * 100),
        # A cut in a face's own plane shows it once: the hook's side.
        (shapes.tray(), 1, 0.0, 60 * 15 - 50 * 11),
    ],
)
def test_a_cut_has_the_area_of_its_closed_form(body, axis, at, area):
    rings = plane_cut(body.vertices_mm, body.faces, axis=axis, at_mm=at)
    shape = shapely.Polygon()
    for ring in rings:
        shape = shape.symmetric_difference(shapely.Polygon(ring))
    assert shape.area == pytest.approx(area, rel=1e-9)


def test_a_hollow_body_is_cut_with_its_hole():
    body = bodies.hollow_box()
    rings = plane_cut(body.vertices_mm, body.faces, axis=1, at_mm=0.5)
    assert len(rings) == 2
    # 40 x 20 outside, 24 x 10 inside.
    areas = sorted(shapely.Polygon(ring).area for ring in rings)
    assert areas == pytest.approx([240.0, 800.0])


def test_a_cut_through_surfaces_that_cross_is_their_union():
    # Three tubes; the thin one pokes through the edge of the first. The corners are those of
    # a damaged file, where GEOS gives up on edges that cross between their ends.
    outlines = [
        [
            (4.0, 30.0),
            (7.386059361868895, 23.65113869649582),
            (20.0, 23.65113869649582),
            (14.920910957196657, 21.958109015561373),
            (9.079089042803343, 21.958109015561373),
            (9.079089042803343, 19.037198058364716),
            (5.269772260700836, 22.0),
            (4.0, 22.0),
            (4.0, 28.306970319065552),
        ],
        [(-20.0, 23.65113869649582), (-20.0, 30.0), (-17.81316999545967, 27.319369671853792)],
        [(10.0, 20.518599029182358), (10.0, 22.0), (11.269772260700837, 19.037198058364716)],
    ]
    points, faces = [], []
    for outline in outlines:
        first = len(points)
        points += [(x, y, z) for x, z in outline for y in (-1.0, 1.0)]
        for k in range(len(outline)):
            a, b = first + 2 * k, first + 2 * ((k + 1) % len(outline))
            faces += [(a, b, b + 1), (a, b + 1, a + 1)]
    rings = plane_cut(np.array(points), np.array(faces), axis=1, at_mm=0.0)
    area = shapely.union_all([shapely.Polygon(ring) for ring in rings]).area
    whole = shapely.union_all([shapely.Polygon(outline) for outline in outlines])
    assert area == pytest.approx(whole.area, rel=1e-9)


def test_sections_go_through_the_gate():
    body = shapes.box(60.0, 40.0, 20.0)
    ports = [((5, 4, 10.0), "gate", 8.0), ((-20, 4, 10.0), "vent", 2.5)]
    mould = moulds.make_mould(body, 2.0, ports=ports)
    front, side = cut_sections(mould.part, mould.cut)
    assert (front.name, side.name) == ("front", "side")
    assert (front.at_mm, side.at_mm) == (4.0, 5.0)
    assert [label for label, _ in front.ports_mm] == ["0", "1"]
    assert [label for label, _ in side.ports_mm] == ["0"]
    gate = front.ports_mm[0][1]
    # The bore, and its cup 20 mm across, 6 mm deep at 45 degrees.
    assert np.ptp(gate[gate[:, 1] < mould.box.high_mm[2] - 6.1][:, 0]) == pytest.approx(8.0)
    assert np.ptp(gate[:, 0]) == pytest.approx(20.0)
    assert gate[:, 1].max() == pytest.approx(mould.box.high_mm[2])
    assert front.parting_mm[:, 1] == pytest.approx(2.0)
    assert front.low_corner_mm == (mould.box.low_mm[0], mould.box.low_mm[2])
    # Box less part and bores, cut at y = 4: what is left is silicone.
    x, _, z = np.subtract(mould.box.high_mm, mould.box.low_mm)
    bores = sum(bore * (mould.box.high_mm[2] - 10) for bore in (8.0, 2.5)) + 6 * 6
    silicone = sum(shapely.Polygon(ring).area for ring in (*front.upper_mm, *front.lower_mm))
    assert silicone == pytest.approx(x * z - 60 * 20 - bores)


def test_a_bowl_in_the_cut_belongs_to_the_upper_half():
    # shapes.tray: 60 x 40 x 15, walls 5, floor 4; parted at 10 through its bowl.
    gate = [((27.5, 0, 15.0), "gate", 4.0)]
    mould = moulds.make_mould(shapes.tray(), 10.0, ports=gate)
    line = filled(
        records.PartingLine, kind="level", surface=mould.surface, plugs=(), filled_above_mm3=9000.0
    )
    fine = replace(mould.cut, surface=cutting_surface(mould.field, line))
    front, _ = cut_sections(mould.part, fine)
    middle = shapely.Point(0, 7)
    assert any(shapely.Polygon(ring).contains(middle) for ring in front.upper_mm)
    assert not any(shapely.Polygon(ring).contains(middle) for ring in front.lower_mm)


@cache
def laid_out():
    """Box, keys and boards round a small block."""
    body = shapes.box(40.0, 30.0, 20.0)
    field = bodies.look(body.vertices_mm, body.faces)
    mould = moulds.make_mould(body, 0.0)
    boards = cut_boards(field, mould.box, mould.surface, mould.job)
    return mould.box, {"keys": mould.keys, "boards": boards}


def findings_of(**changes):
    box, made = laid_out()
    return list_build_findings(box, filled(records.Mould, **(made | changes)))


def codes(findings):
    return {finding.code for finding in findings}


def test_findings_say_what_does_not_work():
    assert codes(findings_of()) <= {"box-grown-for-keys"}
    hold = filled(records.HoldDown, is_floating=True, part_g=10.0, lift_g=30.0)
    assert "part-floats" in codes(findings_of(hold=hold))
    misfit = filled(records.Fit, name="pressure pot", is_fitting=False)
    turned = filled(records.Fit, name="pressure pot", is_fitting=True, way="x", is_as_poured=False)
    for fit, code in ((misfit, "does-not-fit"), (turned, "fits-another-way")):
        equipment = filled(records.EquipmentResult, fits=(fit,))
        assert code in codes(list_equipment_findings(equipment))
    small = filled(records.EquipmentResult, is_scale_enough=False)
    assert "scale-too-small" in codes(list_equipment_findings(small))
    bare = filled(records.KeysResult, places_mm=np.empty((0, 3)))
    assert "no-keys" in codes(findings_of(keys=bare))
    bent = filled(records.BoardsResult, thickness_mm=6.0, bulge_mm=4.0, bulge_limit_mm=0.5)
    found = [f for f in findings_of(boards=bent) if f.code == "board-bulges"]
    # A plate twice as thick bends an eighth as far.
    assert "12 mm" in str(found[0].do)
