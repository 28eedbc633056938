"""Prints besides the bed: walls of the box, and a rigid case for the rubber."""

import shapely
from manifold3d import Manifold, OpType

from castplan.geometry import block, solid
from castplan.job import Job
from castplan.mould.cut import Cut
from castplan.mould.records import Solid
from castplan.part.records import Part
from castplan.split.records import BoxResult

WALL_MM = 4.0  # of a print (from memory)
RIM_MM = 10.0  # of wall above the silicone
FLANGE_MM = 14.0
BOLT_MM = 4.5  # clearance for M4
BOLT_PITCH_MM = 40.0
GRID_MM = 1e-3


def make_walls(box: BoxResult, job: Job) -> tuple[Solid, ...]:
    """The box's wall as two prints, bolted together at flanges, to be opened for demoulding.

    Parameters
    ----------
    box : BoxResult
    job : Job

    Returns
    -------
    tuple of Solid
        Split square to x through the middle of the box.
    """
    inside = shapely.Polygon(box.outline_mm)
    low, high = box.low_mm[2], box.high_mm[2] + RIM_MM
    x_mm = inside.centroid.x
    x0, y0, x1, y1 = inside.bounds
    across = inside.intersection(shapely.LineString([(x_mm, y0 - 1), (x_mm, y1 + 1)])).bounds
    profile, bolts = [inside.buffer(WALL_MM, join_style="mitre")], []
    n_bolts = max(2, int((high - low) / BOLT_PITCH_MM) + 1)
    for y, out in ((across[1], -1.0), (across[3], 1.0)):
        far = y + out * (WALL_MM + FLANGE_MM)
        profile.append(shapely.box(x_mm - WALL_MM, min(y, far), x_mm + WALL_MM, max(y, far)))
        middle = y + out * (WALL_MM + 0.5 * FLANGE_MM)
        for k in range(n_bolts):
            z = low + (high - low) * (k + 0.5) / n_bolts
            ends = ((x_mm - 3 * WALL_MM, middle, z), (x_mm + 3 * WALL_MM, middle, z))
            bolts.append(solid.bore(*ends, diameter_mm=BOLT_MM))
    ring = shapely.union_all(profile).difference(inside)
    drill = Manifold.batch_boolean(bolts, OpType.Add)
    reach = 2 * (x1 - x0 + y1 - y0)
    walls = []
    for number, ends in enumerate(((x_mm - reach, x_mm), (x_mm, x_mm + reach)), start=1):
        # Cut flat, on a grid: a plane through the solid leaves slivers at corners near it.
        side = ring.intersection(shapely.box(ends[0], y0 - reach, ends[1], y1 + reach))
        side = shapely.set_precision(side, GRID_MM)
        wall = solid.prism(side, low_mm=low, high_mm=high) - drill
        walls.append(block.as_record(f"box wall {number} of 2", wall))
    return tuple(walls)


def make_case(part: Part, cut: Cut, job: Job, *, parting_mm: float) -> tuple[Solid, ...]:
    """A rigid case of two trays that hold the rubber halves to shape while resin is poured.

    Parameters
    ----------
    part : Part
    cut : Cut
        Its openings go through the case.
    job : Job
        `bed_clearance_mm` is left between rubber and case.
    parting_mm : float
        Level at the box's wall, where the trays meet.

    Returns
    -------
    tuple of Solid
        "case lower", "case upper".
    """
    box = cut.box
    rubber = shapely.Polygon(box.outline_mm)
    gap = job.bed_clearance_mm
    inside = rubber.buffer(gap, join_style="mitre")
    outer = inside.buffer(WALL_MM, join_style="mitre")
    low, high = box.low_mm[2] - gap, box.high_mm[2] + gap
    shell = solid.prism(outer, low_mm=low - WALL_MM, high_mm=high + WALL_MM)
    shell = shell - solid.prism(inside, low_mm=low, high_mm=high)
    body = solid.part_solid(part, cut.frame.rotation)
    if body is not None:
        bores = block.port_solids(cut.ports, box, body, cut.routes)
        shell = shell - Manifold.batch_boolean(bores, OpType.Add)
    upper, lower = shell.split_by_plane((0.0, 0.0, 1.0), parting_mm)
    return block.as_record("case lower", lower), block.as_record("case upper", upper)
