"""The mould as a thing to build and to print."""

from castplan.mould.records.build import (
    Board,
    BoardsResult,
    HoldDown,
    KeysResult,
    Section,
)
from castplan.mould.records.mould import BEDDINGS, Bedding, MouldResult, Port
from castplan.mould.records.pours import CaughtAir, PoursResult, SiliconePour
from castplan.mould.records.room import Mould
from castplan.mould.records.slit import SIDES, SLIT_VERDICTS, Slit, SlitSide
from castplan.mould.records.solid import Halves, Solid
from castplan.mould.records.water import WaterCheck

__all__ = [
    "BEDDINGS",
    "SIDES",
    "SLIT_VERDICTS",
    "Bedding",
    "Board",
    "BoardsResult",
    "CaughtAir",
    "Halves",
    "HoldDown",
    "KeysResult",
    "Mould",
    "MouldResult",
    "Port",
    "PoursResult",
    "Section",
    "SiliconePour",
    "Slit",
    "SlitSide",
    "Solid",
    "WaterCheck",
]
