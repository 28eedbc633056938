"""The printed bed, walls and case: closed, clear of the part, and of the size they should be.

Sizes are of the boxes made here, worked by hand; volumes by manifold3d.
"""

import bodies
import moulds
import numpy as np
import pytest
import shapely
import shapes
import trimesh
from manifold3d import Manifold

from castplan import records
from castplan.geometry import solid
from castplan.mould import bed as beds
from castplan.mould.cases import RIM_MM, WALL_MM, make_case, make_walls

PRINTED = {"bed": "printed"}


def bed_of(body, height, **choices):
    mould = moulds.make_mould(body, height, job=records.Job(**(PRINTED | choices)))
    pieces = beds.make_bed(mould.field, mould.cut, mould.job)
    return mould, pieces


def as_manifold(piece):
    return solid.solid_of(piece.vertices_mm, piece.faces)


BODIES = {
    "sphere": (shapes.sphere(radius_mm=20.0), 0.0),
    "torus": (shapes.torus(), 0.0),
    "frustum": (shapes.frustum(), 12.0),
    "slot block": (bodies.slot_block(), 10.0),
    "t slot": (shapes.t_slot(), 12.0),
    "hook": (shapes.hook(), 20.0),
}


@pytest.mark.parametrize(
    "name",
    [
        pytest.param(name, marks=pytest.mark.long if name in ("torus", "sphere") else ())
        for name in BODIES
    ],
)
def test_the_part_goes_in_from_above_with_its_clearance(name):
    body, height = BODIES[name]
    mould, (bed,) = bed_of(body, height)
    mesh = moulds.as_trimesh(bed)
    assert mesh.is_watertight
    assert mesh.body_count == 1
    assert mesh.volume == pytest.approx(bed.volume_mm3, rel=1e-9)
    printed, part = as_manifold(bed), solid.solid_of(body.vertices_mm, body.faces)
    # Lifted in any step, the part never meets the bed.
    for lift in (0.0, 3.0, 12.0):
        assert (printed ^ part.translate((0, 0, lift))).volume() < 1e-6
    # Moved sideways by less than the clearance it is still free: 0.3 mm, less
    # one step of the seat's grid.
    step = max(np.ptp(body.vertices_mm[:, :2], axis=0).max() / beds.N_LONG, beds.FINEST_MM)
    for way in ((1, 0), (-1, 0), (0, 1), (0, -1)):
        moved = part.translate((*np.multiply(way, 0.3 - step), 0.01))
        assert (printed ^ moved).volume() < 1e-6
    # And it does not fall through: sunk by a millimetre it meets the bed.
    assert (printed ^ part.translate((0, 0, -1.0))).volume() > 1.0
    # No hollow all round it wider than clearance, grid and columns together.
    wide = 0.3 + 2 * step + mould.field.pitch_mm
    assert (printed ^ part.translate((wide, 0, 0))).volume() > 0.0


def test_the_bed_carries_the_part_up_to_the_line():
    # A straight prism: bed = box up to the parting, less the seat, plus keys and rim.
    body = shapes.box(60.0, 40.0, 20.0)
    mould, (bed,) = bed_of(body, 0.0)
    box, gap = mould.box, 0.3
    x, y = np.subtract(box.high_mm, box.low_mm)[:2]
    depth = 0.0 - box.low_mm[2]
    block = (x - 2 * gap) * (y - 2 * gap) * depth
    d, h, n = mould.keys.diameter_mm, mould.keys.depth_mm, len(mould.keys.places_mm)
    caps = n * np.pi * h * (3 * (d / 2) ** 2 + h**2) / 6
    boards = np.array([x, y]) + 2 * (12.0 + gap)
    outer = boards + 2 * beds.LIP_MM
    rim = outer.prod() * beds.PLATE_MM + (outer.prod() - boards.prod()) * beds.LIP_HIGH_MM
    # The seat is 10 deep and wider by the clearance and the seat's ramp.
    seats = [(60 + 2 * w) * (40 + 2 * w) * 10 for w in (0.3, 0.9)]
    rest = block + caps + rim - bed.volume_mm3
    assert seats[0] - 0.05 * caps < rest < seats[1] + 0.05 * caps
    # It ends at the parting, keys above it, and reaches below the box's floor.
    assert bed.vertices_mm[:, 2].max() == pytest.approx(mould.keys.depth_mm)
    assert bed.vertices_mm[:, 2].min() == pytest.approx(box.low_mm[2] - beds.PLATE_MM)


@pytest.mark.long
def test_a_plug_stands_in_a_hole():
    mould, (bed,) = bed_of(shapes.torus(), 0.0)
    # shapes.torus: ring 30, tube 10, so the hole is 20 wide at z = 0.
    probe = Manifold.cylinder(1.0, 15.0, 15.0, 64).translate((0, 0, -1.0))
    printed = as_manifold(bed)
    assert (printed ^ probe).volume() == pytest.approx(probe.volume(), rel=1e-9)
    assert mould.keys.is_raised


def test_pockets_below_stay_closed():
    # bodies.slot_block: a slot 6 high reaches 25 in from one side, under the parting.
    body = bodies.slot_block()
    low = body.vertices_mm[:, 2].min()
    _, (bed,) = bed_of(body, 16.0)
    inside = Manifold.cube((20.0, 20.0, 20.0)).translate((2.0, 5.0, low))
    # Nothing of the bed stands in the part's shadow above its underside.
    assert (as_manifold(bed) ^ inside).volume() < 1e-6


@pytest.mark.parametrize(
    "printer",
    [pytest.param((222.0, 205.0, 190.0), marks=pytest.mark.long), (90.0, 130.0, 90.0)],
)
def test_pieces_fit_the_printer_and_make_the_bed(printer):
    body = shapes.box(150.0, 70.0, 10.0)
    _, whole = bed_of(body, 0.0, printer_mm=(1000.0, 1000.0, 1000.0))
    assert len(whole) == 1
    pieces = beds.split_for_printer(as_manifold(whole[0]), "bed", records.Job(printer_mm=printer))
    for piece in pieces:
        mesh = moulds.as_trimesh(piece)
        assert mesh.is_watertight
        size = sorted(mesh.extents[:2])
        room = sorted(np.array(printer[:2]) - 10.0)  # 5 mm of edge all round
        assert size[0] <= room[0] + 1e-6
        assert size[1] <= room[1] + 1e-6
    total = sum(piece.volume_mm3 for piece in pieces)
    assert total == pytest.approx(whole[0].volume_mm3, rel=1e-9)
    names = {piece.name for piece in pieces}
    assert len(names) == len(pieces)


def test_a_panel_of_156_mm_prints_in_one_piece():
    # 186 mm of box and boards of 12 with their lip are over the 212 mm of the printer.
    printer = (222.0, 205.0, 190.0)
    mould, pieces = bed_of(shapes.box(156.0, 70.0, 10.0), 0.0, printer_mm=printer)
    assert mould.box.high_mm[0] - mould.box.low_mm[0] == pytest.approx(186.0)
    (bed,) = pieces
    mesh = moulds.as_trimesh(bed)
    assert mesh.is_watertight and mesh.extents[0] <= 212.0
    # The boards still stand on it, 4 mm deep all round; with room there is a lip outside.
    assert mesh.extents[0] == pytest.approx(186.0 + 2 * (beds.SEAT_MM + 0.3), abs=0.01)
    _, (wide,) = bed_of(shapes.box(156.0, 70.0, 10.0), 0.0, printer_mm=(300.0, 300.0, 300.0))
    assert np.ptp(wide.vertices_mm[:, 0]) == pytest.approx(186.0 + 2 * (16.0 + 0.3), abs=0.01)


def test_without_a_printer_the_bed_is_one_piece():
    _, (bed,) = bed_of(shapes.box(600.0, 70.0, 10.0), 0.0)
    assert np.ptp(bed.vertices_mm[:, 0]) > 600.0


@pytest.mark.parametrize("shape", ["rectangle", "round", "outline"])
def test_printed_walls_stand_round_the_box(shape):
    mould = moulds.make_mould(shapes.torus(), 0.0, job=records.Job(box=shape))
    walls = make_walls(mould.box, mould.job)
    assert len(walls) == 2
    inside = shapely.Polygon(mould.box.outline_mm)
    height = mould.box.high_mm[2] - mould.box.low_mm[2] + RIM_MM
    block = solid.prism(inside, low_mm=mould.box.low_mm[2], high_mm=mould.box.low_mm[2] + height)
    both = as_manifold(walls[0]) + as_manifold(walls[1])
    for wall in walls:
        mesh = moulds.as_trimesh(wall)
        assert mesh.is_watertight
        assert mesh.body_count == 1
        # Corners stand a thousandth apart or more, so files keep them apart.
        assert trimesh.Trimesh(mesh.vertices.astype(np.float32), mesh.faces).is_watertight
    # They stand on a grid of a thousandth.
    assert (both ^ block).volume() < 1e-3 * height * inside.length
    # Closed all round: the block fills the ring, and the pair is one ring.
    ring = inside.buffer(WALL_MM, join_style="mitre").area - inside.area
    assert both.volume() > 0.97 * ring * height
    assert both.bounding_box()[5] - both.bounding_box()[2] == pytest.approx(height)


def test_the_case_holds_the_rubber():
    body = shapes.box(60.0, 40.0, 20.0)
    ports = [((0, 0, 10.0), "gate", 8.0), ((-25, -15, 10.0), "vent", 2.5)]
    mould = moulds.make_mould(body, 0.0, ports=ports)
    lower, upper = make_case(mould.part, mould.cut, mould.job, parting_mm=0.0)
    rubber = as_manifold(mould.halves.upper) + as_manifold(mould.halves.lower)
    for tray in (lower, upper):
        mesh = moulds.as_trimesh(tray)
        assert mesh.is_watertight
        assert mesh.body_count == 1
        assert (as_manifold(tray) ^ rubber).volume() == 0.0
    size = np.subtract(mould.box.high_mm, mould.box.low_mm)
    gap = mould.job.bed_clearance_mm
    inner, outer = size + 2 * gap, size + 2 * (gap + WALL_MM)
    bores = outer.prod() - inner.prod() - lower.volume_mm3 - upper.volume_mm3
    # Cup of 20 mm and vent of 2.5 mm through 4 mm of case; the cup still widens.
    assert shapes.polygon_factor(48) * 100 * WALL_MM < bores < np.pi * 15**2 * 6
