"""Cups, steps, times, packs; the copy's size and heat."""

from castplan.bench.records.amounts import AmountsResult, Mix, ScheduleResult, Step
from castplan.bench.records.buy import BuyLine, BuyResult
from castplan.bench.records.compat import CompatLine, CompatResult
from castplan.bench.records.doubt import DoubtResult
from castplan.bench.records.equipment import EquipmentResult, Fit
from castplan.bench.records.estimate import EstimateResult
from castplan.bench.records.fit import FitLine, FitResult, FitShare
from castplan.bench.records.gear import GEAR_GROUPS, GearLine
from castplan.bench.records.heat import HeatResult
from castplan.bench.records.room import Bench
from castplan.bench.records.timeline import Task, TimelineResult
from castplan.bench.records.weigh import Cup, Limit, WeighResult

__all__ = [
    "GEAR_GROUPS",
    "AmountsResult",
    "Bench",
    "BuyLine",
    "BuyResult",
    "CompatLine",
    "CompatResult",
    "Cup",
    "DoubtResult",
    "EquipmentResult",
    "EstimateResult",
    "Fit",
    "FitLine",
    "FitResult",
    "FitShare",
    "GearLine",
    "HeatResult",
    "Limit",
    "Mix",
    "ScheduleResult",
    "Step",
    "Task",
    "TimelineResult",
    "WeighResult",
]
