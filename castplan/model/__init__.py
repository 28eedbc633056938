"""The records passed between stages: frozen, with units in every name.

Two frames occur. The *part frame* is the mesh file's own axes in millimetres.
A `Frame` turns it: in the *draw frame* +z is the way the upper half leaves
the part, in the *pour frame* +z is up while the resin is poured. Both are
pure rotations, so a volume or a length means the same in each.
"""

from castplan.model.air import HARMS, AirResult, Peak, PortHarm
from castplan.model.amounts import AmountsResult, Mix, ScheduleResult, Step
from castplan.model.attitude import AirWeights, AttitudeOption, AttitudeResult
from castplan.model.base import BASES, SEVERITIES, Finding, Frame, Sourced, record
from castplan.model.build import (
    Board,
    BoardsResult,
    BoxOption,
    BoxResult,
    BuildResult,
    EquipmentResult,
    Fit,
    HoldDown,
    KeysResult,
    Section,
)
from castplan.model.buy import BuyLine, BuyResult
from castplan.model.casting import (
    DEFECTS,
    POURS,
    RESULTS,
    CastLog,
    Defect,
    LoggedPour,
    Size,
    Withdrawal,
)
from castplan.model.clearance import Breakthrough, Clearance, KeepOut
from castplan.model.compat import CompatLine, CompatResult
from castplan.model.diagnosis import Cause, DefectDiagnosis, Diagnosis, Drift
from castplan.model.doubt import DoubtResult
from castplan.model.estimate import EstimateResult
from castplan.model.fit import FitLine, FitResult, Gauge
from castplan.model.flex import (
    DraftResult,
    DraftView,
    FlexResult,
    PocketFlex,
    PocketGroup,
    Remedy,
    SeamResult,
    ThinPlace,
)
from castplan.model.health import BODY_KINDS, Body, Health, Hole
from castplan.model.heat import HeatResult
from castplan.model.job import DrawWeights, Job
from castplan.model.learnt import Learnt
from castplan.model.line import (
    ClayStation,
    ClayStrip,
    HolePlug,
    PartingLine,
    PartingOption,
    PartingSurface,
    RimLoop,
)
from castplan.model.mould import MouldResult, Port
from castplan.model.part import MeshCheck, Part
from castplan.model.plan import Plan, Sampling, Sketch
from castplan.model.pours import CaughtAir, PoursResult, SiliconePour
from castplan.model.revision import Change, Drilling, Revision, Tilt
from castplan.model.scene import Film, Scene, SurfaceMaps
from castplan.model.shop import Pack, Shop
from castplan.model.show import SHOW_BASES, SHOW_WHYS, ShowFace
from castplan.model.solid import Halves, Solid
from castplan.model.split import (
    DrawCandidate,
    DrawResult,
    PartingResult,
    Pocket,
    ProofResult,
    UndercutResult,
)
from castplan.model.timeline import Task, TimelineResult
from castplan.model.ways import (
    FEEDS,
    ROUTES,
    Combination,
    FillFrame,
    FillResult,
    FurtherGate,
    GateOption,
    GatePlan,
    GateResult,
    GateRun,
    RockingResult,
    RockTilt,
    Route,
    SpillBasin,
    ThinRegion,
    TradeResult,
    VentsResult,
)
from castplan.model.weigh import Cup, Limit, WaterCheck, WeighResult

__all__ = [
    "BASES",
    "BODY_KINDS",
    "DEFECTS",
    "FEEDS",
    "HARMS",
    "POURS",
    "RESULTS",
    "ROUTES",
    "SEVERITIES",
    "SHOW_BASES",
    "SHOW_WHYS",
    "AirResult",
    "AirWeights",
    "AmountsResult",
    "AttitudeOption",
    "AttitudeResult",
    "Board",
    "BoardsResult",
    "Body",
    "BoxOption",
    "BoxResult",
    "Breakthrough",
    "BuildResult",
    "BuyLine",
    "BuyResult",
    "CastLog",
    "CaughtAir",
    "Cause",
    "Change",
    "ClayStation",
    "ClayStrip",
    "Clearance",
    "Combination",
    "CompatLine",
    "CompatResult",
    "Cup",
    "Defect",
    "DefectDiagnosis",
    "Diagnosis",
    "DoubtResult",
    "DraftResult",
    "DraftView",
    "DrawCandidate",
    "DrawResult",
    "DrawWeights",
    "Drift",
    "Drilling",
    "EquipmentResult",
    "EstimateResult",
    "FillFrame",
    "FillResult",
    "Film",
    "Finding",
    "Fit",
    "FitLine",
    "FitResult",
    "FlexResult",
    "Frame",
    "FurtherGate",
    "GateOption",
    "GatePlan",
    "GateResult",
    "GateRun",
    "Gauge",
    "Halves",
    "Health",
    "HeatResult",
    "HoldDown",
    "Hole",
    "HolePlug",
    "Job",
    "KeepOut",
    "KeysResult",
    "Learnt",
    "Limit",
    "LoggedPour",
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
    "PocketFlex",
    "PocketGroup",
    "Port",
    "PortHarm",
    "PoursResult",
    "ProofResult",
    "Remedy",
    "Revision",
    "RimLoop",
    "RockTilt",
    "RockingResult",
    "Route",
    "Sampling",
    "Scene",
    "ScheduleResult",
    "SeamResult",
    "Section",
    "Shop",
    "ShowFace",
    "SiliconePour",
    "Size",
    "Sketch",
    "Solid",
    "Sourced",
    "SpillBasin",
    "Step",
    "SurfaceMaps",
    "Task",
    "ThinPlace",
    "ThinRegion",
    "Tilt",
    "TimelineResult",
    "TradeResult",
    "UndercutResult",
    "VentsResult",
    "WaterCheck",
    "WeighResult",
    "Withdrawal",
    "record",
]
