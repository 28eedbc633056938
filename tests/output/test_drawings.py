"""Boards to cut: read back by ezdxf and by an XML parser, and put together again by shapely.

$INSUNITS 4 is millimetres: DXF reference, HEADER section. In SVG, 1 in = 96 px
= 25.4 mm, so a width in mm with an equal viewBox is true size: CSS Values and
Units, absolute lengths.
"""

import io
import re
import xml.etree.ElementTree as ElementTree
from functools import cache

import bodies
import ezdxf
import moulds
import numpy as np
import pytest
import resvg_py
import shapely
import shapes
from ezdxf.entitydb import EntityDB
from output.neutral import filled
from PIL import Image

from castplan import records
from castplan.files import drawings
from castplan.mould.boards import LEDGE_MM, RIM_MM, cut_boards
from castplan.split.box import choose_box

SVG = "{http://www.w3.org/2000/svg}"
BODIES = {"shelf": shapes.box(90.0, 40.0, 20.0), "tall": shapes.box(250.0, 60.0, 220.0)}


@cache
def plan_of(name="shelf", **choices):
    """A plan of one of the bodies, as far as the drawings need it."""
    body = BODIES[name]
    job = records.Job(**choices)
    field = bodies.look(body.vertices_mm, body.faces)
    box = choose_box(field, job, part_mm3=body.volume_mm3)
    boards = cut_boards(field, box, moulds.surface_over(box, 4.0), job)
    part = shapes.part_of(body.vertices_mm, body.faces, name="shelf & rail")
    return filled(
        records.Plan,
        part=part,
        job=job,
        split=filled(records.Split, box=box),
        mould=filled(records.Mould, boards=boards),
    )


def read_dxf(plan):
    """Closed polylines by layer, as shapely polygons, and the names on the pieces."""
    document = ezdxf.read(io.StringIO(drawings.boards_dxf(plan).decode()))
    lines = {}
    for line in document.modelspace().query("LWPOLYLINE"):
        assert line.closed
        points = [(x, y) for x, y, *_ in line.get_points()]
        lines.setdefault(line.dxf.layer, []).append(shapely.Polygon(points))
    names = [text.dxf.text for text in document.modelspace().query("TEXT")]
    return document, lines, names


def test_dxf_is_in_millimetres_one_layer_a_tool():
    document, lines, names = read_dxf(plan_of())
    assert document.header["$INSUNITS"] == 4
    assert set(lines) == {"CUT", "ENGRAVE"}
    assert names == [
        "long side 1/2",
        "long side 2/2",
        "short side 1/2",
        "short side 2/2",
        "base board",
        "turning board",
    ]
    assert not document.audit().errors


def test_the_boards_make_the_box():
    """Butt joints: two long boards, two short ones between them, as the drawing has them."""
    plan = plan_of(board_mm=9.0)
    _, lines, _ = read_dxf(plan)
    cut = lines["CUT"]
    size = [np.ptp(np.array(p.exterior.coords), axis=0) for p in cut]
    long, short = size[0], size[2]
    assert size[1] == pytest.approx(long)
    assert size[3] == pytest.approx(short)
    t = plan.mould.boards.thickness_mm
    # Seen from above: x along the long side, walls t thick.
    walls = [
        shapely.box(0, 0, long[0], t),
        shapely.box(0, t + short[0], long[0], 2 * t + short[0]),
        shapely.box(0, t, t, t + short[0]),
        shapely.box(long[0] - t, t, long[0], t + short[0]),
    ]
    ring = shapely.union_all(walls)
    assert ring.geom_type == "Polygon"
    assert ring.area == pytest.approx(sum(wall.area for wall in walls))  # no overlap
    inside = shapely.Polygon(ring.interiors[0])
    box = plan.split.box
    wanted = sorted(np.subtract(box.high_mm, box.low_mm)[:2])
    bounds = inside.bounds
    assert sorted((bounds[2] - bounds[0], bounds[3] - bounds[1])) == pytest.approx(wanted)
    height = box.high_mm[2] - box.low_mm[2] + RIM_MM
    assert long[1] == short[1] == pytest.approx(height)


def test_the_base_board_carries_box_and_part():
    plan = plan_of()
    base = next(b for b in plan.mould.boards.boards if b.name == "base board")
    inside, outer, part = (shapely.Polygon(mark) for mark in base.marks_mm)
    size = np.subtract(plan.split.box.high_mm, plan.split.box.low_mm)
    assert inside.area == pytest.approx(size[0] * size[1])
    assert outer.area == pytest.approx((size[0] + 24) * (size[1] + 24))  # boards of 12 mm
    # The shelf is 90 x 40; its outline is sampled at 90 / 256.
    assert part.area == pytest.approx(3600, rel=0.01)
    assert outer.contains(inside)
    assert inside.contains(part)
    assert base.size_mm == pytest.approx((size[0] + 24 + 2 * LEDGE_MM, size[1] + 24 + 2 * LEDGE_MM))
    board = shapely.Polygon(base.outline_mm)
    assert board.contains(outer)
    assert base.outline_mm.min() == 0.0


@pytest.mark.parametrize("kerf", [0.0, 0.2, 3.0])
def test_the_tool_runs_half_a_kerf_outside(kerf):
    _, lines, _ = read_dxf(plan_of(kerf_mm=kerf))
    plain = read_dxf(plan_of())[1]["CUT"]
    for cut, finished in zip(lines["CUT"], plain, strict=True):
        grown = np.subtract(
            np.ptp(cut.exterior.coords, axis=0), np.ptp(finished.exterior.coords, axis=0)
        )
        assert grown == pytest.approx((kerf, kerf), abs=1e-6)


@pytest.mark.parametrize("shape", ["rectangle", "round", "outline"])
def test_pieces_do_not_touch(shape):
    _, lines, _ = read_dxf(plan_of(box=shape, kerf_mm=3.0))
    cut = lines["CUT"]
    tree = shapely.STRtree(cut)
    assert len(tree.query(cut, predicate="dwithin", distance=9.0).T) == len(cut)


def test_svg_is_true_size():
    plan = plan_of()
    root = ElementTree.fromstring(drawings.boards_svg(plan))
    assert root.tag == f"{SVG}svg"
    width, height = root.get("width"), root.get("height")
    assert width.endswith("mm")
    assert height.endswith("mm")
    box = [float(v) for v in root.get("viewBox").split()]
    assert box == [0.0, 0.0, float(width[:-2]), float(height[:-2])]


def test_a_viewer_shows_it_at_true_size():
    """resvg at 254 dots an inch draws 10 dots a millimetre."""
    plan = plan_of(kerf_mm=0.4)
    text = drawings.boards_svg(plan).decode()
    png = resvg_py.svg_to_bytes(svg_string=text, dpi=254, background="#ffffff")
    image = np.asarray(Image.open(io.BytesIO(bytes(png))).convert("RGB")).astype(int)
    pieces, (width, height) = drawings.lay_out(plan.mould.boards)
    assert image.shape[:2] == pytest.approx((10 * height, 10 * width), abs=1)
    is_cut = (image[:, :, 0] > 200) & (image[:, :, 1] < 180) & (image[:, :, 2] < 180)
    rows, columns = np.nonzero(is_cut)
    ends = np.concatenate([piece.cut_mm for piece in pieces])
    low, high = 10 * ends.min(axis=0), 10 * ends.max(axis=0)
    # A line of 0.1 mm is one dot.
    assert (columns.min(), columns.max()) == pytest.approx((low[0], high[0]), abs=1.5)
    flipped = (10 * height - high[1], 10 * height - low[1])
    assert (rows.min(), rows.max()) == pytest.approx(flipped, abs=1.5)


def test_layers_have_the_colours_of_the_shop():
    """Okabe and Ito, Color Universal Design (2008): vermilion 213 94 0, blue 0 114 178."""
    own = records.Shop(cut_colour="#010203", engrave_colour="#0a0b0c")
    wanted = {None: {"CUT": (213, 94, 0), "ENGRAVE": (0, 114, 178)}}
    wanted[own] = {"CUT": (1, 2, 3), "ENGRAVE": (10, 11, 12)}
    for shop, colours in wanted.items():
        plan = plan_of(**({"shop": shop} if shop else {}))
        document, _, _ = read_dxf(plan)
        assert {name: tuple(document.layers.get(name).rgb) for name in colours} == colours
        root = ElementTree.fromstring(drawings.boards_svg(plan))
        for name, rgb in colours.items():
            stroke = root.find(f"{SVG}g[@id='{name}']").get("stroke")
            assert tuple(bytes.fromhex(stroke[1:])) == rgb


def test_svg_and_dxf_are_the_same_drawing():
    plan = plan_of()
    root = ElementTree.fromstring(drawings.boards_svg(plan))
    height = float(root.get("height")[:-2])
    _, lines, names = read_dxf(plan)
    for layer, polygons in lines.items():
        group = root.find(f"{SVG}g[@id='{layer}']")
        paths = group.findall(f"{SVG}path")
        assert len(paths) == len(polygons)
        for path, polygon in zip(paths, polygons, strict=True):
            assert path.get("d").endswith("Z")
            points = np.array(
                [pair.split(",") for pair in re.findall(r"[-\d.]+,[-\d.]+", path.get("d"))], float
            )
            points[:, 1] = height - points[:, 1]
            # SVG carries micrometres.
            assert shapely.Polygon(points).hausdorff_distance(polygon) < 0.002
            assert points.min() >= 0
            assert points[:, 1].max() <= height
    texts = [text.text for text in root.iter(f"{SVG}text")]
    assert texts == names


def test_the_same_plan_gives_the_same_bytes():
    plan = plan_of()
    before = ezdxf.options.write_fixed_meta_data_for_testing
    assert drawings.boards_dxf(plan) == drawings.boards_dxf(plan)
    assert drawings.boards_svg(plan) == drawings.boards_svg(plan)
    assert ezdxf.options.write_fixed_meta_data_for_testing == before


@pytest.mark.parametrize("is_backward", [False, True])
def test_the_order_of_a_set_changes_no_byte(is_backward, monkeypatch):
    before = drawings.boards_dxf(plan_of())
    types_in_use = EntityDB.dxf_types_in_use

    def in_other_order(self):
        return sorted(types_in_use(self), reverse=is_backward)

    monkeypatch.setattr(EntityDB, "dxf_types_in_use", in_other_order)
    assert drawings.boards_dxf(plan_of()) == before


def test_pressure_is_depth_times_weight():
    plan = plan_of()
    boards, box = plan.mould.boards, plan.split.box
    depth_m = (box.high_mm[2] - box.low_mm[2]) / 1000
    density = 1080.0  # the card's 1.08 g/ml
    assert boards.pressure_kpa == pytest.approx(density * 9.81 * depth_m / 1000, rel=1e-6)
    assert boards.first_pour_mm + boards.second_pour_mm == pytest.approx(1000 * depth_m)
    assert boards.bulge_mm < boards.bulge_limit_mm


def test_thin_tall_boards_bulge():
    plan = plan_of("tall", board_mm=4.0)
    assert plan.mould.boards.bulge_mm > plan.mould.boards.bulge_limit_mm
    assert plan_of("tall", board_mm=40.0).mould.boards.bulge_mm < 0.1
