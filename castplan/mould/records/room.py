"""What the room of the mould hands on."""

from castplan.air.records import FillResult, GateResult, VentsResult
from castplan.mould.records.build import BoardsResult, HoldDown, KeysResult, Section
from castplan.mould.records.mould import MouldResult
from castplan.mould.records.pours import PoursResult
from castplan.mould.records.slit import Slit
from castplan.mould.records.water import WaterCheck
from castplan.record import record


@record
class Mould:
    """What is built: the block of silicone, its box, the ways in and out, and how it fills."""

    block: MouldResult
    water: WaterCheck | None
    gate: GateResult
    keys: KeysResult
    vents: VentsResult
    boards: BoardsResult
    hold: HoldDown
    sections: tuple[Section, ...]
    fill: FillResult
    pours: PoursResult
    slit: Slit | None = None  # of a block that is cut open
