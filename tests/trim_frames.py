"""Frames with slats, lattices, grids and louvres of trim."""

import math

import numpy as np
from manifold3d import CrossSection, Manifold
from trim_shapes import along_x, cut, disc, grid_places, rect, rod, slab, trim, union


def frame(x, y, z, bar, r=3.0):
    """A rectangular frame standing on z = 0."""
    return slab(rect(x, y, r) - rect(x - 2 * bar, y - 2 * bar), 0, z)


def sheared(run, thick, angle_deg):
    """A slat's profile in (y, z): `run` wide in y, `thick` along z, ends upright."""
    rise = run * math.tan(math.radians(angle_deg))
    low = np.array([[-run / 2, -rise / 2], [run / 2, rise / 2]])
    up = np.array([0.0, thick])
    return CrossSection([np.array([low[0], low[1], low[1] + up, low[0] + up])]).translate(
        (0, -thick / 2)
    )


def square_cut(run, thick, angle_deg):
    """A slat's profile in (y, z): a board of `thick` turned by the angle, edges square to it."""
    return rect(run / math.cos(math.radians(angle_deg)), thick).rotate(angle_deg)


def slatted(rng, *, n, angle, overlap, size=(150, 110, 26), profile=sheared, thick=3.0):
    """A frame with n slats over its depth; overlap is their run over their distance.

    Returns
    -------
    solid, locked_mm3
        Sheared slats that overlap lock the overlap of each pair of neighbours
        times the gap between them along z, distance x tan(angle) - thick.
    """
    x, y, z = size
    bar = 9.0
    inside, span = y - 2 * bar, x - 2 * bar
    pitch = inside / (n + 0.6)
    run = overlap * pitch
    shape = profile(run, thick, angle)
    blades = [
        along_x(shape, span + 2).translate((0, (k - (n - 1) / 2) * pitch, z / 2)) for k in range(n)
    ]
    body = union([frame(x, y, z, bar), *blades])
    over = max(run - pitch, 0.0)
    gap = pitch * math.tan(math.radians(angle)) - thick
    return body, (n - 1) * span * over * max(gap, 0.0)


def _closed(rng, **how):
    body, locked_mm3 = slatted(rng, **how)
    return trim(body, locked_mm3 / 1000)


def slats_1(rng):
    """One slat at 30 degrees."""
    return _closed(rng, n=1, angle=30, overlap=0.5, size=(80, 60, 20))


def slats_3_open(rng):
    """Three slats at 35 degrees that do not overlap along z."""
    return _closed(rng, n=3, angle=35, overlap=0.8)


def slats_5_open(rng):
    """Five slats at 20 degrees, gaps between them."""
    return _closed(rng, n=5, angle=20, overlap=0.75, size=(220, 140, 24))


def slats_5_touching(rng):
    """Five slats at 40 degrees, each ends where the next begins."""
    return _closed(rng, n=5, angle=40, overlap=0.98, size=(160, 130, 32))


def slats_7_overlapping(rng):
    """Seven slats at 45 degrees that overlap along z: locked."""
    return _closed(rng, n=7, angle=45, overlap=1.25, size=(180, 150, 40))


def slats_9_steep(rng):
    """Nine slats at 60 degrees that do not overlap."""
    return _closed(rng, n=9, angle=60, overlap=0.7, size=(240, 180, 40))


def slats_7_square(rng):
    """Seven boards turned by 30 degrees, square edges; open along z.

    Square edges lean back: a board alone is convex, so each column is one interval.
    """
    body, _ = slatted(rng, n=7, angle=30, overlap=0.85, profile=square_cut, size=(190, 150, 30))
    return trim(body, 0.0)


def slats_4_gentle(rng):
    """Four slats at 15 degrees, given to be drawn along z."""
    body, locked_mm3 = slatted(rng, n=4, angle=15, overlap=0.8, size=(120, 90, 16))
    return trim(body, locked_mm3 / 1000, draw=(0.0, 0.0, 1.0))


def slats_7_tilted(rng):
    """Seven slats at 30 degrees in a frame whose faces lean by 8 degrees; drawn along z."""
    body, _ = slatted(rng, n=7, angle=30, overlap=0.8, size=(170, 140, 60))
    lean = math.tan(math.radians(8))
    slab_of = Manifold.cube((400, 400, 26), True).translate((0, 0, 30))
    slab_of = slab_of.warp_batch(
        lambda p: np.column_stack([p[:, 0], p[:, 1], p[:, 2] + lean * p[:, 1]])
    )
    return trim(body ^ slab_of, 0.0, draw=(0.0, 0.0, 1.0))


def slats_leaning_frame(rng):
    """Slats at 30 degrees; every slat set higher than the last, the frame sheared with them.

    Moved along z alone, so what was open along z still is.
    """
    body, _ = slatted(rng, n=7, angle=28, overlap=0.8, size=(200, 150, 26))
    lean = math.tan(math.radians(rng.uniform(8, 12)))
    body = body.warp_batch(lambda p: np.column_stack([p[:, 0], p[:, 1], p[:, 2] + lean * p[:, 1]]))
    return trim(body, 0.0)


def slats_upright(rng):
    """Six upright slats: plain walls across an opening."""
    x, y, z, bar = 140, 100, 22, 8.0
    at = np.linspace(-34, 34, 6) + rng.uniform(-2, 2, 6)
    blades = [slab(rect(x - 10, 3).translate((0, v)), 2, z - 2) for v in at]
    return trim(union([frame(x, y, z, bar), *blades]), 0.0)


def slats_both_ways(rng):
    """Two banks of slats that lean towards each other."""
    left, _ = slatted(rng, n=4, angle=30, overlap=0.8, size=(150, 84, 24))
    right = left.rotate((0, 0, 180))
    return trim(left.translate((0, -39, 0)) + right.translate((0, 39, 0)), 0.0)


def grid_flat(rng):
    """Bars across each other at one height in a frame."""
    x, y, z = 150, 110, 10
    body = frame(x, y, z, 7)
    bars = [slab(rect(x - 6, 4).translate((0, v)), 2, 8) for v in np.linspace(-36, 36, 4)]
    bars += [slab(rect(4, y - 6).translate((u, 0)), 2, 8) for u in np.linspace(-54, 54, 5)]
    return trim(union([body, *bars]).rotate((0, 0, rng.uniform(0, 10))), 0.0)


def grid_two_levels(rng):
    """Bars along x low, bars along y high, touching: stepped from crossing to crossing."""
    x, y = 140, 100
    body = frame(x, y, 12, 8)
    bars = [slab(rect(x - 6, 4).translate((0, v)), 1, 6.2) for v in np.linspace(-32, 32, 4)]
    bars += [slab(rect(4, y - 6).translate((u, 0)), 6, 11) for u in np.linspace(-48, 48, 5)]
    return trim(union([body, *bars]), 0.0)


def grid_apart(rng):
    """The same with a gap between the levels: each crossing locks its square times the gap."""
    x, y, gap, bar = 140, 100, rng.uniform(2, 4), 4.0
    body = frame(x, y, 16, 8)
    at_y, at_x = np.linspace(-32, 32, 4), np.linspace(-48, 48, 5)
    bars = [slab(rect(x - 6, bar).translate((0, v)), 1, 5) for v in at_y]
    bars += [slab(rect(bar, y - 6).translate((u, 0)), 5 + gap, 9 + gap) for u in at_x]
    return trim(union([body, *bars]), len(at_x) * len(at_y) * bar**2 * gap / 1000)


def lattice_round(rng):
    """Round bars across each other on the slant in a frame, at one height.

    A round bar is one interval along z, and so are two that cross in one plane.
    """
    x, y, z, r = 160, 100, 14, 2.6
    bars = []
    for u in np.arange(-180, 181, 26.0):
        bars.append(rod((u - 60, -60, z / 2), (u + 60, 60, z / 2), r, 24))
        bars.append(rod((u + 60, -60, z / 2), (u - 60, 60, z / 2), r - 0.2, 24))
    mesh = union(bars) ^ slab(rect(x - 4, y - 4), 0, z)
    return trim(mesh + frame(x, y, z, 7), 0.0)


def lattice_hollow_back(rng):
    """A hollow box whose face is pierced like a net: 35 square holes, ribs below the bars."""
    x, y, z, wall = 180, 130, 18, 2.5
    body = slab(rect(x, y, 5), 0, z) - cut(rect(x - 2 * wall, y - 2 * wall, 3), -2, z - 4)
    for at in grid_places(7, 5, x - 16, y - 16):
        body -= cut(rect(17, 17, 1).translate(at), 0, z)
    body = union([body, *[slab(rect(x - 3, 2).translate((0, v)), 6, z - 2) for v in (-22.8, 22.8)]])
    return trim(body, 0.0)


def grille_bowed(rng):
    """A bowed grille: slots across a bent plate with a rim that goes down; moved along z."""
    x, y, z = 200, 90, 12
    body = slab(rect(x, y, 10), 0, z) - cut(rect(x - 6, y - 6, 7), -2, z - 4)
    for u in np.linspace(-80, 80, 11):
        body -= cut(rect(6, 62, 2.9).translate((u, 0)), 0, z)
    bow = rng.uniform(14, 22)
    bowed = body.refine_to_length(6).warp_batch(
        lambda p: np.column_stack([p[:, 0], p[:, 1], p[:, 2] + bow * (1 - (2 * p[:, 0] / x) ** 2)])
    )
    return trim(bowed, 0.0)


def louvre_hooded(rng):
    """A plate with hooded slots: each hood leans out over its slot.

    The hoods are sheared plates over slots as wide as they are, so a column
    meets either the plate or a hood.
    """
    x, y, t = 130, 120, 3.0
    body = slab(rect(x, y, 6), 0, t)
    for v in (-36.0, -12.0, 12.0, 36.0):
        body -= cut(rect(x - 30, 14).translate((0, v)), 0, t)
        hood = sheared(16.0, 2.8, 38).translate((v - 1, t / 2 + 6 * math.tan(math.radians(38))))
        body += along_x(hood, x - 28) ^ slab(rect(x, y), 0.01, 20)
        for side in (-1, 1):
            end = rect(3, 14.4).translate((side * ((x - 30) / 2 + 1.4), v))
            body += slab(end, 0.5, 13)
    return trim(body, 0.0)


def vent_round(rng):
    """A round vent: rings joined by spokes, the rings at rising heights."""
    parts = []
    for k, r in enumerate((12.0, 24.0, 36.0, 48.0)):
        low = 12 - 3.0 * k
        parts.append(slab(disc(r, sides=96) - disc(r - 4, sides=96), low, low + 6))
    spokes = slab(union_sections([rect(94, 4), rect(4, 94)]), 2, 14)
    cone_mm = Manifold.cylinder(16, 60, 5, 90)
    return trim(union([*parts, (spokes ^ cone_mm)]).rotate((0, 0, rng.uniform(3, 40))), 0.0)


def louvre_two_banks(rng):
    """Two banks of slats either side of a bar, leaning opposite ways; gaps between all."""
    x, y, z = 160, 80, 8
    body = frame(x, y, z, 10) + slab(rect(6, y - 10), 0, z)
    lean = rng.uniform(46, 54)
    for side in (-1, 1):
        for v in (-24, -12, 0, 12, 24):
            profile = rect(13, 1.8).rotate(side * lean).translate((v, z / 2))
            body += along_x(profile, 74).translate((side * 37.5, 0, 0))
    # Slats that stood out over the frame would hook over it at their ends.
    return trim(body ^ slab(rect(x, y), 0, z), 0.0)


def ladder_crowned(rng):
    """Rungs between two bent rails: each gap has its own height, and its plug climbs."""
    high = 120.0
    bent = slab(disc(high + 4, sides=180) - disc(high - 6, sides=180), -4, 4)
    rail = bent.rotate((90, 0, 0)) ^ Manifold.cube((150, 20, 80), True).translate((0, 0, 130))
    rungs = []
    for angle in np.linspace(-30, 30, 12) + rng.uniform(-1, 1):
        rung = Manifold.cube((6, 60, 6), True).translate((0, 0, high))
        rungs.append(rung.rotate((0, float(angle), 0)))
    body = union([*rungs, rail.translate((0, -28, 0)), rail.translate((0, 28, 0))])
    return trim(body, 0.0)


def union_sections(sections):
    """Sections as one."""
    made = CrossSection()
    for section in sections:
        made += section
    return made


BODIES = (
    slats_1,
    slats_3_open,
    slats_5_open,
    slats_5_touching,
    slats_7_overlapping,
    slats_9_steep,
    slats_7_square,
    slats_4_gentle,
    slats_7_tilted,
    slats_leaning_frame,
    slats_upright,
    slats_both_ways,
    grid_flat,
    grid_two_levels,
    grid_apart,
    lattice_round,
    lattice_hollow_back,
    grille_bowed,
    louvre_hooded,
    vent_round,
    louvre_two_banks,
    ladder_crowned,
)
