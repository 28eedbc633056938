"""The parting line: level, tilted, stepped or following, the simplest that is free."""

from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from castplan.columns import levels, lines, rim, surface
from castplan.columns.field import ColumnField
from castplan.columns.gaps import Gaps
from castplan.errors import InputError
from castplan.model import (
    ClayStation,
    ClayStrip,
    HolePlug,
    Job,
    PartingLine,
    PartingOption,
    PartingResult,
    PartingSurface,
    RimLoop,
)
from castplan.model.memory import remembered
from castplan.texts import say

# In order of effort at the bench.
KINDS = ("level", "tilted", "stepped", "following")
STRIP_STEP_MM = 10.0
# A rim that stays within this is flat enough to press against a board.
FLUSH_MM = 0.2


@remembered
def find_line(
    field: ColumnField,
    gaps: Gaps,
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
    field, gaps : ColumnField, Gaps
        Along the draw. Sealed gaps count as solid: no silicone reaches them.
    parting : PartingResult
        The best level split.
    job : Job
        `parting` and `parting_height_mm` override.
    box_low_mm, box_high_mm : (3,) array_like
        Inside of the box, draw frame.
    tie_mm3 : float
        Trapped volume that counts as nothing.
    seam_heights : callable, optional
        Heights (k,) wanted at outline points (k, 2), nan where there is no
        wish: where the ranges leave freedom the line goes there.

    Returns
    -------
    PartingLine

    Raises
    ------
    InputError
        The height asked for does not lie on the part, or the split is not level.
    """
    rims = rim.find_rims(field)
    outlines = [r for r in rims if not r.is_hole]
    holes = [r for r in rims if r.is_hole]
    plugs = tuple(_plug(field, r, n, tie_mm3) for n, r in enumerate(holes, start=1))
    nodes = surface.floor_nodes(box_low_mm, box_high_mm)
    spread = _Spread(field, outlines, plugs, nodes)
    asked_mm = _asked_height(field, job)
    level_mm = parting.height_mm if asked_mm is None else float(field.low_mm[2]) + asked_mm
    wish = None if seam_heights is None else [seam_heights(r.points_mm) for r in outlines]
    ways = {
        "level": ((level_mm, 0.0, 0.0), [np.full(len(r.low_mm), level_mm) for r in outlines]),
        "tilted": lines.tilted_line(outlines, level_mm=level_mm),
        "stepped": (None, [lines.stepped_line(r) for r in outlines]),
        "following": (None, _following(outlines, level_mm, wish)),
    }
    options, surfaces = [], {}
    for kind in KINDS:
        plane, line = ways[kind]
        heights = spread.heights(plane, line)
        surfaces[kind] = (heights, spread.over_columns(heights))
        extra_mm3 = spread.trapped_mm3(surfaces[kind][1])
        if kind == "tilted" and extra_mm3 + parting.locked_mm3 > options[0].trapped_mm3:
            # Least violation is not least volume; level is a plane too.
            ways[kind], surfaces[kind] = ways["level"], surfaces["level"]
            line, extra_mm3 = ways[kind][1], options[0].trapped_mm3 - parting.locked_mm3
        options.append(_option(kind, outlines, line, extra_mm3, parting.locked_mm3, tie_mm3))
    kind = job.parting or _simplest(options, asked_mm)
    chosen = options[KINDS.index(kind)]
    plane, line = ways[kind]
    heights, base = surfaces[kind]
    return PartingLine(
        kind=kind,
        is_asked_for=job.parting is not None or asked_mm is not None,
        options=tuple(options),
        plane=tuple(float(v) for v in plane or (float(heights[0, 0]), 0.0, 0.0)),
        outlines=tuple(_loop(r, z) for r, z in zip(outlines, line, strict=True)),
        plugs=plugs,
        strips=tuple(
            _strip(r, z, n, np.asarray(box_low_mm, dtype=float))
            for n, (r, z) in enumerate(zip(outlines, line, strict=True), start=1)
        ),
        surface=PartingSurface(
            x0_mm=float(nodes[0][0]),
            y0_mm=float(nodes[1][0]),
            step_x_mm=float(nodes[0][1] - nodes[0][0]),
            step_y_mm=float(nodes[1][1] - nodes[1][0]),
            heights_mm=heights,
        ),
        box_height_mm=float(heights[0, 0]),
        trapped_mm3=chosen.trapped_mm3,
        **spread.shares(base, gaps),
    )


def _asked_height(field, job):
    """`job.parting_height_mm`, which must lie on the part and mean a level split."""
    asked_mm = job.parting_height_mm
    height_mm = float(field.high_mm[2] - field.low_mm[2])
    if asked_mm is None:
        return None
    if asked_mm > height_mm or job.parting not in (None, "level"):
        raise InputError(
            "--parting-height",
            found=f"{asked_mm:g} mm" + (f" of a {job.parting} split" if job.parting else ""),
            need=f"0 to {height_mm:.1f} mm above the part's lowest point, of a level split",
            do="Leave out one of the two, or give a height on the part.",
        )
    return asked_mm


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
        "level": say("line_note.level"),
        "tilted": say("line_note.tilted"),
        "stepped": say("line_note.stepped", n=n_steps) if n_steps else say("line_note.no_step"),
        "following": say("line_note.following"),
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


def _strip(ring, line, number, box_low_mm):
    """Clay heights every `STRIP_STEP_MM` round an outline, from the box's floor."""
    along = ring.spacing_mm * np.arange(len(line))
    at = np.append(np.arange(0.0, ring.length_mm, STRIP_STEP_MM), ring.length_mm)
    x, y, height, low, high = (
        np.interp(at, along, values, period=ring.length_mm)
        for values in (*(ring.points_mm - box_low_mm[:2]).T, line, ring.low_mm, ring.high_mm)
    )
    stations = [
        ClayStation(
            along_mm=float(at[k]),
            from_corner_mm=(float(x[k]), float(y[k])),
            height_mm=float(height[k] - box_low_mm[2]),
            low_mm=float(low[k] - box_low_mm[2]),
            high_mm=float(high[k] - box_low_mm[2]),
        )
        for k in range(len(at))
    ]
    return ClayStrip(outline=number, length_mm=ring.length_mm, stations=tuple(stations))


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
    line = (
        lines.smoothest_line(ring, level_mm=float(tries[k]))
        if follows
        else np.full(len(ring.low_mm), tries[k])
    )
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


def _following(outlines, level_mm, wish):
    wish = wish or [None] * len(outlines)
    return [
        lines.smoothest_line(r, level_mm=level_mm, wish_mm=w)
        for r, w in zip(outlines, wish, strict=True)
    ]


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
        """Surface height over every column of the part, 0 elsewhere: (n_columns,)."""
        full = np.flatnonzero(np.diff(self.field.first) > 0)
        base = np.zeros(len(self.field.first) - 1)
        base[full] = surface.read(*self.nodes, heights, self.field.centre_mm(full))
        return base

    def trapped_mm3(self, base):
        """What the surface traps besides the gaps between surfaces."""
        by_plugs = sum(p.trapped_mm3 for p in self.plugs if not p.is_following)
        return sum(levels.trapped_beside_mm3(self.field, self.outside, base)) + by_plugs

    def shares(self, base, gaps):
        """Solid on either side, and bowls and domes across the surface."""
        field = self.field
        is_sealed = (gaps.n_mouths == 0)[gaps.pocket]
        column = np.concatenate([field.column_of, gaps.column[is_sealed]])
        bottom = np.concatenate([field.bottom_mm, gaps.bottom_mm[is_sealed]])
        solid = np.concatenate([field.top_mm, gaps.top_mm[is_sealed]]) - bottom
        below = np.clip(base[column] - bottom, 0, solid).sum()
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
