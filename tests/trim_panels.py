"""Panels, covers and plates of trim: hollow, ribbed, pierced, lettered.

Walls run along z unless a comment says otherwise, so along z nothing is locked:
each column of the body is one interval, and the void over it and under it are
open to one side each. Where something crosses below or above a gap, the locked
volume is worked out beside it.
"""

import itertools
import math

import numpy as np
from manifold3d import CrossSection, JoinType, Manifold
from trim_shapes import (
    PAST,
    ROUND,
    bent,
    cone,
    cut,
    disc,
    flipped,
    grid_faces,
    grid_places,
    rect,
    rod,
    sheet,
    shell,
    slab,
    trim,
    union,
)

# Strokes of letters on a grid of 4 by 6: points of each stroke.
STROKES = {
    "D": [[(0, 0), (0, 6), (2.6, 6), (4, 4.6), (4, 1.4), (2.6, 0), (0, 0)]],
    "E": [[(4, 0), (0, 0), (0, 6), (4, 6)], [(0, 3), (3, 3)]],
    "C": [[(4, 0.6), (3, 0), (1, 0), (0, 1.2), (0, 4.8), (1, 6), (3, 6), (4, 5.4)]],
    "K": [[(0, 0), (0, 6)], [(4, 6), (0, 2.6)], [(1.2, 3.6), (4, 0)]],
    "B": [[(0, 0), (0, 6), (3, 6), (4, 5), (3, 3), (4, 1.4), (3, 0), (0, 0)], [(0, 3), (3, 3)]],
    "A": [[(0, 0), (2, 6), (4, 0)], [(0.9, 2.4), (3.1, 2.4)]],
    "R": [[(0, 0), (0, 6), (3, 6), (4, 4.6), (3, 3), (0, 3)], [(1.8, 3), (4, 0)]],
}


def u_wall(width, depth, wall, at):
    """Three sides of a frame about a place, open towards -y."""
    inside = rect(width, depth + wall + PAST).translate((0, -(wall + PAST) / 2))
    return (rect(width + 2 * wall, depth + 2 * wall) - inside).translate(at)


def hollow_panel(
    rng, *, n=(3, 2), size=(160, 100, 16), wall=2.5, round_holes=False, guard="u", share=1.0
):
    """A face at the top with walls all round, holes through it, and a guard round each hole.

    The guard stands on the hidden side, over `share` of the hollow's depth.
    """
    x, y, z = size
    body = shell(x, y, z, wall)
    places = grid_places(*n, x - 14, y - 14)
    wide = 0.46 * min((x - 14) / n[0], (y - 14) / n[1]) * rng.uniform(0.9, 1.1)
    low = (1 - share) * (z - wall)
    for at in places:
        hole = disc(wide / 2, at) if round_holes else rect(wide, wide, 1.2).translate(at)
        if guard == "u":
            clear = wide + 0.8  # no wall in a plane with a hole's edge
            body += slab(u_wall(clear, clear, wall, at), low, z - wall / 2)
        elif guard == "boss":
            body += slab(hole.offset(wall, JoinType.Round, 2.0, ROUND), low, z - wall / 2)
        body -= cut(hole, 0, z)
    return body


def panel_u_down(rng):
    """A switch panel of six holes, each with a wall on three sides, open below."""
    return trim(hollow_panel(rng), 0.0)


def panel_u_up(rng):
    """The same lying on its face, which is known to the shop."""
    return trim(flipped(hollow_panel(rng, size=(150, 96, 18))), 0.0, show_face=(0.0, 0.0, -1.0))


def panel_u_shown(rng):
    """Eight holes; the face that shows is given and looks up."""
    body = hollow_panel(rng, n=(4, 2), size=(220, 110, 20))
    return trim(body, 0.0, show_face=(0.0, 0.0, 1.0))


def panel_boss_down(rng):
    """Round holes, each in a full boss down to the rim."""
    return trim(hollow_panel(rng, round_holes=True, guard="boss", size=(140, 90, 14)), 0.0)


def panel_boss_up(rng):
    """The same lying on its face, bosses of half height."""
    body = hollow_panel(rng, n=(2, 2), round_holes=True, guard="boss", share=0.5)
    return trim(flipped(body), 0.0)


def panel_plain_holes(rng):
    """A hollow panel with many holes and no guards."""
    body = hollow_panel(rng, n=(5, 3), guard="none", round_holes=True, size=(200, 120, 12))
    return trim(body, 0.0)


def panel_one_large_hole(rng):
    """A hollow frame for a clock: one large hole with a wall on three sides."""
    return trim(hollow_panel(rng, n=(1, 1), size=(90, 90, 22), wall=3.0), 0.0)


def panel_long(rng):
    """400 mm long, ten holes in a row."""
    return trim(hollow_panel(rng, n=(10, 1), size=(400, 60, 15), guard="u"), 0.0)


def panel_small(rng):
    """25 mm across: one hole with a boss."""
    body = hollow_panel(
        rng, n=(1, 1), size=(34, 25, 7), wall=1.6, guard="boss", round_holes=True, share=1.0
    )
    return trim(body, 0.0)


def panel_crowned(rng):
    """A hollow panel of four holes, crowned by 6 mm; moved along z, so nothing gets locked."""
    x, y, z = 150, 100, 16
    body = hollow_panel(rng, n=(2, 2), size=(x, y, z))
    crown = bent(body, lambda u, v: 6 * (1 - (2 * u / x) ** 2) * (1 - (2 * v / y) ** 2), 5.0)
    return trim(crown, 0.0)


def ribbed_cover(rng):
    """A cover open below with ribs of half height both ways and two holes between them."""
    x, y, z, wall = 180, 120, 22, 2.5
    body = shell(x, y, z, wall, r=8)
    ribs = [slab(rect(x - 2, 2.0).translate((0, v)), z / 2, z - 1) for v in (-30.0, 0.0, 30.0)]
    ribs += [slab(rect(2.0, y - 2).translate((u, 0)), z / 2, z - 1) for u in (-45.0, 0.0, 45.0)]
    body = union([body, *ribs])
    for at in ((-22.0, 15.0), (67.0, -44.0)):
        body -= cut(disc(rng.uniform(5, 8), at), 0, z)
    return trim(body, 0.0)


def boxed_cover(rng):
    """Open above; full walls make eight boxes, each with a hole in its floor."""
    x, y, z, wall = 160, 84, 24, 2.5
    body = flipped(shell(x, y, z, wall)).translate((0, 0, z))
    body += slab(rect(x - 2, wall), wall / 2, z)
    body = union([body, *[slab(rect(wall, y - 2).translate((u, 0)), 1, z) for u in (-39, 0, 39)]])
    for at in grid_places(4, 2, x - 2, y - 2):
        body -= cut(disc(rng.uniform(4, 9), at), 0, z)
    return trim(body, 0.0)


def both_sides(rng):
    """A floor at half height, hollows above and below it, holes from one to the other."""
    x, y, z, wall = 130, 80, 30, 3.0
    body = slab(rect(x, y, 6), 0, z)
    body -= cut(rect(x - 2 * wall, y - 2 * wall, 3), z / 2 + 2, z)
    body -= cut(rect(x - 6 * wall, y - 6 * wall, 3), 0, z / 2 - 2)
    for at in grid_places(3, 2, x - 30, y - 30):
        body -= cut(disc(rng.uniform(4, 7), at), 0, z)
    return trim(body, 0.0)


def steps_of_holes(rng):
    """Pockets of three depths, from above and below, each met by a hole."""
    x, y, z = 140, 60, 26
    body = slab(rect(x, y, 4), 0, z)
    for u, low in ((-50, 6), (-17, 13), (16, 20)):
        body -= cut(rect(26, 40, 3).translate((u, 0)), low, z)
        body -= cut(disc(rng.uniform(5, 8), (u, 6)), 0, z)
    body -= cut(rect(26, 40, 3).translate((50, 0)), 0, 18)
    body -= cut(disc(6, (50, -6)), 0, z)
    return trim(body, 0.0)


def blind_holes(rng):
    """A block with blind holes from above and from below that do not meet."""
    body = slab(rect(90, 60, 3), 0, 28)
    for k, at in enumerate(grid_places(4, 3, 86, 56)):
        tool = disc(rng.uniform(2.5, 5.5), at)
        body -= cut(tool, 14 + rng.uniform(0, 8), 28) if k % 2 else cut(tool, 0, 10)
    return trim(body, 0.0)


def escutcheon(rng):
    """A plate with a key slot and two countersunk holes, edges bevelled: all opens upward."""
    x, y, z = 58, 130, 5
    body = slab(rect(x, y, 14), 0, 2.5) + _bevel(rect(x, y, 14), 2.5, z, 2.0)
    slot = disc(6.5, (0, 8)) + rect(6, 22).translate((0, -4))
    body -= cut(slot, 0, z)
    for v in (-52.0, 52.0):
        body -= cone(2.2, 2.2, -PAST, z + PAST, (0, v))
        r = rng.uniform(4.2, 5.2)
        body -= cone(2.2, r + PAST, z - (r - 2.2), z + PAST, (0, v))
    return trim(body, 0.0)


def _bevel(section, low, high, inset):
    """A section that shrinks towards the top, in steps of a hull; for a convex section."""
    top = section.offset(-inset, JoinType.Round, 2.0, 32)
    return Manifold.batch_hull([slab(section, low - 0.5, low), slab(top, high - 0.01, high)])


def escutcheon_both_countersunk(rng):
    """Holes countersunk from above and from below: an hourglass, its neck in the middle.

    Each column is one interval or free: nothing locked.
    """
    z = 9.0
    body = slab(rect(110, 46, 8), 0, z)
    for u in (-40.0, 0.0, 40.0):
        neck = rng.uniform(2.5, 4.0)
        body -= cone(neck + z / 2 + PAST, neck, -PAST, z / 2, (u, 0))
        body -= cone(neck, neck + z / 2 + PAST, z / 2, z + PAST, (u, 0))
    return trim(body, 0.0)


def bezel(rng):
    """A ring-shaped frame with a stepped rim inside and outside."""
    x, y = rng.uniform(90, 150, 2)
    body = slab(rect(x, y, 10) - rect(x - 40, y - 40, 5), 0, 6)
    body += slab(rect(x - 10, y - 10, 8) - rect(x - 34, y - 34, 6), 5, 12)
    body += slab(rect(x - 4, y - 4, 8) - rect(x - 9, y - 9, 8), -7, 1)
    return trim(body, 0.0)


def bezel_with_lip(rng):
    """A bezel whose opening narrows in the middle: a glass rests on the lip from both sides."""
    x, y, z = 120, 84, 18
    body = slab(rect(x, y, 8), 0, z) - cut(rect(x - 26, y - 26, 4), 0, z)
    lip = rng.uniform(2, 4)
    body += slab(rect(x - 20, y - 20, 4) - rect(x - 26 - 2 * lip, y - 26 - 2 * lip, 4), 7, 11)
    return trim(body, 0.0)


def lettered_panel(rng):
    """A hollow panel with raised letters and two holes."""
    body = shell(170, 70, 12, 2.5)
    letters = [
        slab(_letter(name, 4.2, 1.1).translate((-52 + 27 * k, -12)), 11, 13.2)
        for k, name in enumerate("DECK")
    ]
    body = union([body, *letters])
    for u in (-72.0, 72.0):
        body -= cut(disc(rng.uniform(3, 4), (u, 0)), 0, 13)
    return trim(body, 0.0)


def cut_letters(rng):
    """Letters cut right through a plate; islands are left out by the strokes' ends."""
    body = slab(rect(180, 60, 5), 0, rng.uniform(5, 7))
    for k, name in enumerate("CEKC"):
        body -= cut(_letter(name, 4.6, 1.3).translate((-72 + 38 * k, -14)), 0, 8)
    return trim(body, 0.0)


def _letter(name, scale, half_width):
    section = CrossSection()
    for stroke in STROKES[name]:
        for a, b in itertools.pairwise(stroke):
            a, b = scale * np.array(a), scale * np.array(b)
            section += CrossSection.batch_hull([disc(half_width, a, 16), disc(half_width, b, 16)])
    return section


def rib_over_hole(rng):
    """A hollow panel; a bar crosses under each hole, 3 mm below the face.

    Locked: nothing under a bar's own hole, for the bar stands alone there. But
    the bar runs on under the face: locked is its footprint under the face times
    the gap of 3 mm.
    """
    x, y, z, wall, gap, bar = 140, 80, 18, 2.5, 3.0, 5.0
    body = shell(x, y, z, wall)
    inner = y - 2 * wall
    locked_mm3 = 0.0
    for u in (-40.0, 0.0, 40.0):
        side = rng.uniform(16, 24)
        top = z - wall - gap
        body += slab(rect(bar, y - 2).translate((u, 0)), top - 4, top)
        body -= cut(rect(side, side).translate((u, 8)), 0, z) - cut(
            rect(bar, y - 2).translate((u, 0)), 0 - 2, top
        )
        locked_mm3 += bar * (inner - side) * gap
    return trim(body, locked_mm3 / 1000)


def crowned_sheet(rng):
    """A crowned cover 2.5 mm thick along z, two holes: one interval a column."""
    x, y = 160, 110
    crown = rng.uniform(10, 16)
    bow = lambda u, v: crown * (1 - (2 * u / x) ** 2) * (1 - (2 * v / y) ** 2)  # noqa: E731
    body = sheet(bow, x, y, 2.5)
    for at in ((-40.0, 10.0), (35.0, -20.0)):
        body -= cut(disc(9, at), -5, 30)
    return trim(body, 0.0)


def undercut_lip(rng):
    """A box open above whose rim turns inward: the lip locks its footprint times the depth."""
    x, y, z, wall = 110, 70, 26, 2.5
    lip, thick = rng.uniform(3, 6), 3.0
    body = flipped(shell(x, y, z, wall, r=2.6)).translate((0, 0, z))
    opening = rect(x - 2 * wall - 2 * lip, y - 2 * wall - 2 * lip)
    body += slab(rect(x - 1, y - 1, 2) - opening, z - thick, z)
    hollow = rect(x - 2 * wall, y - 2 * wall, 0.3)
    locked_mm3 = (hollow.area() - opening.area()) * (z - thick - wall)
    return trim(body, locked_mm3 / 1000)


def pierced_side(rng):
    """A hollow panel with a round hole across its two long walls, under the face.

    Each wall is pierced by a round bore: its area times the wall is locked twice.
    The facetted circle of n sides has the area n/2 sin(2 pi/n) r^2.
    """
    x, y, z, wall = 120, 70, 24, 3.0
    body = shell(x, y, z, wall, r=2)
    r = rng.uniform(4, 6)
    body -= rod((10, -y, 10), (10, y, 10), r)
    area = 24 * math.sin(math.pi / 24) * r**2
    return trim(body - cut(disc(8, (-30, 0)), 0, z), 2 * wall * area / 1000)


def scan_cover(rng):
    """One side of a crowned cover with edges turned down, to be made 2.5 mm thick."""
    x, y, n = 150, 100, 48
    u, v = np.meshgrid(np.linspace(-1, 1, n + 1), np.linspace(-1, 1, n + 1))
    z = 14 * (1 - u**6) * (1 - v**6) + 6 * (1 - u**2) * (1 - v**2)
    z += 0.02 * rng.normal(size=z.shape)
    points = np.stack([x / 2 * u, y / 2 * v, z], axis=-1).reshape(-1, 3)
    faces = grid_faces(n)
    made = trim(Manifold.cube((1, 1, 1)), None)
    return made._replace(vertices_mm=points, faces=faces, thickness_mm=2.5)


def scan_tight(rng):
    """One side of a cover with a tight crease: offsets inward would cross there."""
    made = scan_cover(rng)
    points = made.vertices_mm.copy()
    points[:, 2] -= 9 * np.exp(-((points[:, 0] / 4) ** 2)) * (1 - (points[:, 1] / 50) ** 2)
    return made._replace(vertices_mm=points)


BODIES = (
    panel_u_down,
    panel_u_up,
    panel_u_shown,
    panel_boss_down,
    panel_boss_up,
    panel_plain_holes,
    panel_one_large_hole,
    panel_long,
    panel_small,
    panel_crowned,
    ribbed_cover,
    boxed_cover,
    both_sides,
    steps_of_holes,
    blind_holes,
    escutcheon,
    escutcheon_both_countersunk,
    bezel,
    bezel_with_lip,
    lettered_panel,
    cut_letters,
    rib_over_hole,
    crowned_sheet,
    undercut_lip,
    pierced_side,
    scan_cover,
    scan_tight,
)
