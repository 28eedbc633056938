"""Repairing makes closed solids, says what it did, and keeps sound facets in place.

Volumes are closed forms of the bodies made here; solids by manifold3d.
"""

import manifold3d
import numpy as np
import pytest
import shapes
import sheets
import trimesh

from castplan.errors import InputError
from castplan.geometry import level_set
from castplan.part.close import Closing
from castplan.part.load import Source, part_from_arrays
from castplan.part.repair import repair


def is_solid(part):
    """Whether another library takes the mesh as a solid, and its volume by that."""
    n = part.check.n_vertices
    mesh = manifold3d.Mesh64(np.array(part.vertices_mm[:n]), np.array(part.faces, dtype=np.uint64))
    solid = manifold3d.Manifold(mesh)
    return solid.status() == manifold3d.Error.NoError, solid.volume()


def joined(*pairs):
    vertices, faces, n = [], [], 0
    for points, triangles in pairs:
        vertices.append(points)
        faces.append(np.asarray(triangles) + n)
        n += len(points)
    return np.concatenate(vertices), np.concatenate(faces)


def test_a_sound_body_stays_as_it_is():
    body = shapes.t_slot()
    repaired = repair(shapes.part_of(body.vertices_mm, body.faces))
    assert repaired.done == ()
    assert repaired.part.check.volume_mm3 == pytest.approx(body.volume_mm3, rel=1e-9)
    assert repaired.part.check.n_triangles <= len(body.faces)


def test_flat_holes_are_closed_exactly_and_told():
    body = shapes.box(40.0, 30.0, 20.0)
    is_lid = (body.vertices_mm[body.faces][:, :, 2] == 10.0).all(axis=1)
    repaired = repair(shapes.part_of(body.vertices_mm, body.faces[~is_lid]))
    assert repaired.part.check.is_watertight
    assert repaired.part.check.volume_mm3 == pytest.approx(24000.0, rel=1e-9)
    assert tuple(map(str, repaired.done)) == (
        "closed 1 hole flat, 12 cm2 in all, the largest 12 cm2",
    )


def test_overlapping_bodies_become_one_solid():
    # Two bars of 10 x 10 x 60 crossed at right angles share a cube of 10.
    one, two = shapes.box(60, 10, 10), shapes.box(10, 60, 10)
    part = part_from_arrays(
        *joined((one.vertices_mm, one.faces), (two.vertices_mm, two.faces[:, ::-1])), name="cross"
    )
    repaired = repair(part)
    assert is_solid(repaired.part) == (True, pytest.approx(11_000.0))
    assert repaired.part.check.n_bodies == 1
    assert "united 2 bodies into one solid" in map(str, repaired.done)


def test_specks_and_hidden_shells_go_and_are_told():
    body, shell, speck = shapes.box(40, 40, 40), shapes.box(5, 5, 5), shapes.box(1, 1, 1)
    pairs = (
        (body.vertices_mm, body.faces),
        (shell.vertices_mm, shell.faces),
        (speck.vertices_mm + 40.0, speck.faces),
    )
    part = part_from_arrays(*joined(*pairs), name="dusty")
    repaired = repair(part)
    assert repaired.part.check.volume_mm3 == pytest.approx(64_000.0)
    assert tuple(map(str, repaired.done)) == (
        "dropped 1 hidden shell inside solid",
        "dropped 1 loose speck under 1 % of the largest body",
    )
    kept = repair(part, keeps_specks=True)
    assert kept.part.check.volume_mm3 == pytest.approx(64_001.0)


@pytest.mark.parametrize("n_triangles", [500, 2000])
def test_a_lighter_copy_keeps_its_shape(n_triangles):
    mesh = trimesh.creation.icosphere(subdivisions=5, radius=20.0)  # 20,480 facets
    part = part_from_arrays(mesh.vertices, mesh.faces, name="ball")
    repaired = repair(part, n_triangles=n_triangles)
    assert repaired.part.check.n_triangles <= n_triangles
    assert is_solid(repaired.part)[0]
    # A ball of n facets falls short by about 14.5 / n of its volume (an even
    # mesh of chords; collapse is a little less even).
    assert repaired.part.check.volume_mm3 == pytest.approx(
        part.check.volume_mm3, rel=30 / n_triangles
    )
    assert str(repaired.done[-1]).startswith("reduced 20,480 triangles to")


def test_too_few_triangles_are_refused():
    body = shapes.torus()
    with pytest.raises(InputError, match="--triangles"):
        repair(shapes.part_of(body.vertices_mm, body.faces), n_triangles=50)


def test_a_surface_through_itself_is_made_anew_by_its_level_set(monkeypatch):
    # Two bars that overlap in a cube of 10 mm and share one corner: one body.
    monkeypatch.setattr(level_set, "CELLS_ACROSS", 64)
    one, two = shapes.box(60, 10, 10), shapes.box(10, 60, 12)
    vertices, faces = joined(
        (one.vertices_mm + np.array([30, 5, 5]), one.faces),
        (two.vertices_mm + np.array([5, 30, 6]), two.faces),
    )
    part = part_from_arrays(vertices, faces, name="bars")
    assert part.check.n_bodies == 1 and part.check.volume_mm3 == pytest.approx(13_200.0)
    repaired = repair(part)
    assert repaired.part.check.is_watertight and is_solid(repaired.part)[0]
    # The union is 12,200 mm3. Tetrahedra of 1.4 mm cut the edges, 560 mm of them,
    # by an eighth of their square: 1.1 %.
    assert repaired.part.check.volume_mm3 == pytest.approx(12_200.0, rel=0.02)
    assert "computed the surface anew from cells of 0.94 mm" in str(repaired.done[-1])


def test_a_thickened_cover_keeps_its_volume():
    part = part_from_arrays(
        *sheets.cover(60.0, 40.0), name="cover", source=Source(closing=Closing(2.5))
    )
    repaired = repair(part)
    assert repaired.done == part.check.changes
    assert repaired.part.check.volume_mm3 == pytest.approx(part.check.volume_mm3, rel=1e-9)


@pytest.mark.long
def test_walls_thinner_than_the_first_cells_survive_a_level_set():
    # Plates of 1 mm and 200 mm long that cross and share a corner: cells of 1.6 mm
    # would lose them. Union: 200 x 1 x 60 and 1 x 200 x 62 less 1 x 1 x 60.
    one, two = shapes.box(200, 1, 60), shapes.box(1, 200, 62)
    vertices, faces = joined(
        (one.vertices_mm + np.array([100, 0.5, 30]), one.faces),
        (two.vertices_mm + np.array([0.5, 100, 31]), two.faces),
    )
    part = part_from_arrays(vertices, faces, name="plates")
    assert part.check.n_bodies == 1
    repaired = repair(part)
    assert is_solid(repaired.part)[0]
    (told,) = [text for text in map(str, repaired.done) if "computed the surface anew" in text]
    volume_ml = repaired.part.check.volume_mm3 / 1000
    # The level set stops halving its cells when it agrees within 1 % with a sampled
    # volume, which is itself within 1 %.
    assert volume_ml == pytest.approx(24.34, rel=0.02)
    assert "the volume was 24." in told and f"and is {volume_ml:.4g} ml" in told
