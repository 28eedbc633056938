"""Bodies for the split: what holds rubber, how much of it, and where the line must run.

As in `shapes`: volumes and trapped volumes come from elementary formulas, never
from the triangles. Lengths are millimetres.
"""

import math
from types import SimpleNamespace

import bodies
import numpy as np
import shapes
from output.neutral import filled

from castplan.columns.gaps import find_gaps
from castplan.geometry.shutoff import parting_over
from castplan.part.study import HeldPockets
from castplan.records import Frame, Job, Split
from castplan.split.box import choose_box
from castplan.split.draw import tie_volume_mm3
from castplan.split.flex import Skin, judge_pockets
from castplan.split.line import Drawn, find_lines
from castplan.split.parting import find_parting
from castplan.split.seam import find_seam, seam_heights
from castplan.split.undercuts import list_pockets, listed_pockets, pull_halves
from castplan.split.wish import LineWish


def split(part, rotation=bodies.ALONG["z"], *, job=None, pitch_mm=None, thin=()):
    """The stages of the split in the plan's order, on one frame: their records by name."""
    job, frame = job or Job(), Frame(rotation=np.array(rotation, dtype=float))
    field = bodies.look(
        part.vertices_mm,
        np.concatenate([part.faces, part.cap_faces]),
        frame.rotation,
        pitch_mm=pitch_mm,
    )
    gaps, tie_mm3, part_mm3 = find_gaps(field), tie_volume_mm3(part), field.volume_mm3
    parting = find_parting(field, gaps, tie_mm3=tie_mm3)
    box = choose_box(field, job, part_mm3=part_mm3)
    ends_mm = (box.low_mm, box.high_mm)
    drawn = Drawn(field=field, gaps=gaps, parting=parting)
    seam = find_seam(part, frame, field, job)
    heights = seam_heights(seam, within_mm=3 * field.pitch_mm)
    wish = LineWish(tie_mm3=tie_mm3, seam_heights=heights)
    line = find_lines(drawn, job, wish, ends_mm=ends_mm)[0].line
    held = pull_halves(field, gaps, parting_over(field, line, gaps))
    undercuts = list_pockets(field, held, part_mm3=part.check.volume_mm3)
    of_gap = listed_pockets(field, held.gaps, undercuts)
    pockets = HeldPockets(field=field, gaps=held.gaps, of_gap=of_gap, undercuts=undercuts)
    flex = judge_pockets(pockets, job, Skin(thin=thin), ends_mm=ends_mm)
    return SimpleNamespace(
        part=part,
        frame=frame,
        job=job,
        field=field,
        gaps=held.gaps,
        held=held,
        tie_mm3=tie_mm3,
        parting=parting,
        box=box,
        seam=seam,
        line=line,
        options={option.kind: option for option in line.options},
        undercuts=undercuts,
        pocket_of_gap=of_gap,
        pockets=pockets,
        drawn=drawn,
        ends_mm=ends_mm,
        flex=flex,
    )


def handed_on(made, draw, **others):
    """What the room of the split would hand on, drawn as `draw` says."""
    names = ("parting", "box", "line", "seam", "undercuts", "flex")
    parts = {name: getattr(made, name) for name in names}
    return filled(Split, draw=draw, **(parts | others))


def part_of(body):
    """The body as the loader would hand it on."""
    return shapes.part_of(body.vertices_mm, body.faces)


def ellipsoid(half_mm=(20.0, 14.0, 9.0), n_sides=96) -> shapes.Body:
    """A ball stretched along the axes; its half axes. Free for every draw."""
    ball = shapes.sphere(1.0, n_sides)
    none = dict.fromkeys("xyz", 0.0)
    volume_mm3 = ball.volume_mm3 * math.prod(half_mm)
    return shapes.Body(ball.vertices_mm * half_mm, ball.faces, volume_mm3, None, none)


def silhouette_plane(half_mm, rotation) -> tuple[float, float]:
    """Slopes (b, c) of the plane z = b x + c y in which an ellipsoid's outline lies.

    Points of x' M x = 1 whose normal M x is square to the view, third row of
    the frame: row three of M in the frame, set to zero, is that plane.
    """
    m = rotation @ np.diag(1 / np.asarray(half_mm, dtype=float) ** 2) @ rotation.T
    return float(-m[2, 0] / m[2, 2]), float(-m[2, 1] / m[2, 2])


def hourglass(radius_mm=15.0, waist_mm=10.0, height_mm=30.0, n_sides=96) -> shapes.Body:
    """Two cones point to point, standing on z = 0; between them a waist all round."""
    profile = [
        (0, 0),
        (radius_mm, 0),
        (waist_mm, height_mm / 2),
        (radius_mm, height_mm),
        (0, height_mm),
    ]
    solid_mm3 = bodies.polygon_moment_mm3(profile[1:4], n_sides=n_sides)
    around_mm3 = shapes.polygon_factor(n_sides) * radius_mm**2 * height_mm
    # Every level section is convex: nothing is shut in along x or y.
    return shapes.revolved(profile, n_sides, {"x": 0.0, "y": 0.0, "z": around_mm3 - solid_mm3})


def saddle_plate(side_mm=60.0, rise_mm=6.0, thick_mm=3.0, n_cells=60) -> shapes.Body:
    """A square plate bent to z = c x y, `rise_mm` at the corners, `thick_mm` along z.

    Every column is one interval, so nothing is shut in along z.
    """
    at = np.linspace(-side_mm / 2, side_mm / 2, n_cells + 1)
    x, y = np.meshgrid(at, at)
    low = 4 * rise_mm / side_mm**2 * x * y
    low, x, y = low.ravel(), x.ravel(), y.ravel()
    n = len(low)
    vertices = np.concatenate([np.stack([x, y, low], 1), np.stack([x, y, low + thick_mm], 1)])
    corner = (np.arange(n_cells)[:, None] * (n_cells + 1) + np.arange(n_cells)).ravel()
    a, b, c, d = corner, corner + 1, corner + n_cells + 2, corner + n_cells + 1
    under = np.concatenate([np.stack([a, c, b], 1), np.stack([a, d, c], 1)])
    row = np.arange(n_cells + 1)
    ring = np.concatenate(
        [
            row[:-1],
            row[:-1] * (n_cells + 1) + n_cells,
            (n - 1 - row)[:-1],
            ((n_cells - row) * (n_cells + 1))[:-1],
        ]
    )
    after = np.roll(ring, -1)
    wall = np.concatenate(
        [np.stack([ring, after, after + n], 1), np.stack([ring, after + n, ring + n], 1)]
    )
    faces = np.concatenate([under, under[:, ::-1] + n, wall]).astype(np.int32)
    # Bilinear cells: the two triangles of each lie alternately over and under
    # their cell, but top and bottom alike.
    return shapes.Body(vertices, faces, side_mm**2 * thick_mm, None, {"z": 0.0})


def saddle_level_mm3(side_mm=60.0, rise_mm=6.0, thick_mm=3.0) -> float:
    """Least that any plane split of a `saddle_plate` traps.

    With c x y the plate's bend, half its side a and s = thick / (2 c), the level
    at half the thickness traps 4 c times the integral of x y - s over the part
    of the square a by a where that is positive. The trapped volume is convex in
    the plane's three numbers and the saddle maps onto itself under half turns
    that take any tilt to its opposite, so no plane does better.
    """
    a, c = side_mm / 2, 4 * rise_mm / side_mm**2
    s = thick_mm / (2 * c)
    inside = a**4 / 4 - s * a**2 + 0.75 * s**2 + 0.5 * s**2 * math.log(a**2 / s)
    return 4 * c * inside


def nested_cups(stem_mm=0.0, n_sides=96) -> shapes.Body:
    """A cup within a cup, both open upward, 6 mm between their floors.

    With a stem between the floors the two are one body. Outer: radius 25, bore
    22, floor 3, height 20. Inner: radius 15, bore 12, from z = 9 to 30, floor 3.
    """
    outer = shapes.revolved([(0, 0), (25, 0), (25, 20), (22, 20), (22, 3), (0, 3)], n_sides)
    inner = shapes.revolved([(0, 9), (15, 9), (15, 30), (12, 30), (12, 12), (0, 12)], n_sides)
    factor = shapes.polygon_factor(n_sides)
    under_mm3 = factor * (15**2 - stem_mm**2) * 6
    if not stem_mm:
        vertices, faces = bodies.joined(
            bodies.moved(outer, (0, 0, 0)), bodies.moved(inner, (0, 0, 0))
        )
        volume_mm3 = outer.volume_mm3 + inner.volume_mm3
        return shapes.Body(vertices, faces, volume_mm3, None, {"z": under_mm3})
    profile = [
        (0, 0),
        (25, 0),
        (25, 20),
        (22, 20),
        (22, 3),
        (stem_mm, 3),
        (stem_mm, 9),
        (15, 9),
        (15, 30),
        (12, 30),
        (12, 12),
        (0, 12),
    ]
    return shapes.revolved(profile, n_sides, {"z": under_mm3})


def bowl(radius_mm=20.0, wall_mm=3.0, n_sides=96) -> tuple[shapes.Body, float]:
    """Half a ball's shell, its rim level at z = 0 and open upward; and what it holds, mm3."""
    angles = np.linspace(-math.pi / 2, 0, n_sides // 4 + 1)
    circle = np.stack([np.cos(angles), np.sin(angles)], axis=1)
    circle[0, 0] = circle[-1, 1] = 0.0
    inner = (radius_mm - wall_mm) * circle
    profile = np.concatenate([radius_mm * circle, inner[::-1]])
    holds_mm3 = bodies.polygon_moment_mm3(inner, n_sides=n_sides)
    return shapes.revolved(profile, n_sides, {"z": 0.0}), holds_mm3


def bored_rod(radius_mm=12.0, height_mm=36.0, wide_mm=8.0, high_mm=6.0, n_sides=256):
    """A rod along z with a square hole through along x; its width in y and height in z.

    The hole's volume is that of the round rod: its n-gon is 2e-4 smaller.
    """
    rod = shapes.frustum(radius_mm, radius_mm, height_mm, n_sides)
    a = wide_mm / 2
    chord_mm2 = a * math.sqrt(radius_mm**2 - a**2) + radius_mm**2 * math.asin(a / radius_mm)
    hole_mm3 = 2 * chord_mm2 * high_mm
    middle = height_mm / 2
    tool = bodies.cuboid(
        (-2 * radius_mm, 2 * radius_mm), (-a, a), (middle - high_mm / 2, middle + high_mm / 2)
    )
    vertices, faces = bodies.arrays(bodies.solid_of(rod.vertices_mm, rod.faces) - tool)
    trapped = {"x": 0.0, "y": hole_mm3, "z": hole_mm3}
    return shapes.Body(vertices, faces, rod.volume_mm3 - hole_mm3, None, trapped)
