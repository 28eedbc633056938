"""A printed bed in place of clay: carries the part up to the parting line."""

import math

import manifold3d
import numpy as np
import shapely
from manifold3d import Manifold
from scipy import ndimage

from castplan.columns.field import ColumnField
from castplan.geometry import block, solid
from castplan.job import Job
from castplan.mould.cut import Cut
from castplan.mould.records import Solid
from castplan.split.records import PartingSurface

# Nodes along the longer side of the part; finer than a printer's line either way.
N_LONG = 500
FINEST_MM = 0.2
# The plate that the boards stand on, and the lip that keeps them in place.
PLATE_MM = 3.0
LIP_MM = 4.0
LIP_HIGH_MM = 6.0
# Where a lip would cost another piece: as much of a board as keeps it standing on
# the plate; its clamps keep it in place (assumed).
SEAT_MM = 4.0
# A printer's edge that is not used.
EDGE_MM = 5.0
# Lower than the part by twice what thinning out the seat's facets may add.
HAIR_MM = 2 * solid.SURFACE_TOLERANCE_MM


def make_bed(field: ColumnField, cut: Cut, job: Job) -> tuple[Solid, ...]:
    """The bed in pieces that fit the printer.

    It fills the box up to the parting, keys on it, plugs standing in holes
    through the part. The seat of the part is the part's own underside, carried
    straight up: whatever the bed would have to reach round is left to the
    part, so pockets below the parting stay closed and the part lifts out. The
    seat is `job.bed_clearance_mm` wider than the part all round, but deeper by
    a hair only: the part stands at its true height.

    Parameters
    ----------
    field : ColumnField
        Sampled along the draw.
    cut : Cut
        Its keys are raised, since nothing can be pressed into a print.
    job : Job

    Returns
    -------
    tuple of Solid
    """
    surface, box, keys = cut.surface, cut.box, cut.keys
    outline = shapely.Polygon(box.outline_mm)
    floor_mm = box.low_mm[2]
    gap = job.bed_clearance_mm
    inner = solid.prism(
        outline.buffer(-gap, join_style="mitre"),
        low_mm=floor_mm,
        high_mm=float(surface.heights_mm.max()) + keys.diameter_mm,
    )
    body = inner ^ block.keyed_block(surface, keys, bottom_mm=floor_mm - block.MARGIN_MM)
    body = body - seat(field, surface, clearance_mm=gap)
    rims = [_rim(outline, floor_mm, job), _narrow_rim(outline, floor_mm, job)]
    # The lip where it costs no more pieces than the least rim that seats the boards.
    rim = min(rims, key=lambda one: math.prod(_counts(one, job)))
    return split_for_printer(body + rim, "bed", job)


def seat(field: ColumnField, surface: PartingSurface, *, clearance_mm: float) -> Manifold:
    """The part's underside carried straight up, widened by a clearance.

    Parameters
    ----------
    field : ColumnField
    surface : PartingSurface
    clearance_mm : float

    Returns
    -------
    manifold3d.Manifold
        From the part's lowest surface to above the parting.
    """
    size = (field.high_mm - field.low_mm)[:2]
    step = max(float(size.max()) / N_LONG, FINEST_MM)
    reach = clearance_mm + 4 * step
    x, y = (
        np.arange(field.low_mm[k] - reach, field.high_mm[k] + reach + step, step) for k in (0, 1)
    )
    grid = np.stack(np.meshgrid(x, y), axis=-1)
    lowest = field.lowest_mm[field.columns_at(grid.reshape(-1, 2))].reshape(grid.shape[:2])
    # What lies within the clearance of a node, half a step of the ramp
    # between nodes and half a column.
    radius = clearance_mm + 0.5 * step + 0.5 * field.pitch_mm
    n = math.ceil(radius / step)
    i = np.arange(-n, n + 1) * step
    disc = i[:, None] ** 2 + i[None, :] ** 2 <= radius**2
    wide = ndimage.grey_erosion(lowest, footprint=disc, mode="constant", cval=np.inf)
    over_mm = max(float(surface.heights_mm.max()), float(field.low_mm[2])) + 10.0
    under = np.minimum(wide, over_mm) - HAIR_MM
    # Built upside down, since a height block stands on a level floor.
    turned = solid.height_block(x, y, -under, bottom_mm=-over_mm - 1.0)
    return turned.mirror((0.0, 0.0, 1.0))


def _rim(outline, floor_mm, job):
    """Plate under bed and boards, with a lip round the boards' outside."""
    boards = outline.buffer(job.board_mm + job.bed_clearance_mm, join_style="mitre")
    outer = boards.buffer(LIP_MM, join_style="mitre")
    plate = solid.prism(outer, low_mm=floor_mm - PLATE_MM, high_mm=floor_mm)
    lip = solid.prism(
        outer.difference(boards), low_mm=floor_mm - PLATE_MM, high_mm=floor_mm + LIP_HIGH_MM
    )
    return plate + lip


def _narrow_rim(outline, floor_mm, job):
    """Plate under the bed that the boards stand on with their inner edge."""
    reach = min(SEAT_MM, job.board_mm) + job.bed_clearance_mm
    outer = outline.buffer(reach, join_style="mitre")
    return solid.prism(outer, low_mm=floor_mm - PLATE_MM, high_mm=floor_mm)


def _counts(body, job):
    """Into how many pieces a solid is cut along x and y; one where the printer is not told."""
    if job.printer_mm is None:
        return [1, 1]
    low, high = np.reshape(body.bounding_box(), (2, 3))
    size, room = (high - low)[:2], _room_for(low, high, job)
    return [math.ceil(side / most - 1e-9) for side, most in zip(size, room, strict=True)]


def _room_for(low, high, job):
    """What the printer takes along x and y; its long side takes the long one."""
    room = np.array(job.printer_mm[:2]) - 2 * EDGE_MM
    size = (high - low)[:2]
    return room[::-1] if (size[0] > size[1]) != (room[0] > room[1]) else room


def split_for_printer(body: Manifold, name: str, job: Job) -> tuple[Solid, ...]:
    """Cut a solid square into pieces that the printer takes; names count them."""
    low, high = np.reshape(body.bounding_box(), (2, 3))
    size, pieces = (high - low)[:2], [body]
    for axis, n in enumerate(_counts(body, job)):
        for k in range(1, n):
            at = float(low[axis] + size[axis] * k / n)
            normal = tuple(float(axis == j) for j in range(3))
            cut = []
            for piece in pieces:
                box = piece.bounding_box()
                if box[axis] < at < box[axis + 3]:
                    after, before = piece.split_by_plane(normal, at)
                    cut += [before, after]
                else:
                    cut.append(piece)
            pieces = cut
    pieces = [p for p in pieces if p.status() == manifold3d.Error.NoError and not p.is_empty()]
    if len(pieces) == 1:
        return (block.as_record(name, pieces[0]),)
    return tuple(
        block.as_record(f"{name} {k} of {len(pieces)}", piece)
        for k, piece in enumerate(pieces, start=1)
    )
