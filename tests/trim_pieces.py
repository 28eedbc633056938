"""Small pieces of trim: clips, brackets, knobs, rings, handles, rails and free forms."""

import itertools
import math

import numpy as np
import trimesh
from manifold3d import CrossSection, Manifold
from trim_shapes import (
    PAST,
    Trim,
    along_x,
    cone,
    cut,
    disc,
    rect,
    ring_of,
    rod,
    sheet,
    shell,
    slab,
    solid_from,
    trim,
    tube_along,
    union,
)


def snap_clip(rng):
    """A plate with two arms that end in hooks; each hook stands over the plate.

    Locked: a hook's overhang times its distance from the plate, times its width.
    """
    arm, wide, high, over = 2.5, 9.0, 18.0, rng.uniform(1.5, 2.5)
    body = slab(rect(46, 24, 2), 0, 3)
    profile = np.array(
        [(0, 1), (arm, 1), (arm, high - 4), (arm + over, high - 4), (arm, high), (0, high)]
    )
    arms = along_x(CrossSection([profile]), wide)
    for turn in (90, -90):
        body += arms.rotate((0, 0, turn)).translate((0, 0, 1))
    # The arms stand back to back; only the hooks lean out, a triangle seen from the side,
    # its lower edge level at z = high - 3.
    return trim(body, 2 * over * wide * (high - 3 - 3) / 1000)


def snap_clip_slotted(rng):
    """The same with a slot in the plate under each hook: nothing is locked."""
    arm, wide, high, over = 2.5, 9.0, 18.0, 2.0
    body = slab(rect(50, 24, 2), 0, 3)
    for side in (-1, 1):
        body -= cut(rect(8, wide).translate((side * (arm + 4), 0)), 0, 3)
    profile = np.array(
        [(0, 1), (arm, 1), (arm, high - 4), (arm + over, high - 4), (arm, high), (0, high)]
    )
    arms = along_x(CrossSection([profile]), wide)
    for turn in (90, -90):
        body += arms.rotate((0, 0, turn)).translate((0, 0, 1))
    return trim(body, 0.0)


def corner_bracket(rng):
    """Two plates at a right angle with a gusset and a hole in each plate.

    The upright plate's hole runs across z: its area times the plate is locked.
    """
    t, r = 4.0, rng.uniform(3, 4.5)
    body = slab(rect(60, 40).translate((0, 20)), 0, t) + slab(
        rect(60, t).translate((0, t / 2)), 0, 40
    )
    tri = CrossSection([np.array([(1, 1), (34, 1), (1, 34)])])
    body += along_x(tri, 4)
    for u in (-20.0, 20.0):
        body -= cut(disc(r, (u, 24)), 0, t)
        body -= rod((u, -PAST, 24), (u, t + PAST, 24), r)
    area = 24 * math.sin(math.pi / 24) * r**2
    return trim(body, 2 * area * t / 1000)


def ridged_knob(rng):
    """A knob with 24 ridges along its axis and a blind square hole from below."""
    t = np.linspace(0, 2 * math.pi, 24 * 8, endpoint=False)
    r = 16 + 0.8 * np.sign(np.sin(24 * t)) * np.abs(np.sin(24 * t)) ** 0.5
    section = CrossSection([np.stack([r * np.cos(t), r * np.sin(t)], axis=1)])
    body = slab(section, 0, 14) + cone(12, 8, 13.5, 20)
    return trim(body - cut(rect(7, 7), 0, 9), 0.0)


def ridged_bolt(rng):
    """A bolt with ridges round it instead of a thread, its head below; along z they lock.

    Locked: for each groove between two ridges, the ring between core and ridge
    (n-gons of 96 sides) times its height; and the space between head and first ridge.
    """
    core, crest, n, high = 5.0, 6.2, 6, 2.0
    profile = [(0, 0), (10, 0), (10, 5), (core, 5)]
    for k in range(n):
        low = 8 + 2 * high * k
        profile += [(core, low), (crest, low), (crest, low + high), (core, low + high)]
    profile += [(core, 8 + 2 * high * n), (0, 8 + 2 * high * n)]
    ring = 48 * math.sin(math.pi / 48) * (crest**2 - core**2)
    return trim(ring_of(profile), ring * (3 + (n - 1) * high) / 1000)


def cross_holes(rng):
    """A block with a hole through it along each axis, all three meeting in the middle.

    Locked along z: the two holes across z less the column of the one along it.
    """
    body = slab(rect(70, 50, 2), -18, 18)
    wide = rng.uniform(8, 12)
    body -= Manifold.cube((wide, wide, 60), True)
    body -= Manifold.cube((90, wide, wide), True)
    body -= Manifold.cube((wide, 70, wide), True)
    locked = wide * wide * ((70 - wide) + (50 - wide))
    return trim(body, locked / 1000)


def dovetail(rng):
    """A rail with a dovetail groove along x: the groove's lean locks two triangles."""
    x, z, deep, top, foot = 120.0, 20.0, 10.0, 12.0, 20.0
    body = slab(rect(x, 40), 0, z)
    groove = CrossSection(
        [np.array([(-foot / 2, z - deep), (foot / 2, z - deep), (top / 2, z), (-top / 2, z)])]
    )
    lid = CrossSection(
        [np.array([(-top / 2, z - 1), (top / 2, z - 1), (top / 2, z + 1), (-top / 2, z + 1)])]
    )
    body -= along_x(groove, x + 2) + along_x(lid, x + 2)
    for u in (-45.0, 45.0):
        body -= cut(disc(3.2, (u, 0)), 0, z)
    return trim(body, 2 * 0.5 * (foot - top) / 2 * deep * x / 1000)


def plain_ring(rng):
    """A ring of round section: nothing locked along its axis."""
    r = rng.uniform(3, 6)
    t = np.linspace(0, 2 * math.pi, 32, endpoint=False)
    return trim(ring_of(np.stack([30 + r * np.cos(t), r * np.sin(t)], axis=1)), 0.0)


def shaped_ring(rng):
    """A ring of three beads, one on another: grooves inside and outside."""
    t = np.linspace(0, 2 * math.pi, 32, endpoint=False)
    beads = [
        ring_of(np.stack([28 + 5 * np.cos(t), 7 * k + 5 * np.sin(t)], axis=1)) for k in range(3)
    ]
    return trim(union(beads), None)


def spring(rng):
    """Four turns of a round wire: what it locks is most of its inside wall."""
    t = np.linspace(0, 4 * 2 * math.pi, 320)
    path = np.stack([14 * np.cos(t), 14 * np.sin(t), 9 * t / (2 * math.pi)], axis=1)
    return trim(tube_along(path, 2.2), None)


def handle(rng):
    """A bar on two standoffs with feet: the bar stands over nothing but air between them."""
    length, high = rng.uniform(110, 160), 30.0
    a = length / 2 - 12
    body = rod((-length / 2, 0, high), (length / 2, 0, high), 6)
    for u in (-a, a):
        body += rod((u, 0, 2), (u, 0, high), 5) + slab(disc(10, (u, 0)), 0, 4)
    return trim(body, None)


def handle_on_plate(rng):
    """A bar on two standoffs on one long plate with countersunk holes: drawn from above
    the loop between bar and plate is locked, drawn across it is not."""
    body = slab(rect(170, 34, 8), 0, 4)
    body += along_x(rect(12, 10, 3).translate((0, 32)), 130)
    for u in (-55.0, 55.0):
        body += slab(rect(10, 10, 2).translate((u, 0)), 3, 32)
    for u in (-76.0, 76.0):
        body -= cone(2.2, 2.2, -PAST, 6, (u, 0)) + cone(2.2, 2.2 + 3 + PAST, 1, 5, (u, 0))
    return trim(body, None)


def pull_arch(rng):
    """An arched pull: a bent tube on two feet."""
    t = np.linspace(0, math.pi, 60)
    path = np.stack([48 * np.cos(t), 0 * t, 26 * np.sin(t) + 3], axis=1)
    body = tube_along(path, rng.uniform(4.5, 6))
    return trim(union([body, *[slab(disc(9, (u, 0)), 0, 5) for u in (-48, 48)]]), None)


def cup(rng):
    """A cup with a foot ring and a drain hole."""
    r, z = rng.uniform(28, 40), rng.uniform(35, 60)
    body = cone(0.75 * r, r, 0, z, sides=96) - cone(0.75 * r - 3, r - 3, 4, z + 0.01, sides=96)
    body -= cone(r - 3, r - 3, z - 0.005, z + PAST, sides=96)
    return trim(body - cut(disc(4), 0, 5), 0.0)


def cup_with_ear(rng):
    """A cup with an ear at its side: drawn along z the eye of the ear is locked."""
    made = cone(26, 30, 0, 50, sides=96) - cone(23, 27, 4, 51, sides=96)
    t = np.linspace(-0.55 * math.pi, 0.55 * math.pi, 40)
    ear = tube_along(np.stack([27 + 16 * np.cos(t), 0 * t, 26 + 15 * np.sin(t)], axis=1), 3.2)
    return trim(made + (ear - cone(25, 28.5, 2, 51, sides=96)), None)


def cap_deep(rng):
    """A deep cap, open below, with three holes in its roof and one pierced boss."""
    body = shell(70, 50, 45, 2.5, r=10)
    body += slab(disc(8), 10, 44)
    body -= cut(disc(rng.uniform(3, 5)), 0, 45)
    for at in ((-22.0, 10.0), (22.0, -10.0)):
        body -= cut(disc(5, at), 0, 45)
    return trim(body, 0.0)


def hinge_leaf(rng):
    """A leaf with two knuckles bored along x, and three countersunk holes."""
    body = slab(rect(90, 40, 2).translate((0, -20)), 0, 3)
    for u in (-28.0, 28.0):
        body += rod((u - 13, 2, 3), (u + 13, 2, 3), 6)
    body -= rod((-60, 2, 3), (60, 2, 3), rng.uniform(2.4, 3))
    for u in (-30.0, 0.0, 30.0):
        body -= cone(2, 2, -PAST, 4, (u, -24)) + cone(2, 5, 0.8, 3.8, (u, -24))
    return trim(body, None)


def noise_ball(rng):
    """A ball pushed in and out by low harmonics."""
    ball = trimesh.creation.icosphere(subdivisions=4)
    way = ball.vertices
    out = np.zeros(len(way))
    for _ in range(6):
        out += rng.uniform(0.03, 0.09) * np.sin(way @ rng.normal(size=3) * 2.6 + rng.uniform(0, 6))
    return trim(solid_from(40 * way * (1 + out)[:, None], ball.faces), None)


def torus_tilted(rng):
    """A ring of round section that lies askew in the file."""
    t = np.linspace(0, 2 * math.pi, 40, endpoint=False)
    body = ring_of(np.stack([40 + 11 * np.cos(t), 11 * np.sin(t)], axis=1))
    return trim(body.rotate(tuple(rng.uniform(15, 60, 3))), None)


def saddle_shell(rng):
    """A saddle 3 mm thick along z with a hole: one interval a column."""
    rise = rng.uniform(10, 16)
    body = sheet(lambda u, v: rise * (u / 60) * (v / 60), 120, 120, 3.0)
    return trim(body - cut(disc(12, (25, -10)), -30, 30), 0.0)


def leaf_ornament(rng):
    """A leaf: a hull of balls, thin and bowed, on a stem."""
    u = np.linspace(0, 1, 15)
    wide = 20 * np.sin(math.pi * u**0.8) + 2
    balls = [
        Manifold.sphere(1.0, 24)
        .scale((4, w, 2.2))
        .translate((90 * a - 45, 0, 14 * math.sin(3 * a)))
        for a, w in zip(u, wide, strict=True)
    ]
    hulls = [Manifold.batch_hull([a, b]) for a, b in itertools.pairwise(balls)]
    return trim(union(hulls), None)


def _dome(rng, n_round=160, n_up=56):
    """One side of a deep cover: an upright rim, edges of small radius, a flat top.

    A superellipsoid of exponent 8 over z = 0, its points moved by noise of 0.02 mm.
    """
    x, y, z, power = 120.0, 80.0, 28.0, 0.25
    turn = np.linspace(0, 2 * math.pi, n_round, endpoint=False)
    up = np.linspace(0, 0.5 * math.pi, n_up, endpoint=False)
    curve = lambda v: np.sign(v) * np.abs(v) ** power  # noqa: E731
    out = np.stack([x / 2 * curve(np.cos(turn)), y / 2 * curve(np.sin(turn))], axis=1)
    rings = curve(np.cos(up))[:, None, None] * out
    heights = np.repeat(z * curve(np.sin(up)), n_round)
    points = np.column_stack([rings.reshape(-1, 2), heights])
    points = np.concatenate([points, [[0.0, 0.0, z]]])
    k = np.arange(n_up - 1)[:, None] * n_round
    a = (k + np.arange(n_round)).ravel()
    b = (k + (np.arange(n_round) + 1) % n_round).ravel()
    last = (n_up - 1) * n_round + np.arange(n_round)
    top = np.stack([last, np.roll(last, -1), np.full(n_round, len(points) - 1)], axis=1)
    faces = np.concatenate(
        [np.stack([a, b, b + n_round], 1), np.stack([a, b + n_round, a + n_round], 1), top]
    )
    return points + 0.02 * rng.normal(size=points.shape), faces


def scan_deep(rng):
    """A deep cover seen from outside, its edges rounder inside than the 2.5 mm it is to have."""
    points, faces = _dome(rng)
    return Trim(points, faces, None, {}, 2.5)


def scan_pierced(rng):
    """The same with two round holes in its top, and four small holes that the scanner left."""
    points, faces = _dome(rng)
    middle = points[faces].mean(axis=1)
    gone = np.zeros(len(faces), dtype=bool)
    for at in ((-28.0, 8.0), (24.0, -10.0)):
        gone |= (np.hypot(*(middle[:, :2] - at).T) < 9) & (middle[:, 2] > 20)
    for place in rng.choice(len(faces), 4, replace=False):
        gone |= np.linalg.norm(middle - middle[place], axis=1) < 1.2
    used, kept = np.unique(faces[~gone], return_inverse=True)
    return Trim(points[used], kept.reshape(-1, 3), None, {}, 2.5)


def angle_moulding(rng):
    """An angle trim half a metre long whose outer faces show: legs of two lengths."""
    long, short, thick = 40.0, rng.uniform(18, 24), 2.5
    ring = [(0, 0), (long, 0), (long, thick), (thick, thick), (thick, short), (0, short)]
    section = CrossSection([np.array(ring, dtype=float)])
    return trim(along_x(section, 500), None, show_face=(0.0, -1.0, -1.0))


BODIES = (
    scan_deep,
    scan_pierced,
    snap_clip,
    snap_clip_slotted,
    corner_bracket,
    ridged_knob,
    ridged_bolt,
    cross_holes,
    dovetail,
    plain_ring,
    shaped_ring,
    spring,
    handle,
    handle_on_plate,
    pull_arch,
    cup,
    cup_with_ear,
    cap_deep,
    hinge_leaf,
    noise_ball,
    torus_tilted,
    saddle_shell,
    leaf_ornament,
    angle_moulding,
)
