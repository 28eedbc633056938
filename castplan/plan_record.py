"""The whole plan."""

from dataclasses import field

from castplan.after.records import Revision
from castplan.air.records import (
    AirResult,
    AttitudeResult,
    FillResult,
    GatePlan,
    GateResult,
    RockingResult,
    TradeResult,
    VentsResult,
)
from castplan.bench.records import (
    AmountsResult,
    BuyResult,
    CompatResult,
    DoubtResult,
    EquipmentResult,
    FitResult,
    HeatResult,
    ScheduleResult,
    TimelineResult,
    WeighResult,
)
from castplan.job import Job
from castplan.mould.records import (
    BoardsResult,
    HoldDown,
    KeysResult,
    MouldResult,
    PoursResult,
    Section,
    WaterCheck,
)
from castplan.part.records import Part, Sampling, ShowFace, Sketch
from castplan.record import Finding, record
from castplan.split.records import (
    BoxResult,
    DraftView,
    DrawResult,
    FlexResult,
    PartingLine,
    PartingResult,
    ProofResult,
    Remedy,
    SeamResult,
    UndercutResult,
)


@record
class BuildResult:
    """Everything the shop builds besides the silicone itself."""

    box: BoxResult
    keys: KeysResult
    boards: BoardsResult
    hold: HoldDown
    equipment: EquipmentResult
    sections: tuple[Section, ...]


@record
class Plan:
    """Everything the outputs show. Holds no clock and no path."""

    version: str
    part: Part
    job: Job
    show: ShowFace
    sampling: Sampling
    draw: DrawResult
    undercuts: UndercutResult
    proof: ProofResult
    parting: PartingResult
    line: PartingLine
    seam: SeamResult
    flex: FlexResult
    remedies: tuple[Remedy, ...]
    draft_views: tuple[DraftView, ...]
    air: AirResult
    mould: MouldResult
    amounts: AmountsResult
    schedule: ScheduleResult
    sketches: tuple[Sketch, ...]
    doubt: DoubtResult
    water: WaterCheck | None
    weigh: WeighResult
    timeline: TimelineResult
    fit: FitResult
    heat: HeatResult
    compat: CompatResult
    buy: BuyResult
    build: BuildResult
    attitude: AttitudeResult
    vents: VentsResult
    feed: GatePlan
    gate: GateResult
    fill: FillResult
    rocking: RockingResult
    pours: PoursResult
    trade: TradeResult
    findings: tuple[Finding, ...] = field(default=())
    revision: Revision | None = None  # what is other than in the version before

    def __repr__(self):
        x, y, z = self.draw.direction
        n_stop = sum(finding.severity == "stop" for finding in self.findings)
        return (
            f"<Plan of {self.part.name}: {self.part.check.volume_mm3 / 1000:.3g} ml, drawn along "
            f"({x:.3g}, {y:.3g}, {z:.3g}), {self.line.kind} parting, "
            f"{len(self.findings)} findings, {n_stop} of them to stop at>"
        )
