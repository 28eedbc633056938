"""Draw, box, parting and undercuts."""

from castplan.split.records.box import BoxOption, BoxResult
from castplan.split.records.flex import (
    RUBBER_VERDICTS,
    DraftResult,
    DraftView,
    FlexResult,
    PocketFlex,
    PocketGroup,
    Remedy,
    SeamResult,
    ThinPlace,
)
from castplan.split.records.line import (
    ClayStation,
    ClayStrip,
    HolePlug,
    PartingLine,
    PartingOption,
    PartingSurface,
    RimLoop,
)
from castplan.split.records.loose import LoosePiece, LooseResult, ThinPiece
from castplan.split.records.room import MOULD_KINDS, Split
from castplan.split.records.split import (
    DEEP_RATIO,
    DrawCandidate,
    DrawResult,
    OpenBack,
    PartingResult,
    Pocket,
    ProofResult,
    UndercutResult,
)

__all__ = [
    "DEEP_RATIO",
    "MOULD_KINDS",
    "RUBBER_VERDICTS",
    "BoxOption",
    "BoxResult",
    "ClayStation",
    "ClayStrip",
    "DraftResult",
    "DraftView",
    "DrawCandidate",
    "DrawResult",
    "FlexResult",
    "HolePlug",
    "LoosePiece",
    "LooseResult",
    "OpenBack",
    "PartingLine",
    "PartingOption",
    "PartingResult",
    "PartingSurface",
    "Pocket",
    "PocketFlex",
    "PocketGroup",
    "ProofResult",
    "Remedy",
    "RimLoop",
    "SeamResult",
    "Split",
    "ThinPiece",
    "ThinPlace",
    "UndercutResult",
]
