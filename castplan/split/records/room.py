"""What the room of the split hands on."""

from castplan.record import record
from castplan.split.records.box import BoxResult
from castplan.split.records.flex import DraftView, FlexResult, Remedy, SeamResult
from castplan.split.records.line import PartingLine
from castplan.split.records.split import (
    DrawResult,
    OpenBack,
    PartingResult,
    ProofResult,
    UndercutResult,
)

MOULD_KINDS = ("two-part", "open", "cut")


@record
class Split:
    """Which way the mould parts, along which line, and what its rubber has to do."""

    kind: str  # of the mould, one of `MOULD_KINDS`
    back: OpenBack | None  # of an open mould, planned or possible
    draw: DrawResult
    parting: PartingResult  # the best level split
    box: BoxResult
    line: PartingLine
    seam: SeamResult
    undercuts: UndercutResult
    proof: ProofResult
    flex: FlexResult
    remedies: tuple[Remedy, ...]
    draft_views: tuple[DraftView, ...]

    @property
    def is_open(self) -> bool:
        """Whether one pour over a flat back is the whole mould."""
        return self.kind == "open"

    @property
    def is_cut(self) -> bool:
        """Whether one pour round the whole part is cut open along the parting."""
        return self.kind == "cut"

    @property
    def is_one_pour(self) -> bool:
        """Whether all of the silicone is poured at once."""
        return self.is_open or self.is_cut
