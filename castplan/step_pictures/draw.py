"""Things become a picture."""

from dataclasses import dataclass

import numpy as np

from castplan import palette
from castplan.step_pictures import lines, marks, sight, tones
from castplan.step_pictures.body import ahead, carried
from castplan.step_pictures.camera import Camera
from castplan.step_pictures.thing import SAW, Thing

# Widths of creases, outlines and outlines of what is new, in pixels at 250 dots an inch:
# 0.18, 0.3 and 0.6 mm.
WIDTHS_PX = np.array([0.0, 1.3, 2.2, 5.0])


@dataclass(frozen=True, eq=False)
class Seen:
    """What each pixel sees; nothing where `thing` is -1. Rows run from the bottom."""

    depth_px: np.ndarray  # (n_y, n_x) float32, towards the eye
    facet: np.ndarray  # int32
    made: np.ndarray  # uint8, a material of `tones.MATERIALS` counted from 1
    thing: np.ndarray  # int16
    normals: np.ndarray  # (m, 3) float32, of all facets, turned towards the eye
    is_cut: np.ndarray  # (m,) bool


def look_at(things: list[Thing], camera: Camera) -> Seen:
    """Which thing, material and facet each pixel sees.

    Parameters
    ----------
    things : list of Thing
    camera : Camera

    Returns
    -------
    Seen
    """
    n_x, n_y = camera.size_px
    seen = (
        np.full(n_x * n_y, -np.inf, np.float32),
        np.full(n_x * n_y, -1, np.int32),
        np.zeros(n_x * n_y, np.uint8),
        np.full(n_x * n_y, -1, np.int16),
    )
    normals, is_cut, first = [], [], 0
    for number, thing in enumerate(things):
        corners, facets, body_of, n = [], [], [], 0
        turn = camera.rotation @ thing.pose.turn
        onto = camera.onto_paper(thing.pose.turn, thing.pose.shift_mm)
        for k, (name, body) in enumerate(thing.bodies.items()):
            corners.append(carried(body.corners_mm, *onto))
            facets.append(np.asarray(body.facets, dtype=np.int32) + np.int32(n))
            body_of.append(np.full(len(body.facets), k, np.uint8))
            normals.append(ahead(body.normals, turn))
            is_cut.append(np.full(len(body.facets), name == SAW))
            n += len(body.corners_mm)
        sight.draw_thing(
            np.ascontiguousarray(np.concatenate(corners)),
            np.ascontiguousarray(np.concatenate(facets)),
            np.concatenate(body_of),
            thing.states(tones.MATERIALS),
            first,
            number,
            n_x,
            seen,
        )
        first += sum(len(body) for body in body_of)
    shape = (n_y, n_x)
    depth, facet, made, thing_of = (buffer.reshape(shape) for buffer in seen)
    return Seen(depth, facet, made, thing_of, np.concatenate(normals), np.concatenate(is_cut))


def render(things: list[Thing], camera: Camera, drawn_marks=()) -> np.ndarray:
    """The picture of things, with marks over it: (n_y, n_x, 3) uint8, rows from the top.

    Parameters
    ----------
    things : list of Thing
    camera : Camera
    drawn_marks : sequence of marks
        Of `marks`, in the order they are laid.
    """
    seen = look_at(things, camera)
    n_x, n_y = camera.size_px
    tone, hatch = tones.looks()
    made, facet = seen.made.ravel(), seen.facet.ravel()
    shade = tones.shades_of(seen.normals)
    picture = tones.paint(made, facet, seen.is_cut, shade, tone, hatch, n_x, 1.0)
    buffers = (seen.depth_px.ravel(), facet, made, seen.thing.ravel())
    is_new = np.zeros((len(things) + 1, len(tones.MATERIALS) + 1), dtype=bool)
    for number, thing in enumerate(things):
        for material in thing.new:
            is_new[number + 1, tones.MATERIALS.index(material) + 1] = True
    level, upright = lines.find_edges(buffers, seen.normals, is_new, n_x)
    ink = np.zeros((n_y, n_x), np.float32)
    points, first, kinds = lines.trace(level, upright)
    lines.stroke(ink, points, first, WIDTHS_PX[kinds])
    marks.lay(picture, ink, tones.rgb(palette.INK))
    for mark in drawn_marks:
        mark.draw(picture, camera)
    return np.round(255 * picture[::-1]).astype(np.uint8)
