"""The parting line: level, tilted, stepped or following, the simplest that is free."""

from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from castplan.choices import CHOICES
from castplan.columns import levels, lines, rim, surface
from castplan.columns.field import ColumnField
from castplan.columns.gaps import Gaps
from castplan.columns.shutoff import surface_heights
from castplan.errors import InputError, Option
from castplan.geometry import margins, shutoff
from castplan.job import Job
from castplan.memory import remembered
from castplan.record import record
from castplan.split.plugs import loop_of, plug_hole
from castplan.split.records import (
    ClayStation,
    ClayStrip,
    FlexResult,
    PartingLine,
    PartingOption,
    PartingResult,
    PartingSurface,
)
from castplan.split.wish import LineWish
from castplan.texts.told import tell

# In order of effort at the bench.
KINDS = CHOICES["parting"].words
STRIP_STEP_MM = 10.0
# Verdicts for which another line is worth its clay.
HARD = ("may tear", "locked")
# A tilted bed is laid like a level one once the part is propped (assumed).
TILTED_SHARE = 0.5


@record
class Drawn:
    """The part along the draw, before the line is known."""

    field: ColumnField
    gaps: Gaps  # sealed ones count as solid: no silicone reaches them
    parting: PartingResult  # the best level split


@record
class Laid:
    """A line with the parting as it is built, as `geometry.shutoff.parting_over` tells it."""

    line: PartingLine
    built_mm: np.ndarray  # (n_columns,)


@remembered
def find_lines(drawn: Drawn, job: Job, wish: LineWish, *, ends_mm) -> tuple[Laid, ...]:
    """Choose how the parting runs round the part, and span it to the box.

    Around the outline each station has a range of heights at which nothing is
    trapped. A level plane is one number for all stations, a tilted plane
    three (least violation by linear programming), steps are arcs with a
    common height, a following line is the smoothest within the ranges. What
    each traps is read off the surface that it spans, bowls, holes and voids of
    the part minded; of those that trap no more than the tie or cost the shop
    about the same, the plainest is recommended.

    Parameters
    ----------
    drawn : Drawn
    job : Job
        `parting` and `parting_height_mm` override.
    wish : LineWish
    ends_mm : (low, high), (3,) array_like each
        Inside of the box, draw frame.

    Returns
    -------
    tuple of Laid
        The one recommended, and where that is another the plainest of those that trap
        least, whatever it costs.

    Raises
    ------
    InputError
        The height asked for does not lie on the part, or the split is not level.
    """
    field, gaps, parting = drawn.field, drawn.gaps, drawn.parting
    (box_low_mm, box_high_mm), tie_mm3 = ends_mm, wish.tie_mm3
    rims = rim.find_rims(field)
    outlines = [r for r in rims if not r.is_hole]
    holes = [r for r in rims if r.is_hole]
    plugs = tuple(plug_hole(field, r, wish, number=n) for n, r in enumerate(holes, start=1))
    nodes = surface.floor_nodes(box_low_mm, box_high_mm)
    spread = _Spread(field, gaps, outlines, plugs, nodes)
    asked_mm = _asked_height(field, job)
    level_mm = parting.height_mm if asked_mm is None else float(field.low_mm[2]) + asked_mm
    wanted = None
    if wish.seam_heights is not None:
        wanted = [wish.seam_heights(r.points_mm) for r in outlines]
    ways = {
        "level": ((level_mm, 0.0, 0.0), [np.full(len(r.low_mm), level_mm) for r in outlines]),
        "tilted": lines.tilted_line(outlines, level_mm=level_mm),
        "stepped": (None, [lines.stepped_line(r) for r in outlines]),
        "following": (None, _following(outlines, level_mm, wanted)),
    }
    options, surfaces = [], {}
    # What lies on the board is parted there.
    for kind in KINDS[:1] if wish.is_on_board else KINDS:
        plane, line = ways[kind]
        sheet = spread.sheet(plane, line)
        surfaces[kind] = (sheet, *spread.over_columns(sheet, kind))
        extra_mm3 = spread.trapped_mm3(surfaces[kind][2])
        if kind == "tilted" and extra_mm3 + parting.locked_mm3 > options[0].trapped_mm3:
            # Least violation is not least volume; level is a plane too.
            ways[kind], surfaces[kind] = ways["level"], surfaces["level"]
            line, extra_mm3 = ways[kind][1], options[0].trapped_mm3 - parting.locked_mm3
        volumes = (extra_mm3, parting.locked_mm3, tie_mm3)
        options.append(_option(kind, outlines, line, volumes, job.draw_weights))
    found = []
    wanted = [
        job.parting or _simplest(options, asked_mm, is_least=least) for least in (False, True)
    ]
    for kind in dict.fromkeys(wanted):
        plane, line = ways[kind]
        sheet, clay_mm, built_mm = surfaces[kind]
        heights = sheet.heights_mm
        laid = PartingLine(
            kind=kind,
            is_asked_for=job.parting is not None or asked_mm is not None,
            options=tuple(options),
            plane=tuple(float(v) for v in plane or (float(heights[0, 0]), 0.0, 0.0)),
            outlines=tuple(loop_of(r, z) for r, z in zip(outlines, line, strict=True)),
            plugs=plugs,
            strips=tuple(
                _strip(r, z, n, np.asarray(box_low_mm, dtype=float))
                for n, (r, z) in enumerate(zip(outlines, line, strict=True), start=1)
            ),
            surface=sheet,
            box_height_mm=float(heights[0, 0]),
            trapped_mm3=options[KINDS.index(kind)].trapped_mm3,
            **spread.shares(clay_mm, built_mm),
        )
        found.append(Laid(line=laid, built_mm=built_mm))
    return tuple(found)


def _asked_height(field, job):
    """`job.parting_height_mm`, which must lie on the part and mean a level split."""
    asked_mm = job.parting_height_mm
    height_mm = float(field.high_mm[2] - field.low_mm[2])
    if asked_mm is None:
        return None
    if asked_mm > height_mm or job.parting not in (None, "level"):
        raise InputError(
            Option("--parting-height"),
            found=f"{asked_mm:g} mm" + (f" of a {job.parting} split" if job.parting else ""),
            need=f"0 to {height_mm:.1f} mm above the part's lowest point, for a flat parting",
            do="Leave out one of the two, or give a height on the part.",
        )
    return asked_mm


def is_worth_another(line: PartingLine, flex: FlexResult, *, tie_mm3: float) -> bool:
    """Whether what the line itself holds, to save work, would not come out whole."""
    least_mm3 = min(option.trapped_mm3 for option in line.options)
    if line.is_asked_for or line.trapped_mm3 <= least_mm3 + tie_mm3:
        return False
    return any(pocket.verdict in HARD for pocket in flex.pockets)


def _simplest(options, asked_mm, *, is_least):
    """The plainest kind that is free, or that costs hardly more than the cheapest."""
    if asked_mm is not None:
        return "level"
    if is_least:
        least = min(options, key=lambda option: option.trapped_mm3)
        return next((option.kind for option in options if option.is_free), least.kind)
    limit_min = min(option.cost_min for option in options) + margins.LINE_MIN
    for option in options:
        if option.is_free or option.cost_min <= limit_min:
            return option.kind
    return min(options, key=lambda option: option.trapped_mm3).kind


def _cost_min(kind, extra_mm3, climb_mm, weights):
    """What a kind costs beyond what no split frees: rubber to work free, clay to model."""
    trapped_min = weights.trapped_min_per_ml * extra_mm3 / 1000
    if kind == "level":
        return trapped_min
    share = TILTED_SHARE if kind == "tilted" else 1.0
    return trapped_min + share * (weights.following_min + weights.line_min_per_mm * climb_mm)


def _option(kind, outlines, line, volumes, weights):
    extra_mm3, locked_mm3, tie_mm3 = volumes
    rise = [np.diff(z, append=z[:1]) for z in line]
    length = sum(
        float(np.hypot(r.spacing_mm, d).sum()) for r, d in zip(outlines, rise, strict=True)
    )
    low, high = min(float(z.min()) for z in line), max(float(z.max()) for z in line)
    n_steps = sum(int((np.abs(d) > 1e-9).sum()) for d in rise)
    notes = {
        "level": tell("line_note.level"),
        "tilted": tell("line_note.tilted"),
        "stepped": tell("line_note.stepped", n=n_steps) if n_steps else tell("line_note.no_step"),
        "following": tell("line_note.following"),
    }
    return PartingOption(
        kind=kind,
        trapped_mm3=extra_mm3 + locked_mm3,
        low_mm=low,
        high_mm=high,
        length_mm=length,
        is_free=bool(extra_mm3 <= tie_mm3),
        cost_min=_cost_min(kind, extra_mm3, high - low, weights),
        note=notes[kind],
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
    gaps: Gaps
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
            # The same for every line: heights in the holes and their walls, else nan.
            "plugged": shutoff.with_plugs(field, np.full(is_part.size, np.nan), self.plugs),
        }.items():
            object.__setattr__(self, name, value)

    def sheet(self, plane, line):
        """The surface of a plane, or of a line spread to a level box."""
        x, y = self.nodes
        return PartingSurface(
            x0_mm=float(x[0]),
            y0_mm=float(y[0]),
            step_x_mm=float(x[1] - x[0]),
            step_y_mm=float(y[1] - y[0]),
            heights_mm=self._heights(plane, line),
        )

    def _heights(self, plane, line):
        """Grid heights (n_y, n_x)."""
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

    def over_columns(self, sheet, kind):
        """Clay carried on over every column, and the parting as built: (n,) each [mm]."""
        clay_mm = shutoff.clay_over(self.field, sheet)
        base_mm = np.where(np.isnan(self.plugged), clay_mm, self.plugged)
        spreads = kind in shutoff.SPREADING
        return clay_mm, surface_heights(self.field, self.gaps, base_mm, spreads=spreads)

    def trapped_mm3(self, built_mm):
        """What the surface traps besides the gaps between surfaces."""
        field = self.field
        full = np.diff(field.first) > 0
        over = np.clip(built_mm[full] - field.highest_mm[full], 0, None).sum()
        under = np.clip(field.lowest_mm[full] - built_mm[full], 0, None).sum()
        return float((over + under) * field.cell_mm2)

    def shares(self, clay_mm, built_mm):
        """Solid on either side of the clay carried on, and void between it and what is built."""
        field, gaps = self.field, self.gaps
        is_sealed = (gaps.n_mouths == 0)[gaps.pocket]
        column = np.concatenate([field.column_of, gaps.column[is_sealed]])
        bottom = np.concatenate([field.bottom_mm, gaps.bottom_mm[is_sealed]])
        solid = np.concatenate([field.top_mm, gaps.top_mm[is_sealed]]) - bottom

        def under(height_mm):
            return np.bincount(
                column,
                weights=np.clip(height_mm[column] - bottom, 0, solid),
                minlength=clay_mm.size,
            )

        below = under(clay_mm)
        between = clay_mm - built_mm - (below - under(built_mm))
        between[self.outside] = 0.0
        cell = field.cell_mm2
        return {
            "part_below_mm3": float(below.sum() * cell),
            "part_above_mm3": float((solid.sum() - below.sum()) * cell),
            "filled_above_mm3": float(np.clip(between, 0, None).sum() * cell),
            "filled_below_mm3": float(np.clip(-between, 0, None).sum() * cell),
        }
