"""What an eye sees, against closed forms and rays of trimesh.

Projections, circles and areas are closed forms of the bodies; depths are asked of
trimesh's rays, cuts of manifold3d, neither of which knows anything of castplan.
"""

import numpy as np
import pytest
import shapely
import trimesh
from manifold3d import Manifold

from castplan.step_pictures import bodies, sight, tones
from castplan.step_pictures.body import Body
from castplan.step_pictures.camera import eye_from, frame_all
from castplan.step_pictures.draw import look_at
from castplan.step_pictures.thing import SAW, Pose, Thing, plain

PX_PER_MM = 8.0


def camera_for(*points_mm, is_right=True):
    points = np.concatenate(points_mm)
    return frame_all(eye_from(is_right=is_right), points, px_per_mm=PX_PER_MM, room_px=12)


def look(things, *, is_right=True):
    camera = camera_for(*(thing.corners_mm() for thing in things), is_right=is_right)
    return look_at(list(things), camera), camera


def material(seen, name):
    return seen.made == tones.MATERIALS.index(name) + 1


@pytest.mark.parametrize("is_right", [True, False])
def test_a_cubes_silhouette_is_the_hull_of_its_projected_corners(is_right):
    cube = plain(bodies.box((0, 0, 0), (40, 30, 20)), "part")
    seen, camera = look([cube], is_right=is_right)
    corners = camera.to_paper(cube.corners_mm())[:, :2]
    n_y, n_x = seen.thing.shape
    middles = np.stack(np.meshgrid(np.arange(n_x), np.arange(n_y)), axis=-1)
    hull = shapely.convex_hull(shapely.multipoints(corners))
    is_inside = shapely.contains_xy(hull, *np.moveaxis(middles, -1, 0).astype(float))
    # Every pixel whose middle is inside, and no other: corners are right to less than one.
    # Where the box is thinner along the ray than what counts as touching, it is not seen.
    off = np.argwhere(is_inside != (seen.thing >= 0))
    away = shapely.distance(hull.boundary, shapely.points(off[:, ::-1].astype(float)))
    assert (away < sight.TOUCH_PX).all()
    assert len(off) < 20
    # Area of a box seen from a direction: the sum of its sides' areas by their cosines.
    eye = np.abs(eye_from(is_right=is_right)[2])
    area = (eye * [30 * 20, 40 * 20, 40 * 30]).sum() * PX_PER_MM**2
    # The outline is some 900 pixels long and wrong by half a pixel at random.
    assert is_inside.sum() == pytest.approx(area, rel=2e-3)


def test_a_corner_stands_within_a_pixel_of_its_projection():
    cube = plain(bodies.box((0, 0, 0), (40, 30, 20)), "part")
    seen, camera = look([cube])
    front_top = camera.to_paper(np.array([[40.0, 0, 20]]))[0]
    # Three sides meet there: round it three normals are seen.
    column, row = np.round(front_top[:2]).astype(int)
    around = seen.facet[row - 3 : row + 4, column - 3 : column + 4]
    near = seen.normals[np.unique(around)]
    assert len(np.unique(np.round(near, 3), axis=0)) == 3
    depth = seen.depth_px[row - 1 : row + 2, column - 1 : column + 2]
    assert depth.max() == pytest.approx(front_top[2], abs=1.5)


def test_a_ball_is_a_circle_of_its_radius():
    radius_mm = 15.0
    ball = plain(bodies.ball((3.0, -2.0, 7.0), diameter_mm=2 * radius_mm), "part")
    seen, camera = look([ball])
    rows, columns = np.nonzero(seen.thing >= 0)
    middle = camera.to_paper(np.array([[3.0, -2.0, 7.0]]))[0, :2]
    away = np.hypot(columns - middle[0], rows - middle[1])
    # Its corners are on the sphere; between them 24 of a ring fall short by 1 - cos(pi/24).
    inside = np.cos(np.pi / 24) ** 2
    assert away.max() <= radius_mm * PX_PER_MM + 1e-6
    assert away.max() > radius_mm * PX_PER_MM * inside - 1
    area = np.pi * (radius_mm * PX_PER_MM) ** 2
    assert inside * area < len(rows) < area


def test_depths_are_those_that_rays_of_another_library_meet():
    knot = Manifold.sphere(12, 48) + Manifold.cube((30, 6, 6)) - Manifold.cylinder(40, 4, 4, 32)
    mesh = knot.to_mesh64()
    corners, facets = np.asarray(mesh.vert_properties)[:, :3], np.asarray(mesh.tri_verts)
    seen, camera = look([plain(Body(corners, facets.astype(np.int64)), "part")])
    n_y, n_x = seen.depth_px.shape
    grid = np.stack(np.meshgrid(np.arange(0, n_x, 7), np.arange(0, n_y, 7)), axis=-1).reshape(-1, 2)
    far = 1e3
    at = (grid + 0.5) / camera.px_per_mm + camera.corner_mm
    starts = np.column_stack([at, np.full(len(at), far)]) @ camera.rotation
    body = trimesh.Trimesh(corners, facets)
    ways = np.tile(-camera.rotation[2], (len(at), 1))
    places, rays, _ = body.ray.intersects_location(starts, ways, multiple_hits=False)
    met = np.full(len(at), -np.inf)
    met[rays] = places @ camera.rotation[2] * camera.px_per_mm
    own = seen.depth_px[grid[:, 1], grid[:, 0]]
    is_hit = np.isfinite(met)
    assert 300 < is_hit.sum() < len(at)
    # Rays that graze an outline may be told either way; less than one in a hundred.
    assert (is_hit != np.isfinite(own)).mean() < 0.01
    both = is_hit & np.isfinite(own)
    # Both hit the same facets: 32-bit depths of some hundred pixels.
    assert np.quantile(np.abs(met[both] - own[both]), 0.99) < 1e-2


def test_the_nearer_thing_hides_the_farther_whichever_is_drawn_first():
    near = plain(bodies.box((0, -20, 0), (10, -10, 10)), "part")
    far = plain(bodies.box((-10, 0, 0), (10, 8, 10)), "clay")
    one, camera = look([near, far])
    other = look_at([far, near], camera)
    assert np.array_equal(one.made, other.made)
    assert np.array_equal(one.thing >= 0, other.thing >= 0)
    assert set(np.unique(one.thing)) == {-1, 0, 1}
    both = material(one, "part") & material(look_at([far], camera), "clay")
    assert both.any()


def test_a_thing_less_another_is_the_solid_that_another_library_cuts():
    block, ball = Manifold.cube((40, 30, 20)), Manifold.sphere(12, 64).translate((20, 15, 20))

    def arrays(solid):
        mesh = solid.to_mesh64()
        facets = np.asarray(mesh.tri_verts).astype(np.int64)
        return Body(np.asarray(mesh.vert_properties)[:, :3], facets)

    thing = Thing(
        {"block": arrays(block), "ball": arrays(ball)},
        lambda inside: "upper" if inside == {"block"} else "",
    )
    camera = camera_for(thing.corners_mm())
    own = look_at([thing], camera)
    cut = look_at([plain(arrays(block - ball), "upper")], camera)
    assert np.array_equal(own.made, cut.made)
    hit = own.made > 0
    # Facets are others, so that depths differ by rounding.
    assert np.abs(own.depth_px[hit] - cut.depth_px[hit]).max() < 0.05


def test_a_saw_shows_what_is_inside_and_marks_the_section():
    pose = Pose()
    saw = bodies.box((-1e3, -1e3, -1e3), (1e3, 15.0, 1e3))
    thing = Thing(
        {
            "block": bodies.box((0, 0, 0), (40, 30, 20)),
            "core": bodies.box((10, 5, 5), (30, 25, 15)),
            SAW: saw,
        },
        lambda inside: (
            "" if SAW in inside or "block" not in inside else "part" if "core" in inside else "clay"
        ),
        pose,
    )
    seen, _ = look([thing])
    is_cut = np.zeros(seen.made.shape, dtype=bool)
    is_cut[seen.facet >= 0] = seen.is_cut[seen.facet[seen.facet >= 0]]
    assert is_cut[material(seen, "part")].all()
    # The section stands square to y: 40 x 20 mm seen under the eye's slope along y.
    slope = abs(eye_from(is_right=True)[2, 1])
    assert is_cut.sum() == pytest.approx(800 * slope * PX_PER_MM**2, rel=0.01)
    core = material(seen, "part").sum()
    assert core == pytest.approx(200 * slope * PX_PER_MM**2, rel=0.01)


def test_an_open_surface_is_seen_all_the_same():
    closed = bodies.box((0, 0, 0), (30, 30, 30))
    corners, facets = closed.corners_mm, closed.facets
    top = np.flatnonzero(corners[facets][:, :, 2].min(axis=1) == 30)
    open_box = plain(Body(corners, np.delete(facets, top, axis=0)), "part")
    seen, camera = look([open_box])
    whole = look_at([plain(closed, "part")], camera)
    front = np.array([[15.0, 0.0, 5.0]])
    column, row = np.round(camera.to_paper(front)[0, :2]).astype(int)
    assert seen.made[row, column] and whole.made[row, column]
    assert seen.depth_px[row, column] == whole.depth_px[row, column]
