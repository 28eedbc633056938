"""The whole plan."""

from dataclasses import field

from castplan.after.records import Revision
from castplan.air.records import Air
from castplan.bench.records import Bench
from castplan.job import Job
from castplan.mould.records import Mould
from castplan.nest.records import Nest
from castplan.part.records import Part, Sampling, ShowFace, Sketch
from castplan.record import Finding, record
from castplan.split.records import Split


@record
class Plan:
    """Everything the outputs show. Holds no clock and no path."""

    version: str
    part: Part
    job: Job
    show: ShowFace
    sampling: Sampling
    split: Split
    air: Air
    mould: Mould
    bench: Bench
    sketches: tuple[Sketch, ...]
    findings: tuple[Finding, ...] = field(default=())
    revision: Revision | None = None  # what is other than in the version before
    nest: Nest | None = None  # of several parts in one box

    def __repr__(self):
        x, y, z = self.split.draw.direction
        n_stop = sum(finding.severity == "stop" for finding in self.findings)
        return (
            f"<Plan of {self.part.name}: {self.part.check.volume_mm3 / 1000:.3g} ml, drawn along "
            f"({x:.3g}, {y:.3g}, {z:.3g}), {self.split.line.kind} parting, "
            f"{len(self.findings)} findings, {n_stop} of them to stop at>"
        )
