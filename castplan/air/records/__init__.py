"""High points, attitudes, ways in and out, filling."""

from castplan.air.records.air import HARMS, AirResult, Peak, PortHarm
from castplan.air.records.attitude import AttitudeOption, AttitudeResult
from castplan.air.records.room import Air
from castplan.air.records.ways import (
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

__all__ = [
    "HARMS",
    "ROUTES",
    "Air",
    "AirResult",
    "AttitudeOption",
    "AttitudeResult",
    "Combination",
    "FillFrame",
    "FillResult",
    "FurtherGate",
    "GateOption",
    "GatePlan",
    "GateResult",
    "GateRun",
    "Peak",
    "PortHarm",
    "RockTilt",
    "RockingResult",
    "Route",
    "SpillBasin",
    "ThinRegion",
    "TradeResult",
    "VentsResult",
]
