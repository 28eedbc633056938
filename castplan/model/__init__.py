"""The records passed between stages: frozen, with units in every name.

Two frames occur. The *part frame* is the mesh file's own axes in millimetres.
A `Frame` turns it: in the *draw frame* +z is the way the upper half leaves
the part, in the *pour frame* +z is up while the resin is poured. Both are
pure rotations, so a volume or a length means the same in each.
"""

from castplan.model.air import AirResult, Peak
from castplan.model.amounts import AmountsResult, Mix, ScheduleResult, Step
from castplan.model.attitude import AirWeights, AttitudeOption, AttitudeResult
from castplan.model.base import BASES, SEVERITIES, Finding, Frame, Sourced, record
from castplan.model.buy import BuyLine, BuyResult
from castplan.model.compat import CompatLine, CompatResult
from castplan.model.fit import FitLine, FitResult, Gauge
from castplan.model.heat import HeatResult
from castplan.model.job import DrawWeights, Job
from castplan.model.line import (
    HolePlug,
    PartingLine,
    PartingOption,
    PartingSurface,
    RimLoop,
)
from castplan.model.mould import MouldResult, Port
from castplan.model.part import MeshCheck, Part
from castplan.model.plan import Plan, Sampling, Sketch
from castplan.model.shop import Pack, Shop
from castplan.model.solid import Halves, Solid
from castplan.model.split import DrawCandidate, DrawResult, PartingResult, Pocket, UndercutResult
from castplan.model.timeline import Task, TimelineResult
from castplan.model.weigh import Cup, Limit, WaterCheck, WeighResult

__all__ = [
    "BASES",
    "SEVERITIES",
    "AirResult",
    "AirWeights",
    "AmountsResult",
    "AttitudeOption",
    "AttitudeResult",
    "Board",
    "BoardsResult",
    "BoxOption",
    "BoxResult",
    "BuildResult",
    "BuyLine",
    "BuyResult",
    "CompatLine",
    "CompatResult",
    "Cup",
    "DrawCandidate",
    "DrawResult",
    "DrawWeights",
    "EquipmentResult",
    "Finding",
    "Fit",
    "FitLine",
    "FitResult",
    "Frame",
    "Gauge",
    "Halves",
    "HeatResult",
    "HoldDown",
    "HolePlug",
    "Job",
    "KeysResult",
    "Limit",
    "MeshCheck",
    "Mix",
    "MouldResult",
    "Pack",
    "Part",
    "PartingLine",
    "PartingOption",
    "PartingResult",
    "PartingSurface",
    "Peak",
    "Plan",
    "Pocket",
    "Port",
    "RimLoop",
    "Sampling",
    "ScheduleResult",
    "Section",
    "Shop",
    "Sketch",
    "Solid",
    "Sourced",
    "Step",
    "Task",
    "TimelineResult",
    "UndercutResult",
    "WaterCheck",
    "WeighResult",
    "record",
]
