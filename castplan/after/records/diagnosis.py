"""What a defect most likely comes from, by the plan's numbers and the log."""

from castplan.after.records.casting import Defect
from castplan.record import Sourced, record
from castplan.texts.told import Told


@record
class Cause:
    """One cause of a defect.

    `weight` orders causes of one defect, from 0 to 1; it is no probability.
    `port` is the label of the opening it speaks of, `peak` the number of the
    high point, where it is one of these.
    """

    code: str
    text: Told
    evidence: tuple[Sourced, ...]  # each number's source says what it is
    test: Told  # what to do next to find out
    weight: float
    peak: int | None = None
    port: str | None = None


@record
class DefectDiagnosis:
    """One logged defect with its causes, the one to look at first in front.

    Its place is in the part frame of the plan: of several parts in the axes of their box.
    """

    line: int  # of the log
    defect: Defect
    causes: tuple[Cause, ...]


@record
class Diagnosis:
    """Every defect of the pours that stand, latest pour first."""

    defects: tuple[DefectDiagnosis, ...]


@record
class Drift:
    """How a measured size moves from cast to cast of one mould.

    `low_mm` and `high_mm` bound the change per cast, 95 %.
    """

    name: str
    n: int  # copies it was measured on
    per_cast_mm: float
    low_mm: float
    high_mm: float
    is_drifting: bool
    tolerance_mm: float | None
    leaves_at_cast: int | None  # cast at which the line leaves the tolerance; None without one
    part: int | None = None  # of several in one box
