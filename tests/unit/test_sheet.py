"""A sheet from its one side: closed, not through itself, as thick as asked.

The judges are others' libraries (manifold3d, trimesh, libigl) and closed forms.
"""

import itertools

import igl
import manifold3d
import numpy as np
import pytest
import sheets
import trimesh

from castplan.part.close import Closing
from castplan.part.crossings import count_crossing
from castplan.part.load import Source, part_from_arrays
from castplan.part.sheet import thicken


def solid_of(vertices_mm, faces):
    """The solid as manifold3d takes it, once trimesh and a search for crossings agree."""
    mesh = trimesh.Trimesh(vertices_mm, faces, process=False)
    mesh.merge_vertices()
    assert mesh.is_watertight and mesh.is_winding_consistent
    n_crossing, n_tested = count_crossing(vertices_mm, np.asarray(faces, dtype=np.int32))
    assert (n_crossing, n_tested) == (0, len(faces))
    solid = manifold3d.Manifold(
        manifold3d.Mesh64(np.array(vertices_mm), np.array(faces, dtype=np.uint64))
    )
    assert solid.status() == manifold3d.Error.NoError
    return solid


def is_inside(sheet, vertices_mm, faces, depth_mm):
    """Which places this far behind the middles of the front's facets are inside; the places."""
    corners = vertices_mm[faces]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    normal /= np.linalg.norm(normal, axis=1)[:, None]
    places = corners.mean(axis=1) - depth_mm * normal
    winding = igl.fast_winding_number(
        np.array(sheet.vertices_mm), np.array(sheet.faces, dtype=np.int64), places
    )
    return winding > 0.5, places


def furthest_out_mm(sheet, vertices_mm, faces, depth_mm):
    """How far places this far behind the front lie outside the solid at most; 0 if none does."""
    inside, places = is_inside(sheet, vertices_mm, faces, depth_mm)
    return 0.0 if inside.all() else from_surface_mm(sheet, places[~inside])


def from_surface_mm(sheet, vertices_mm):
    """How far places lie from the solid's surface at most."""
    squared, *_ = igl.point_mesh_squared_distance(
        np.array(vertices_mm), np.array(sheet.vertices_mm), np.array(sheet.faces, dtype=np.int64)
    )
    return float(np.sqrt(squared.max()))


@pytest.mark.parametrize("thickness_mm", [1.0, 2.5, 4.0])
def test_a_bend_tighter_than_the_thickness_keeps_its_section(thickness_mm):
    leg, radius, length, t = 15.0, 1.5, 20.0, thickness_mm
    vertices, faces = sheets.angle(leg, radius, length, 0.5)
    sheet = thicken(vertices, faces, thickness_mm=t)
    solid = solid_of(sheet.vertices_mm, sheet.faces)
    # Section: two legs and a quarter ring; or, where the inner radius is used
    # up, two legs that meet in a sharp corner, less what the outer radius takes.
    if t < radius:
        section = 2 * leg * t + np.pi / 4 * (radius**2 - (radius - t) ** 2)
    else:
        section = t * (2 * (leg + radius) - t) - (1 - np.pi / 4) * radius**2
    # A bend of six chords lacks r^2 (pi/4 - 3 sin 15 deg), 0.0201 mm2 of section,
    # outside and gains the same share inside; a cell cuts the inner corner by less
    # than half its square. A corner left out would be 2 mm2 and more.
    cell = sheet.cell_mm or 0.0
    assert (sheet.cell_mm is None) == (t < radius)
    assert solid.volume() / length == pytest.approx(section, abs=0.03 + 0.5 * cell**2)
    assert sheet.volume_mm3 == pytest.approx(solid.volume(), rel=1e-9)
    assert sheet.area_mm2 == pytest.approx(length * (2 * leg + np.pi / 2 * radius), rel=2e-3)
    assert from_surface_mm(sheet, vertices) < 1e-3
    for share in (0.1, 0.5, 0.9):
        # The grid cuts the rim's inner corner by half a cell at most.
        assert furthest_out_mm(sheet, vertices, faces, share * t) <= 0.5 * cell
    # Before the front nothing; no other place of this sheet lies there.
    assert not is_inside(sheet, vertices, faces, -0.05)[0].any()


def test_a_groove_narrower_than_the_thickness():
    # Legs of 20, 12, 3, 12 and 20 mm at right angles: facets of 1 mm beside
    # inside corners that the thickness of 4 mm runs over.
    corners = np.array([[0, 0], [20, 0], [20, -12], [23, -12], [23, 0], [43, 0.0]])
    profile = [corners[:1]]
    for one, two in itertools.pairwise(corners):
        n = int(np.abs(two - one).max())
        profile.append(one + (two - one) * np.arange(1, n + 1)[:, None] / n)
    vertices, faces = sheets.extruded(np.concatenate(profile), 20.0, 1.0)
    sheet = thicken(vertices, faces, thickness_mm=4.0)
    solid = solid_of(sheet.vertices_mm, sheet.faces)
    # Two slabs of 16 x 4, a block of 11 x 16 less the groove of 3 x 12: 268 mm2.
    # Two inside corners lack at most half a cell's square each.
    assert solid.volume() / 20 == pytest.approx(268.0, abs=sheet.cell_mm**2)
    assert from_surface_mm(sheet, vertices) < 1e-3
    assert furthest_out_mm(sheet, vertices, faces, 3.8) <= 0.5 * sheet.cell_mm


@pytest.mark.parametrize("thickness_mm", [2.5, 4.0])
def test_a_cover_with_folded_flanges(thickness_mm):
    vertices, faces = sheets.cover(50.0, 36.0)
    sheet = thicken(vertices, faces, thickness_mm=thickness_mm)
    solid = solid_of(sheet.vertices_mm, sheet.faces)
    # Area times thickness, less what four bends share: (2 - pi/4 ... ) of each;
    # from the section of the bend above, per length of bend.
    t, r = thickness_mm, 1.5
    lost = t * np.pi / 2 * r - (2 * r * t - t**2 - (1 - np.pi / 4) * r**2)
    plate = sheet.area_mm2 * t - lost * 2 * (50 + 36)
    # The crown bends the flat by 2 mm over 18: its ring of lost volume is under
    # 1 %; the open corners and the cells take the rest.
    assert solid.volume() == pytest.approx(plate, rel=0.03)
    assert solid.genus() == 0
    assert from_surface_mm(sheet, vertices) < 1e-3
    # Cut in two by a box, nothing is lost: a surface through itself would.
    half = manifold3d.Manifold.cube((100, 100, 100)).translate((-3.3, -50, -50))
    both = (solid ^ half).volume() + (solid - half).volume()
    assert both == pytest.approx(solid.volume(), rel=1e-9)


def test_a_scan_with_noise_holes_and_a_ragged_rim():
    vertices, faces = sheets.scan(60.0, 45.0)
    sheet = thicken(vertices, faces, thickness_mm=2.5)
    solid = solid_of(sheet.vertices_mm, sheet.faces)
    # Ten holes 1.6 mm wide are the scan's, the openings 12 mm and 10 x 8 mm the part's.
    assert len(sheet.filled_mm) >= 10 and max(sheet.filled_mm) < 2.5
    assert len(sheet.open_mm) == 2
    # Four times area over rim: of a disc its diameter, its rim in steps 4 / pi longer.
    assert sheet.open_mm[0] == pytest.approx(12.0 * np.pi / 4, rel=0.06)
    assert sheet.open_mm[1] == pytest.approx(80 * 4 / 36, rel=0.06)
    assert solid.genus() == 2
    # Noise of 0.05 mm on facets of 0.6 mm adds about 1 % of area at the front.
    assert solid.volume() == pytest.approx(2.5 * sheet.area_mm2, rel=0.02)


def test_a_sheet_through_itself_is_made_anew():
    turn = np.radians(np.linspace(-60, 240, 90))
    # A loop whose straight ends cross.
    loop = 8 * np.column_stack((np.cos(turn), np.sin(turn)))
    way = np.array([np.sin(turn[0]), -np.cos(turn[0])])
    back = np.arange(12, 0, -0.5)[:, None]
    start = loop[0] + back * way
    end = start[::-1] * [-1, 1]
    vertices, faces = sheets.extruded(np.concatenate((start, loop, end))[::-1], 10.0, 0.5)
    sheet = thicken(vertices, faces, thickness_mm=1.0)
    assert sheet.is_remade
    solid = solid_of(sheet.vertices_mm, sheet.faces)
    assert 0.9 * sheet.area_mm2 < solid.volume() < 1.02 * sheet.area_mm2


def test_pieces_that_touch_at_a_corner_and_scraps():
    x, y, faces = sheets.grid(np.arange(31.0), np.arange(21.0))
    vertices = np.column_stack((x, y, 0 * x))
    # Two squares cut away that share a corner: its rim passes there twice. One scrap.
    middle = vertices[faces].mean(axis=1)
    gone = (np.abs(middle[:, 0] - 12) < 4) & (np.abs(middle[:, 1] - 8) < 4)
    gone |= (np.abs(middle[:, 0] - 20) < 4) & (np.abs(middle[:, 1] - 16) < 4)
    scrap = np.array([[40.0, 0, 0], [41, 0, 0], [40, 1, 0]])
    vertices = np.concatenate((vertices, scrap))
    faces = np.concatenate((faces[~gone], [[len(x), len(x) + 1, len(x) + 2]]))
    sheet = thicken(vertices, faces, thickness_mm=2.0)
    solid = solid_of(sheet.vertices_mm, sheet.faces)
    assert sheet.n_scraps == 1
    # 600 mm2 less a square of 64 and one that the rim cuts to 64; the corner's
    # copies stand a twentieth of an edge apart.
    assert solid.volume() == pytest.approx(2 * (600 - 128), rel=1e-3)


def test_what_was_done_is_told_with_the_volume():
    vertices, faces = sheets.scan(60.0, 45.0)
    part = part_from_arrays(vertices, faces, name="scan", source=Source(closing=Closing(2.5)))
    told = tuple(map(str, part.check.changes))
    assert told[0].startswith("thickened by 2.5 mm behind the side that the facets face: ")
    assert f"the solid holds {part.check.volume_mm3 / 1000:.3g} ml" in told[0]
    assert any("holes narrower than 2.5 mm are filled, wider ones stay open" in t for t in told)
    assert any(t.startswith("left 2 openings through the sheet") for t in told)


def test_a_hole_is_filled_or_stays_open_by_its_width():
    x, y, faces = sheets.grid(np.arange(11.0), np.arange(11.0))
    vertices = np.column_stack((x, y, 0 * x))
    middle = vertices[faces].mean(axis=1)
    faces = faces[~((np.abs(middle[:, 0] - 5) < 1) & (np.abs(middle[:, 1] - 5) < 1))]
    # 2 x 2 mm: through a sheet of 1.5, filled in one of 2.5; never over 3 mm.
    assert thicken(vertices, faces, thickness_mm=1.5).volume_mm3 == pytest.approx(1.5 * 96)
    assert thicken(vertices, faces, thickness_mm=2.5).volume_mm3 == pytest.approx(2.5 * 100)
    assert thicken(2 * vertices, faces, thickness_mm=9.0).volume_mm3 == pytest.approx(9 * 4 * 96)
