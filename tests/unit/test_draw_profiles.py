"""Which way mouldings are drawn: square to what they show, never lengthwise.

A profile extruded along z. The direction is known by construction: an angle between its
two legs, so that both outer faces have draft and the line runs at the legs' back edges; a
channel, a tee and a zed square to the face that shows (common practice, no source).
"""

import manifold3d
import numpy as np
import pytest
import shapely
import shapes

from castplan.part.show_face import settle_show_face
from castplan.records import Job
from castplan.split.draw import find_draw

THICK_MM = 2.5
LEAST_DRAFT = np.sin(np.radians(5.0))


def angle(first_mm, second_mm, angle_deg):
    """An angle's section, its outer corner at the origin, and the outward normals of its legs."""
    turn = np.radians(angle_deg)
    along = np.array([np.cos(turn), np.sin(turn)])
    normals = np.array([[0.0, -1.0], [-np.sin(turn), np.cos(turn)]])
    corners = [
        (0, 0),
        (first_mm, 0),
        (first_mm, THICK_MM),
        (THICK_MM / np.tan(turn / 2), THICK_MM),
        tuple(second_mm * along - THICK_MM * normals[1]),
        tuple(second_mm * along),
    ]
    return shapely.Polygon(corners), normals


def channel():
    return shapely.box(0, 0, 30, 30) - shapely.box(THICK_MM, THICK_MM, 30 - THICK_MM, 31)


def tee():
    return shapely.box(0, 0, 30, THICK_MM) | shapely.box(13.7, 0, 16.3, 30)


def zed():
    web = shapely.box(13.7, 0, 16.3, 30)
    return web | shapely.box(0, 0, 16.3, THICK_MM) | shapely.box(13.7, 30 - THICK_MM, 30, 30)


def draw_of(section, length_mm, show=None, *, seed=None):
    """The draw of a profile and what it says of the show face, both turned back to the profile."""
    ring = np.array(shapely.geometry.polygon.orient(section).exterior.coords)[:-1]
    mesh = manifold3d.Manifold.extrude(manifold3d.CrossSection([ring]), length_mm).to_mesh()
    points = np.asarray(mesh.vert_properties, dtype=float)[:, :3]
    turn = np.eye(3) if seed is None else shapes.rotated(np.eye(3), seed).T
    part = shapes.part_of(points @ turn.T, np.asarray(mesh.tri_verts))
    show_face = None if show is None else tuple(turn @ np.append(show, 0.0))
    _, job, _ = settle_show_face(part, Job(show_face=show_face, n_directions=96))
    return turn.T @ find_draw(part, job).direction


@pytest.mark.parametrize("length_mm", [300, 600])
@pytest.mark.parametrize("legs", [(30, 30, 90), (40, 20, 90), (60, 15, 90), (40, 20, 75)])
def test_a_long_angle_that_shows_is_drawn_between_its_legs(legs, length_mm):
    section, normals = angle(*legs)
    draw = draw_of(section, length_mm, normals.sum(axis=0))
    drafts = normals @ draw[:2]
    assert abs(draw[2]) < LEAST_DRAFT
    assert np.sign(drafts[0]) == np.sign(drafts[1])
    assert np.abs(drafts).min() > LEAST_DRAFT


def test_a_turned_angle_is_drawn_alike():
    section, normals = angle(40, 25, 105)
    show = normals.sum(axis=0)
    drafts = normals @ draw_of(section, 500, show, seed=4)[:2]
    assert np.sign(drafts[0]) == np.sign(drafts[1])
    assert np.abs(drafts).min() > LEAST_DRAFT


def test_a_sharp_angle_shows_in_one_half():
    """Along one of its legs the draw has no draft there, and no undercut either."""
    section, normals = angle(30, 30, 60)
    draw = draw_of(section, 300, normals.sum(axis=0))
    drafts = normals @ draw[:2]
    assert abs(draw[2]) < LEAST_DRAFT
    assert (drafts * np.sign(drafts.sum())).min() > -1e-3


@pytest.mark.parametrize("show", [None, (-1.0, -1.0)])
def test_a_short_angle_is_not_stood_on_end(show):
    section, _ = angle(30, 30, 90)
    assert abs(draw_of(section, 150, show)[2]) < LEAST_DRAFT


@pytest.mark.parametrize(
    ("section", "show", "expected"),
    [
        (channel(), (0.0, -1.0), (0, 1, 0)),
        (channel(), None, (0, 1, 0)),
        (tee(), (0.0, -1.0), (0, 1, 0)),
        (zed(), (1.0, 0.0), (1, 0, 0)),
        (zed(), None, (1, 0, 0)),
    ],
    ids=["channel", "channel guessed", "tee", "zed", "zed guessed"],
)
@pytest.mark.parametrize("length_mm", [100, 600])
def test_other_mouldings_are_drawn_square_to_what_shows(section, show, expected, length_mm):
    # Square within what the eye calls square.
    assert abs(draw_of(section, length_mm, show) @ expected) > np.cos(np.radians(2.0))
