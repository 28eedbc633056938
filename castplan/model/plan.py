"""The whole plan."""

from dataclasses import field

import numpy as np

from castplan._arrays import frozen_path
from castplan.model.air import AirResult
from castplan.model.amounts import AmountsResult, ScheduleResult
from castplan.model.attitude import AttitudeResult
from castplan.model.base import Finding, record
from castplan.model.build import BuildResult
from castplan.model.buy import BuyResult
from castplan.model.compat import CompatResult
from castplan.model.doubt import DoubtResult
from castplan.model.fit import FitResult
from castplan.model.flex import DraftView, FlexResult, Remedy, SeamResult
from castplan.model.heat import HeatResult
from castplan.model.job import Job
from castplan.model.line import PartingLine
from castplan.model.mould import MouldResult
from castplan.model.part import Part
from castplan.model.pours import PoursResult
from castplan.model.revision import Revision
from castplan.model.show import ShowFace
from castplan.model.split import DrawResult, PartingResult, ProofResult, UndercutResult
from castplan.model.timeline import TimelineResult
from castplan.model.ways import FillResult, GateResult, RockingResult, TradeResult, VentsResult
from castplan.model.weigh import WaterCheck, WeighResult


@record
class Sketch:
    """A line drawing of the part seen along one direction, in view coordinates.

    `outline` are closed rings (holes too), `lines` open polylines of visible
    edges; each an (n, 2) array. `pockets` are rings per pocket number.
    """

    name: str  # "draw" (from above), "front" and "side" in the draw frame; "pour"
    pitch_mm: float
    outline: tuple[np.ndarray, ...]
    lines: tuple[np.ndarray, ...]
    pockets: tuple[tuple[int, np.ndarray], ...]

    def __post_init__(self):
        object.__setattr__(self, "outline", tuple(frozen_path(r) for r in self.outline))
        object.__setattr__(self, "lines", tuple(frozen_path(r) for r in self.lines))
        object.__setattr__(self, "pockets", tuple((n, frozen_path(r)) for n, r in self.pockets))


# Sampled and exact volume further apart than this: the mesh crosses itself,
# or the pitch is too coarse for its walls.
OVERLAP_FRACTION = 0.01


@record
class Sampling:
    """How finely the part was sampled, and how well that fits its exact volume."""

    pitch_mm: float
    n_columns: int
    n_unclosed: int
    n_decided: int  # columns decided by the generalised winding number
    volume_mm3: float
    volume_difference_fraction: float | None  # against the exact volume; None if open

    @property
    def bodies_overlap(self) -> bool:
        """More apart than sampling puts them: bodies overlap, or do not bound what they seem to."""
        off = self.volume_difference_fraction
        return off is not None and abs(off) > OVERLAP_FRACTION


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
    gate: GateResult
    fill: FillResult
    rocking: RockingResult
    pours: PoursResult
    trade: TradeResult
    findings: tuple[Finding, ...] = field(default=())
    revision: Revision | None = None  # what is other than in the version before
