"""The mould as a thing to build and to print."""

from castplan.mould.records.build import (
    Board,
    BoardsResult,
    BuildResult,
    EquipmentResult,
    Fit,
    HoldDown,
    KeysResult,
    Section,
)
from castplan.mould.records.mould import BEDDINGS, Bedding, MouldResult, Port
from castplan.mould.records.pours import CaughtAir, PoursResult, SiliconePour
from castplan.mould.records.solid import Halves, Solid

__all__ = [
    "BEDDINGS",
    "Bedding",
    "Board",
    "BoardsResult",
    "BuildResult",
    "CaughtAir",
    "EquipmentResult",
    "Fit",
    "Halves",
    "HoldDown",
    "KeysResult",
    "MouldResult",
    "Port",
    "PoursResult",
    "Section",
    "SiliconePour",
    "Solid",
]
