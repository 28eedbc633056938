"""Holes: rims as simple loops, their sizes, and the volume they leave open.

Areas and shares are closed forms of the holes made here.
"""

import igl
import numpy as np
import pytest
import shapes

from castplan.part import check, rims


def traced(vertices_mm, faces):
    edges = check.edges_of(np.asarray(faces, dtype=np.int64), n_vertices=len(vertices_mm))
    return rims.trace_rims(edges, vertices_mm)


def sheet(n=8):
    """A flat square of n x n cells of 1 mm, two facets each, normals along +z."""
    x, y = np.meshgrid(np.arange(n + 1.0), np.arange(n + 1.0), indexing="ij")
    vertices = np.column_stack((x.ravel(), y.ravel(), np.zeros(x.size)))
    corner = np.arange((n + 1) ** 2).reshape(n + 1, n + 1)
    a, b, c, d = corner[:-1, :-1], corner[1:, :-1], corner[1:, 1:], corner[:-1, 1:]
    cells = np.stack((a, b, c, a, c, d), axis=-1)
    return vertices, cells


def test_a_sheet_has_one_rim_of_its_outline():
    vertices, cells = sheet()
    loops = traced(vertices, cells.reshape(-1, 3))
    sizes = rims.measure_rims(vertices, loops)
    # Closed forms of a square of 8 mm.
    assert sizes.rim_mm == pytest.approx([32.0])
    assert sizes.area_mm2 == pytest.approx([64.0])
    assert sizes.middle_mm[0] == pytest.approx([4.0, 4.0, 0.0])


def test_holes_that_touch_at_a_corner_are_two():
    vertices, cells = sheet()
    is_kept = np.ones(cells.shape[:2], dtype=bool)
    is_kept[2, 2] = is_kept[3, 3] = False  # share the corner (3, 3)
    loops = traced(vertices, cells[is_kept].reshape(-1, 3))
    sizes = rims.measure_rims(vertices, loops)
    assert sorted(sizes.area_mm2) == pytest.approx([1.0, 1.0, 64.0])
    assert sorted(sizes.rim_mm) == pytest.approx([4.0, 4.0, 32.0])


@pytest.mark.parametrize("seed", range(4))
def test_loops_are_simple_and_use_every_open_edge_once(seed):
    vertices, cells = sheet(20)
    faces = cells.reshape(-1, 3)
    faces = faces[np.random.default_rng(seed).random(len(faces)) > 0.4]
    edges = check.edges_of(faces, n_vertices=len(vertices))
    loops = rims.trace_rims(edges, vertices)
    walked = [
        (int(a), int(b)) for loop in loops for a, b in zip(loop, np.roll(loop, -1), strict=True)
    ]
    is_open = edges.surplus != 0
    wanted = [
        (int(a), int(b)) if s > 0 else (int(b), int(a))
        for (a, b), s in zip(edges.pairs[is_open], edges.surplus[is_open], strict=True)
    ]
    assert sorted(walked) == sorted(wanted)
    assert all(len(set(loop.tolist())) == len(loop) for loop in loops)
    # Caps and facets close: the area of the sheet comes back, holes and all.
    caps = rims.close_rims(vertices, loops)
    closed = np.concatenate((vertices, caps.middles_mm))
    assert (
        check.edges_of(np.concatenate((faces, caps.faces)), n_vertices=len(closed)).surplus.any()
        == np.False_
    )


def test_a_bent_rim_keeps_its_flat_area():
    # A saddle-shaped rim over the unit circle: its vector area is the disc's.
    turn = np.linspace(0, 2 * np.pi, 400, endpoint=False)
    rim = np.column_stack((np.cos(turn), np.sin(turn), 0.3 * np.cos(2 * turn)))
    sizes = rims.measure_rims(rim, [np.arange(400)])
    # 400 sides instead of a circle: 4e-5 short.
    assert sizes.area_mm2[0] == pytest.approx(np.pi, rel=1e-4)


def test_the_doubt_is_where_the_winding_number_is_between_a_quarter_and_a_half():
    # Solid angle of a disc of radius 2 by libigl's exact sum, integrated over
    # rings and heights above it; the same below by symmetry.
    n, radius_mm = 256, 2.0
    turn = np.linspace(0, 2 * np.pi, n, endpoint=False)
    rim = np.column_stack((radius_mm * np.cos(turn), radius_mm * np.sin(turn), np.zeros(n)))
    vertices = np.concatenate((rim, [[0.0, 0.0, 0.0]]))
    fan = np.column_stack((np.arange(n), np.roll(np.arange(n), -1), np.full(n, n)))
    step_mm = 0.02
    middle = step_mm * (np.arange(200) + 0.5)
    r, z = np.meshgrid(middle, middle, indexing="ij")
    points = np.column_stack((r.ravel(), np.zeros(r.size), z.ravel()))
    share = np.abs(igl.winding_number(vertices, fan.astype(np.int64), points))
    volume_mm3 = float((2 * np.pi * points[:, 0] * (share > 0.25)).sum()) * step_mm**2
    # The grid of 0.02 mm leaves about 1 % either way.
    assert rims.doubt_mm3(np.pi * radius_mm**2) == pytest.approx(volume_mm3, rel=0.01)
    # On the axis the level lies at radius / sqrt(3): solid angle 2 pi (1 - cos).
    above = np.abs(
        igl.winding_number(
            vertices,
            fan.astype(np.int64),
            np.array([[0.0, 0.0, radius_mm / np.sqrt(3)]]),
        )
    )
    assert above[0] == pytest.approx(0.25, abs=1e-3)


def test_the_caps_of_a_ball_lie_within_the_doubt():
    # Caps up to 60 degrees from the pole; closed form pi h^2 (3 r - h) / 3.
    for polar_deg in (10, 20, 30, 45, 60):
        angle = np.radians(polar_deg)
        height, radius = 1 - np.cos(angle), np.sin(angle)
        cap = np.pi * height**2 * (3 - height) / 3
        assert cap < rims.doubt_mm3(np.pi * radius**2)


def test_a_closed_body_has_no_rim():
    body = shapes.torus()
    assert traced(body.vertices_mm, body.faces) == []
    assert len(rims.close_rims(body.vertices_mm, []).faces) == 0
    assert rims.measure_rims(body.vertices_mm, []).area_mm2.size == 0
