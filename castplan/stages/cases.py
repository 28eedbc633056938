"""Prints besides the bed: walls of the box, and a rigid case for the rubber."""

import shapely
from manifold3d import Manifold, OpType

from castplan.mesh import block, solid
from castplan.model import BoxResult, Frame, Job, MouldResult, Part, Solid

WALL_MM = 4.0  # of a print (from memory)
RIM_MM = 10.0  # of wall above the silicone
FLANGE_MM = 14.0
BOLT_MM = 4.5  # clearance for M4
BOLT_PITCH_MM = 40.0


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
    ring = inside.buffer(WALL_MM, join_style="mitre").difference(inside)
    wall = solid.prism(ring, low_mm=low, high_mm=high)
    x_mm = inside.centroid.x
    reach = inside.bounds[3] - inside.bounds[1] + 2 * (WALL_MM + FLANGE_MM)
    cut = inside.intersection(
        shapely.LineString([(x_mm, inside.bounds[1] - 1), (x_mm, inside.bounds[3] + 1)])
    )
    y_low, y_high = cut.bounds[1], cut.bounds[3]
    bolts = []
    for y, out in ((y_low, -1.0), (y_high, 1.0)):
        far = y + out * (WALL_MM + FLANGE_MM)
        # From just inside the wall, so that flange and wall are one body.
        flange = shapely.box(x_mm - WALL_MM, min(y, far), x_mm + WALL_MM, max(y, far))
        wall = wall + solid.prism(flange.difference(inside), low_mm=low, high_mm=high)
        n = max(2, int((high - low) / BOLT_PITCH_MM) + 1)
        middle = y + out * (WALL_MM + 0.5 * FLANGE_MM)
        for k in range(n):
            z = low + (high - low) * (k + 0.5) / n
            ends = ((x_mm - reach, middle, z), (x_mm + reach, middle, z))
            bolts.append(solid.bore(*ends, diameter_mm=BOLT_MM))
    wall = wall - Manifold.batch_boolean(bolts, OpType.Add)
    right, left = wall.split_by_plane((1.0, 0.0, 0.0), x_mm)
    return (
        block.as_record("box wall 1 of 2", left),
        block.as_record("box wall 2 of 2", right),
    )


def make_case(
    part: Part,
    frame: Frame,
    pour_frame: Frame,
    box: BoxResult,
    mould: MouldResult,
    job: Job,
    *,
    parting_mm: float,
) -> tuple[Solid, ...]:
    """A rigid case of two trays that hold the rubber halves to shape while resin is poured.

    Parameters
    ----------
    part : Part
    frame, pour_frame : Frame
        Along the draw; up at the pour.
    box : BoxResult
    mould : MouldResult
        Its ports go through the case.
    job : Job
        `bed_clearance_mm` is left between rubber and case.
    parting_mm : float
        Level at the box's wall, where the trays meet.

    Returns
    -------
    tuple of Solid
        "case lower", "case upper".
    """
    rubber = shapely.Polygon(box.outline_mm)
    gap = job.bed_clearance_mm
    inside = rubber.buffer(gap, join_style="mitre")
    outer = inside.buffer(WALL_MM, join_style="mitre")
    low, high = box.low_mm[2] - gap, box.high_mm[2] + gap
    shell = solid.prism(outer, low_mm=low - WALL_MM, high_mm=high + WALL_MM)
    shell = shell - solid.prism(inside, low_mm=low, high_mm=high)
    body = solid.part_solid(part, frame.rotation)
    if body is not None:
        bores = block.port_solids(mould, frame, pour_frame, body, job)
        shell = shell - Manifold.batch_boolean(bores, OpType.Add)
    upper, lower = shell.split_by_plane((0.0, 0.0, 1.0), parting_mm)
    return block.as_record("case lower", lower), block.as_record("case upper", upper)
