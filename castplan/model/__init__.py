"""The records passed between stages: frozen, with units in every name.

Two frames occur. The *part frame* is the mesh file's own axes in millimetres.
A `Frame` turns it: in the *draw frame* +z is the way the upper half leaves
the part, in the *pour frame* +z is up while the resin is poured. Both are
pure rotations, so a volume or a length means the same in each.
"""

from castplan.model.air import AirResult, Peak
from castplan.model.amounts import AmountsResult, Mix, ScheduleResult, Step
from castplan.model.base import BASES, SEVERITIES, Finding, Frame, Sourced, record
from castplan.model.job import Job
from castplan.model.mould import MouldResult, Port
from castplan.model.part import MeshCheck, Part
from castplan.model.plan import Plan, Sampling, Sketch
from castplan.model.split import DrawCandidate, DrawResult, PartingResult, Pocket, UndercutResult

__all__ = [
    "BASES",
    "SEVERITIES",
    "AirResult",
    "AmountsResult",
    "DrawCandidate",
    "DrawResult",
    "Finding",
    "Frame",
    "Job",
    "MeshCheck",
    "Mix",
    "MouldResult",
    "Part",
    "PartingResult",
    "Peak",
    "Plan",
    "Pocket",
    "Port",
    "Sampling",
    "ScheduleResult",
    "Sketch",
    "Sourced",
    "Step",
    "UndercutResult",
    "record",
]
