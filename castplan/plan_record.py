"""The whole plan."""

from dataclasses import field

from castplan.after.records import Revision
from castplan.air.records import Air
from castplan.bench.records import Bench
from castplan.job import Job
from castplan.mould.records import Mould
from castplan.nest.records import Nest
from castplan.part.records import Faces, Part, Sampling, ShowFace, Sketch
from castplan.record import Finding, record
from castplan.split.records import RUBBER_VERDICTS, Split
from castplan.texts.told import Told, tell

# The name of each kind of mould in a sentence.
_KIND_NAMES = {
    "two-part": "kinds.two_part",
    "open": "kinds.open",
    "loose": "kinds.loose",
    "cut": "kinds.cut",
}
# What a day until all is done weighs, in minutes of the shop's time (assumed, no source).
DAY_MIN = 30.0
# Why a kind of mould was not planned: other choices of the shop exclude it, the
# part's shape does, nothing asks for it, it holds what another kind releases, or
# castplan failed on it.
WHY_NOT = ("set", "shape", "needless", "locked", "fault")


def kind_name(kind: str) -> Told:
    """What a kind of mould is called."""
    return tell(_KIND_NAMES[kind])


@record
class MouldOffer:
    """One kind of mould, planned to the end, as it stands beside the others.

    The numbers are those of one mould and the castings asked for; 0 where it was
    not planned.
    """

    kind: str  # one of `MOULD_KINDS`
    is_chosen: bool
    why_not: str  # one of `WHY_NOT`, or empty for a kind that works
    silicone_g: float = 0.0
    resin_g: float = 0.0
    hands_on_min: float = 0.0
    finish_min: float = 0.0  # on the shop's clock, from the first step to the last
    seam_mm: float = 0.0  # on the casting
    n_openings: int = 0
    n_marks: int = 0  # stubs of openings on the face that shows
    air_left_ml: float = 0.0
    silicone_air_ml: float = 0.0  # that the pours of silicone leave against the part
    rubber: str = ""  # the verdict at its worst undercut
    locked_ml: float = 0.0  # silicone in undercuts that do not release
    is_knife_risk: bool = False  # whether a knife comes near an original that asks for none
    effort_min: float = 0.0  # all of it weighed as minutes, assumed weights


@record
class ShowAnswer:
    """What to make if a flat side of the part will be seen, or if it will not."""

    side: tuple[float, float, float]  # the way the flat side looks, part frame
    is_seen: bool
    offer: MouldOffer  # marks are those on the side that is then seen


def risk_of(offer: MouldOffer) -> int:
    """What the rubber risks at its worst undercut: 0 where it is made to give, then more."""
    return rubber_risk(offer.rubber)


def rubber_risk(verdict: str) -> int:
    """The same of one verdict: 0 up to what flexes out."""
    return max(RUBBER_VERDICTS.index(verdict) - RUBBER_VERDICTS.index("flexes out"), 0)


def by_risk(offer: MouldOffer) -> tuple:
    """Sorts kinds: least risk to the original first, by rubber and knife; then least effort.

    Where all hold some silicone, the less of it the better, to a tenth of a millilitre.
    """
    return risk_of(offer), round(offer.locked_ml, 1), offer.is_knife_risk, offer.effort_min


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
    faces: Faces  # sides of the part along the draw
    sketches: tuple[Sketch, ...]
    offers: tuple[MouldOffer, ...]  # kinds of mould compared; empty where the job names one
    findings: tuple[Finding, ...] = field(default=())
    answers: tuple[ShowAnswer, ...] = ()  # the planned one first; see `ShowAnswer`
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
