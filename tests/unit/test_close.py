"""One-sided scans: refused, closed to a plane, or given a thickness; never silently.

Volumes are closed forms of the sheets made here.
"""

import numpy as np
import pytest
import shapes
import trimesh

from castplan.errors import THICKNESS, GeometryError, InputError
from castplan.part.close import Closing
from castplan.part.load import Reading, Source, load_part, part_from_arrays

ROUNDING = 1e-12


def without(body, is_dropped):
    """The faces of a body whose corners do not all fulfil `is_dropped` (n,) -> bool."""
    return body.faces[~is_dropped(body.vertices_mm)[body.faces].all(axis=1)]


def below(z_mm):
    return lambda points: points[:, 2] <= z_mm + 1e-9


def stl_of(folder, vertices_mm, faces):
    path = folder / "face.stl"
    path.write_bytes(trimesh.Trimesh(vertices_mm, faces, process=False).export(file_type="stl"))
    return path


def test_a_show_face_alone_is_refused_with_the_ways_out(tmp_path):
    body = shapes.frustum(20.0, 16.0, 6.0)
    path = stl_of(tmp_path, body.vertices_mm, without(body, below(0.0)))
    with pytest.raises(
        GeometryError, match=r"one side missing \(a hole of .*--close-to-plane.*--thickness"
    ):
        load_part(path, unit="mm")
    part = load_part(path, Reading(unit="mm", closing=Closing()))
    # The rim is flat: the plane is the base that was taken away.
    assert part.check.volume_mm3 == pytest.approx(body.volume_mm3, rel=1e-6)  # float32 file
    assert str(part.check.changes[0]).startswith("closed 1 open side (12.5 cm2) to a plane")


def test_a_hole_in_a_closed_body_is_not_a_missing_side(tmp_path):
    body = shapes.sphere(20.0, 64)
    path = stl_of(tmp_path, body.vertices_mm, without(body, below(-18.0)))
    assert load_part(path, unit="mm").check.n_holes == 1


def test_walls_reach_down_to_the_plane():
    # A box without its bottom whose walls end in a zigzag between z = -10 and
    # -4; the rim's middle plane is level, the plane of the back at z = -10.
    n = 40
    turn = np.linspace(0, 2 * np.pi, n, endpoint=False)
    ring = np.column_stack((10 * np.cos(turn), 10 * np.sin(turn)))
    low = np.where(np.arange(n) % 2, -10.0, -4.0)
    vertices = np.concatenate(
        (
            np.column_stack((ring, np.full(n, 5.0))),
            np.column_stack((ring, low)),
            [[0.0, 0.0, 5.0]],
        )
    )
    after = np.roll(np.arange(n), -1)
    k = np.arange(n)
    faces = np.concatenate(
        (
            np.column_stack((k, after, np.full(n, 2 * n))),
            np.column_stack((k + n, after + n, after)),
            np.column_stack((k + n, after, k)),
        )
    )
    part = part_from_arrays(vertices, faces, name="cap", source=Source(closing=Closing()))
    # Closed form: the prism over the n-gon from -10 to 5.
    assert part.check.volume_mm3 == pytest.approx(shapes.polygon_factor(n) * 100 * 15, rel=ROUNDING)
    assert part.check.is_watertight and "walls up to 6 mm" in str(part.check.changes[0])


def test_a_tray_of_sheet_gets_its_thickness_inward():
    # Five sides of a box, normals outward: closed form of a mitred tray.
    body = shapes.box(40.0, 30.0, 20.0)
    open_top = without(body, lambda points: points[:, 2] >= 10.0)
    part = part_from_arrays(
        body.vertices_mm, open_top, name="tray", source=Source(closing=Closing(2.0))
    )
    assert part.check.volume_mm3 == pytest.approx(40 * 30 * 20 - 36 * 26 * 18, rel=ROUNDING)
    assert part.check.extent_mm == pytest.approx((40.0, 30.0, 20.0))
    assert part.check.is_watertight and not part.check.is_one_sided


@pytest.mark.parametrize("thickness_mm", [0.5, 2.0])
def test_half_a_ball_of_sheet(thickness_mm):
    body = shapes.sphere(20.0, 128)
    half = without(body, below(0.0))
    part = part_from_arrays(
        body.vertices_mm, half, name="bowl", source=Source(closing=Closing(thickness_mm))
    )
    # Smooth closed form 2/3 pi (R^3 - r^3); 128 sides fall short by 2e-3 at most.
    smooth = 2 / 3 * np.pi * (20**3 - (20 - thickness_mm) ** 3)
    assert part.check.volume_mm3 == pytest.approx(smooth, rel=5e-3)
    # The last ring of facets leans by half a step of 180/64 degrees, and so does the rim.
    lean_mm = thickness_mm * np.sin(np.pi / 128)
    assert part.check.extent_mm[2] == pytest.approx(20.0 + lean_mm, rel=1e-4)


def test_a_flat_sheet_needs_a_thickness():
    square = np.array([[0.0, 0, 0], [30, 0, 0], [30, 20, 0], [0, 20, 0]])
    faces = np.array([[0, 1, 2], [0, 2, 3]])
    with pytest.raises(GeometryError, match=r"no size along z.*--thickness") as refused:
        part_from_arrays(square, faces, name="sheet")
    assert refused.value.asks == THICKNESS
    tilted = square @ shapes.rotation(1).T
    with pytest.raises(GeometryError, match="no volume") as refused:
        part_from_arrays(tilted, faces, name="sheet")
    assert refused.value.asks == THICKNESS
    part = part_from_arrays(square, faces, name="sheet", source=Source(closing=Closing(3.0)))
    assert part.check.volume_mm3 == pytest.approx(1800.0, rel=ROUNDING)


def test_a_closed_mesh_needs_no_back():
    body = shapes.box()
    with pytest.raises(GeometryError, match="found a closed mesh"):
        part_from_arrays(body.vertices_mm, body.faces, name="box", source=Source(closing=Closing()))


@pytest.mark.parametrize("thickness_mm", [0.0, -1.0, float("nan"), float("inf")])
def test_a_thickness_that_is_none(tmp_path, thickness_mm):
    body = shapes.box()
    path = stl_of(tmp_path, body.vertices_mm, body.faces)
    with pytest.raises(InputError, match="--thickness"):
        load_part(path, Reading(unit="mm", closing=Closing(thickness_mm)))
