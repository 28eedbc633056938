"""The records passed between stages: frozen, with units in every name.

Two frames occur. The *part frame* is the mesh file's own axes in millimetres.
A `Frame` turns it: in the *draw frame* +z is the way the upper half leaves
the part, in the *pour frame* +z is up while the resin is poured. Both are
pure rotations, so a volume or a length means the same in each.

What a room gives out is named once, in its own ``records``.
"""

# ruff: noqa: F403

from castplan.after import records as after
from castplan.after.records import *
from castplan.air import records as air
from castplan.air.records import *
from castplan.bench import records as bench
from castplan.bench.records import *
from castplan.job import AirWeights, DrawWeights, Gauge, Job, Pack, Shop
from castplan.mould import records as mould
from castplan.mould.records import *
from castplan.nest.records import Nest, Placed, Shared
from castplan.part import records as part
from castplan.part.records import *
from castplan.plan_record import Plan
from castplan.record import BASES, SEVERITIES, Finding, Frame, Sourced, record
from castplan.split import records as split
from castplan.split.records import *
from castplan.view.records import Film, Scene, SurfaceMaps

__all__ = [
    "BASES",
    "SEVERITIES",
    "AirWeights",
    "DrawWeights",
    "Film",
    "Finding",
    "Frame",
    "Gauge",
    "Job",
    "Nest",
    "Pack",
    "Placed",
    "Plan",
    "Scene",
    "Shared",
    "Shop",
    "Sourced",
    "SurfaceMaps",
    "record",
]
__all__ += after.__all__
__all__ += air.__all__
__all__ += bench.__all__
__all__ += mould.__all__
__all__ += part.__all__
__all__ += split.__all__
