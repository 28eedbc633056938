"""What the room of the air hands on."""

from castplan.air.records.air import AirResult
from castplan.air.records.attitude import AttitudeResult
from castplan.air.records.ways import GatePlan, RockingResult, TradeResult
from castplan.record import record


@record
class Air:
    """How the mould stands at the pour, where it is opened and where resin comes in."""

    attitude: AttitudeResult
    openings: AirResult
    feed: GatePlan
    rocking: RockingResult
    trade: TradeResult
