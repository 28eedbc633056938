"""What the room of the bench hands on."""

from castplan.bench.records.amounts import AmountsResult, ScheduleResult
from castplan.bench.records.buy import BuyResult
from castplan.bench.records.compat import CompatResult
from castplan.bench.records.doubt import DoubtResult
from castplan.bench.records.equipment import EquipmentResult
from castplan.bench.records.fit import FitResult
from castplan.bench.records.gear import GearLine
from castplan.bench.records.heat import HeatResult
from castplan.bench.records.timeline import TimelineResult
from castplan.bench.records.weigh import WeighResult
from castplan.record import record


@record
class Bench:
    """What is done: cups, steps, times, buying, and what the copy will be like."""

    amounts: AmountsResult
    weigh: WeighResult
    schedule: ScheduleResult
    timeline: TimelineResult
    buy: BuyResult
    gear: tuple[GearLine, ...]
    equipment: EquipmentResult
    fit: FitResult
    heat: HeatResult
    compat: CompatResult
    doubt: DoubtResult
