"""The parting of a plan in every column, and as a surface fine enough to cut solids by."""

from dataclasses import replace

import numpy as np

from castplan.columns import surface as surfaces
from castplan.columns.field import ColumnField
from castplan.columns.gaps import Gaps, find_gaps
from castplan.columns.shutoff import fill_holes, surface_heights
from castplan.memory import remembered
from castplan.split.records import HolePlug, PartingLine, PartingSurface

# A flat bed comes up against the part by itself; a line is modelled on the part.
SPREADING = ("level", "tilted")
# Bowls and domes smaller than this need no surface of their own.
LEAST_MM3 = 1.0
# Nodes along the part's longer side at the most. Steps of the parting stand two
# columns of 512 off a wall, so that half as many nodes still find it.
NODES, FINE_NODES = 256, 512


def clay_over(field: ColumnField, surface: PartingSurface) -> np.ndarray:
    """The clay's surface, carried on over the part, in every column: (n,) [mm]."""
    every = np.arange(field.n_x * field.n_y)
    points = field.centre_mm(every)
    return surfaces.read(surface.x_mm, surface.y_mm, surface.heights_mm, points)


def with_plugs(field: ColumnField, clay_mm, plugs: tuple[HolePlug, ...]) -> np.ndarray:
    """Heights with those of the plugs in the holes through the part, (n,) [mm]."""
    rims = [
        (p.rim.points_mm, p.rim.line_mm, None if p.is_following else p.height_mm) for p in plugs
    ]
    return fill_holes(field, clay_mm, rims)


def parting_over(field: ColumnField, line: PartingLine, gaps: Gaps | None = None) -> np.ndarray:
    """Height of the parting as it is built, in every column of a field along the draw.

    Parameters
    ----------
    field : ColumnField
        At any pitch.
    line : PartingLine
    gaps : Gaps, optional
        Of the field, where they are at hand.

    Returns
    -------
    (n,) float64 [mm]
    """
    base = with_plugs(field, clay_over(field, line.surface), line.plugs)
    return surface_heights(
        field,
        find_gaps(field) if gaps is None else gaps,
        base,
        spreads=line.kind in SPREADING,
    )


@remembered
def cutting_surface(
    field: ColumnField,
    line: PartingLine,
    built_mm: np.ndarray | None = None,
    *,
    is_fine: bool = False,
) -> PartingSurface:
    """The surface that solids are cut by: the clay's, and over the part and its holes a fine one.

    Parameters
    ----------
    field : ColumnField
        Along the draw.
    line : PartingLine
    built_mm : (n,) float64, optional
        Of `parting_over`, where it is at hand.
    is_fine : bool
        Nodes as near to each other as the columns, for solids to be made.

    Returns
    -------
    PartingSurface
        The plan's own where nothing of the part needs more.
    """
    if not line.plugs and line.filled_above_mm3 + line.filled_below_mm3 < LEAST_MM3:
        return line.surface
    coarse = line.surface
    size = (field.high_mm - field.low_mm)[:2]
    n_nodes = FINE_NODES if is_fine else NODES
    step = max(field.pitch_mm, float(size.max()) / n_nodes)
    box = ((coarse.x_mm[0], coarse.x_mm[-1]), (coarse.y_mm[0], coarse.y_mm[-1]))
    n = [max(int(np.ceil((high - low) / step)), 1) for low, high in box]
    x, y = (np.linspace(*ends, count + 1) for ends, count in zip(box, n, strict=True))
    grid = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    heights = surfaces.read(coarse.x_mm, coarse.y_mm, coarse.heights_mm, grid)
    over = parting_over(field, line) if built_mm is None else built_mm
    inside = (grid > field.low_mm[:2]).all(axis=1) & (grid < field.high_mm[:2]).all(axis=1)
    heights[inside] = over[field.columns_at(grid[inside])]
    return replace(
        coarse,
        step_x_mm=float(x[1] - x[0]),
        step_y_mm=float(y[1] - y[0]),
        heights_mm=heights.reshape(len(y), len(x)),
    )
