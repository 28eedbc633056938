"""What the room of the split hands on."""

from castplan.record import record
from castplan.split.records.box import BoxResult
from castplan.split.records.flex import DraftView, FlexResult, Remedy, SeamResult
from castplan.split.records.line import PartingLine
from castplan.split.records.split import DrawResult, PartingResult, ProofResult, UndercutResult


@record
class Split:
    """Which way the mould parts, along which line, and what its rubber has to do."""

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
