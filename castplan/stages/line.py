"""The parting line: level, tilted, stepped or following, the simplest that is free."""

from dataclasses import dataclass

import numpy as np
from scipy import sparse
from scipy.optimize import linprog
from scipy.spatial import cKDTree

from castplan.columns import levels, rim, surface
from castplan.columns.field import ColumnField
from castplan.model import (
    HolePlug,
    Job,
    PartingLine,
    PartingOption,
    PartingResult,
    PartingSurface,
    RimLoop,
)

# In order of effort at the bench.
KINDS = ("level", "tilted", "stepped", "following")
# A bed tilted more than this slumps and floats the part (assumed).
MAX_TILT = np.tan(np.radians(20.0))
LP_STATIONS = 240
PULL = 1e-3  # of the seam's own height against smoothness
N_SWEEPS = 4000
# A line laid by hand wanders this much; it keeps off the ends of its range.
MARGIN_MM = 0.5
# A rim that stays within this is flat enough to press against a board.
FLUSH_MM = 0.2


def find_line(
    field: ColumnField,
    parting: PartingResult,
    job: Job,
    *,
    box_low_mm,
    box_high_mm,
    tie_mm3: float,
    seam_heights=None,
) -> PartingLine:
    """Choose how the parting runs round the part, and span it to the box.

    Around the outline each station has a range of heights at which nothing is
    trapped. A level plane is one number for all stations, a tilted plane
    three (least violation by linear programming), steps are arcs with a
    common height, a following line is the smoothest within the ranges. The
    first of these that traps no more than the tie is recommended.

    Parameters
    ----------
    field : ColumnField
        Sampled along the draw.
    parting : PartingResult
        The best level split.
    job : Job
        `parting` and `parting_height_mm` override.
    box_low_mm, box_high_mm : (2,) or (3,) array_like
        Inside of the box, draw frame.
    tie_mm3 : float
        Trapped volume that counts as nothing.
    seam_heights : callable, optional
        Heights (k,) wanted at outline points (k, 2), nan where there is no
        wish: where the ranges leave freedom the line goes there.

    Returns
    -------
    PartingLine
    """
    rims = rim.find_rims(field)
    outlines = [r for r in rims if not r.is_hole]
    holes = [r for r in rims if r.is_hole]
    plugs = tuple(_plug(field, r, n, tie_mm3) for n, r in enumerate(holes, start=1))
    nodes = surface.floor_nodes(box_low_mm, box_high_mm)
    spread = _Spread(field, outlines, plugs, nodes)
    asked_mm = job.parting_height_mm
    level_mm = parting.height_mm if asked_mm is None else float(field.low_mm[2]) + asked_mm
    wish = None if seam_heights is None else [seam_heights(r.points_mm) for r in outlines]
    lines = {
        "level": ((level_mm, 0.0, 0.0), [np.full(len(r.low_mm), level_mm) for r in outlines]),
        "tilted": _tilted(outlines, level_mm),
        "stepped": (None, [_stepped(r) for r in outlines]),
        "following": (None, _following(outlines, level_mm, wish)),
    }
    options, surfaces = [], {}
    for kind in KINDS:
        plane, line = lines[kind]
        heights = spread.heights(plane, line)
        surfaces[kind] = heights
        extra_mm3 = spread.trapped_mm3(heights)
        options.append(_option(kind, outlines, line, extra_mm3, parting.locked_mm3, tie_mm3))
    kind = job.parting or _simplest(options, asked_mm)
    chosen = options[KINDS.index(kind)]
    plane, line = lines[kind]
    heights = surfaces[kind]
    return PartingLine(
        kind=kind,
        is_asked_for=job.parting is not None or asked_mm is not None,
        options=tuple(options),
        plane=tuple(float(v) for v in plane or (float(heights[0, 0]), 0.0, 0.0)),
        outlines=tuple(_loop(r, z) for r, z in zip(outlines, line, strict=True)),
        plugs=plugs,
        surface=PartingSurface(
            x0_mm=float(nodes[0][0]),
            y0_mm=float(nodes[1][0]),
            step_x_mm=float(nodes[0][1] - nodes[0][0]),
            step_y_mm=float(nodes[1][1] - nodes[1][0]),
            heights_mm=heights,
        ),
        box_height_mm=float(heights[0, 0]),
        trapped_mm3=chosen.trapped_mm3,
        **spread.shares(heights),
    )


def _simplest(options, asked_mm):
    """The first free kind; if none is, the one that traps least."""
    if asked_mm is not None:
        return "level"
    for option in options:
        if option.is_free:
            return option.kind
    return min(options, key=lambda option: option.trapped_mm3).kind


def _option(kind, outlines, line, extra_mm3, locked_mm3, tie_mm3):
    rise = [np.diff(z, append=z[:1]) for z in line]
    length = sum(
        float(np.hypot(r.spacing_mm, d).sum()) for r, d in zip(outlines, rise, strict=True)
    )
    low, high = min(float(z.min()) for z in line), max(float(z.max()) for z in line)
    n_steps = sum(int((np.abs(d) > 1e-9).sum()) for d in rise)
    notes = {
        "level": "one clay level all round",
        "tilted": "one flat clay bed, packed up on one side",
        "stepped": f"level stretches with {n_steps} steps between them",
        "following": "clay modelled to the line, station by station",
    }
    return PartingOption(
        kind=kind,
        trapped_mm3=extra_mm3 + locked_mm3,
        low_mm=low,
        high_mm=high,
        length_mm=length,
        is_free=bool(extra_mm3 <= tie_mm3),
        note=notes[kind],
    )


def _loop(ring, line):
    return RimLoop(
        points_mm=ring.points_mm,
        low_mm=ring.low_mm,
        high_mm=ring.high_mm,
        line_mm=line,
        length_mm=ring.length_mm,
    )


def _plug(field, ring, number, tie_mm3):
    """Where to stop the clay in a hole: the level that traps least over its rim."""
    low, high = float(ring.low_mm.max()), float(ring.high_mm.min())
    tries = np.linspace(min(low, high), max(low, high), 17)
    trapped = np.array(
        [sum(levels.trapped_beside_mm3(field, ring.inside, float(z))) for z in tries]
    )
    good = np.flatnonzero(trapped <= trapped.min() + tie_mm3)
    # A plug that ends flush with the under side is pressed in against the
    # board; elsewhere the middle of what is free leaves most margin.
    flush = good[0] == 0 and low <= high and np.ptp(ring.low_mm) < FLUSH_MM
    k = good[0] if flush else good[len(good) // 2]
    follows = bool(trapped[k] > tie_mm3)
    line = _smoothest(ring, tries[k]) if follows else np.full(len(ring.low_mm), tries[k])
    centre = ring.points_mm.mean(axis=0)
    return HolePlug(
        number=number,
        centre_mm=(float(centre[0]), float(centre[1])),
        area_mm2=ring.area_mm2,
        width_mm=ring.width_mm,
        free_low_mm=low,
        free_high_mm=high,
        height_mm=float(line.mean()),
        trapped_mm3=float(trapped[k]),
        is_following=follows,
        rim=_loop(ring, line),
    )


# -- the four lines -----------------------------------------------------------


def _tilted(outlines, level_mm):
    """Plane (a, b, c) with least violation of the ranges, then most margin."""
    every = max(1, sum(len(r.low_mm) for r in outlines) // LP_STATIONS)
    points = np.concatenate([r.points_mm[::every] for r in outlines])
    low = np.concatenate([r.low_mm[::every] for r in outlines])
    high = np.concatenate([r.high_mm[::every] for r in outlines])
    weight = np.concatenate([np.full(len(r.low_mm[::every]), r.spacing_mm) for r in outlines])
    middle = points.mean(axis=0)
    n = len(low)
    # Unknowns: a, b, c, margin, then how far each station lies under its low
    # end and over its high end.
    ones = np.ones((n, 1))
    rows = np.hstack([ones, points - middle])
    slack = sparse.identity(n)
    nothing = sparse.csr_matrix((n, n))
    under = sparse.hstack([np.hstack([-rows, ones]), -slack, nothing])
    over = sparse.hstack([np.hstack([rows, ones]), nothing, -slack])
    reach = float(high.max() - low.min()) + 1.0
    found = linprog(
        np.concatenate([[0, 0, 0, -1e-3 * weight.sum()], weight, weight]),
        A_ub=sparse.vstack([under, over]).tocsr(),
        b_ub=np.concatenate([-low, high]),
        bounds=[(None, None), (-MAX_TILT, MAX_TILT), (-MAX_TILT, MAX_TILT), (0, reach)]
        + [(0, None)] * (2 * n),
        method="highs",
    )
    if found.x is None:
        plane = (level_mm, 0.0, 0.0)
    else:
        a, b, c = (float(v) for v in np.round(found.x[:3], 9))
        plane = (a - b * float(middle[0]) - c * float(middle[1]), b, c)
    return plane, [plane[0] + r.points_mm @ plane[1:] for r in outlines]


def _stepped(ring):
    """Fewest arcs whose ranges share a height, each at the middle of what they share."""
    n = len(ring.low_mm)
    low, high = _opened(ring)
    best = None
    # Where to begin is free on a closed ring; a handful of starts is enough.
    for start in range(0, n, max(1, n // 16)):
        order = (start + np.arange(n)) % n
        line = np.empty(n)
        begun, lo, hi, n_arcs = 0, -np.inf, np.inf, 0
        for k in range(n + 1):
            if k < n:
                new_lo, new_hi = max(lo, low[order[k]]), min(hi, high[order[k]])
                if new_lo <= new_hi:
                    lo, hi = new_lo, new_hi
                    continue
            line[order[begun:k]] = 0.5 * (lo + hi)
            n_arcs += 1
            if k < n:
                begun, lo, hi = k, low[order[k]], high[order[k]]
        if best is None or n_arcs < best[0]:
            best = (n_arcs, line)
    return best[1]


def _opened(ring):
    """Ranges with low <= high: where they cross, both at the middle."""
    middle = 0.5 * (ring.low_mm + ring.high_mm)
    return np.minimum(ring.low_mm, middle), np.maximum(ring.high_mm, middle)


def _smoothest(ring, level_mm, wish=None):
    """Smoothest line within the ranges of a ring, drawn towards a level or a wish."""
    low, high = _opened(ring)
    margin = np.minimum(0.25 * (high - low), MARGIN_MM)
    low, high = low + margin, high - margin
    target = np.clip(level_mm, low, high)
    if wish is not None:
        target = np.where(np.isnan(wish), target, np.clip(wish, low, high))
    return rim.taut_line(low, high, target, PULL, N_SWEEPS)


def _following(outlines, level_mm, wish):
    wish = wish or [None] * len(outlines)
    return [_smoothest(r, level_mm, w) for r, w in zip(outlines, wish, strict=True)]


# -- from the line to the box -------------------------------------------------


@dataclass(frozen=True, eq=False)
class _Spread:
    """Carries a line at the outlines over the floor of the box."""

    field: ColumnField
    outlines: list
    plugs: tuple
    nodes: tuple

    def __post_init__(self):
        x, y = self.nodes
        grid = np.stack(np.meshgrid(x, y), axis=-1)
        shape = grid.shape[:2]
        field = self.field
        columns = field.columns_at(grid.reshape(-1, 2))
        rings = [r.points_mm for r in self.outlines] + [p.rim.points_mm for p in self.plugs]
        _, nearest = cKDTree(np.concatenate(rings)).query(grid.reshape(-1, 2))
        is_edge = np.ones(shape, dtype=bool)
        is_edge[1:-1, 1:-1] = False
        is_part = np.diff(field.first) > 0
        is_outside = levels.reach_outside(is_part, field.n_x, field.n_y)
        # A plug that is level fills its hole flat; one that follows its rim is
        # spanned by it.
        of_plug = np.concatenate(
            [[-1] * len(r.points_mm) for r in self.outlines]
            + [
                [-1 if p.is_following else k] * len(p.rim.points_mm)
                for k, p in enumerate(self.plugs)
            ]
        )
        is_void = (~is_part & ~is_outside)[columns].reshape(shape)
        flat_plug = np.where(is_void, of_plug[nearest].reshape(shape), -1)
        for name, value in {
            "grid": grid,
            "nearest": nearest.reshape(shape),
            "is_edge": is_edge,
            "is_fixed": is_part[columns].reshape(shape) | is_edge | (flat_plug >= 0),
            "flat_plug": flat_plug,
            "is_void": is_void,
            "outside": np.flatnonzero(is_outside),
        }.items():
            object.__setattr__(self, name, value)

    def heights(self, plane, line):
        """Grid heights (n_y, n_x) of a plane, or of a line spread to a level box."""
        around = np.concatenate(list(line) + [p.rim.line_mm for p in self.plugs])
        spanned = around[self.nearest]
        if plane is not None:
            flat = plane[0] + self.grid @ np.asarray(plane[1:])
            if not self.is_void.any():
                return flat
            spanned = np.where(self.is_void, spanned, flat)
            is_fixed = self.is_fixed | ~self.is_void
        else:
            spanned[self.is_edge] = np.median(np.concatenate(line))
            is_fixed = self.is_fixed
        if self.plugs:
            shut_off = np.array([p.height_mm for p in self.plugs])
            spanned = np.where(self.flat_plug >= 0, shut_off[self.flat_plug], spanned)
        return surface.relax(spanned, is_fixed)

    def over_columns(self, heights):
        """Surface height over every column of the field, (n_columns,)."""
        field = self.field
        xy = field.centre_mm(np.arange(field.n_x * field.n_y))
        return surface.read(*self.nodes, heights, xy)

    def trapped_mm3(self, heights):
        """What the surface traps besides the gaps between surfaces."""
        base = self.over_columns(heights)
        by_plugs = sum(p.trapped_mm3 for p in self.plugs if not p.is_following)
        return sum(levels.trapped_beside_mm3(self.field, self.outside, base)) + by_plugs

    def shares(self, heights):
        """Part on either side, and bowls and domes across the surface."""
        field, base = self.field, self.over_columns(heights)
        at = base[field.column_of]
        solid = field.top_mm - field.bottom_mm
        below = np.clip(at - field.bottom_mm, 0, solid).sum()
        full = np.diff(field.first) > 0
        under = np.clip(base[full] - field.highest_mm[full], 0, None).sum()
        over = np.clip(field.lowest_mm[full] - base[full], 0, None).sum()
        clay_over, clay_under = levels.trapped_beside_mm3(field, self.outside, base)
        cell = field.cell_mm2
        return {
            "part_below_mm3": float(below * cell),
            "part_above_mm3": float((solid.sum() - below) * cell),
            "filled_above_mm3": float(max(under * cell - clay_over, 0.0)),
            "filled_below_mm3": float(max(over * cell - clay_under, 0.0)),
        }
