"""What the holes of a mesh leave open."""

from castplan.record import record


@record
class DoubtResult:
    """How far the numbers of a plan may be off because the mesh has holes.

    A closed mesh has no doubt: every low equals its high.
    """

    undecided_fraction: float  # of the columns through the part, along the draw
    volume_low_mm3: float
    volume_high_mm3: float
    silicone_low_g: float
    silicone_high_g: float
    resin_low_g: float
    resin_high_g: float
    trapped_mm3: float  # between surfaces, in undecided columns
    pockets: tuple[int, ...]  # numbers of pockets that reach into them
    peaks: tuple[int, ...]  # numbers of high points that stand in or beside them
    is_trusted: bool
