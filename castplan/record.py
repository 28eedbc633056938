"""What every record rests on: sources, findings, frames."""

import numpy as np

from castplan._arrays import freeze
from castplan._frozen import record
from castplan.texts.told import Told, tell

BASES = (
    "measured",
    "computed",
    "data sheet",
    "handbook",
    "standard",
    "common practice",
    "from memory",
    "assumed",
)
SEVERITIES = ("stop", "warn", "note")


@record
class Sourced:
    """A number that does not come from the mesh, with where it comes from.

    `basis` is one of `BASES`; `source` names the page, table or rule.
    `low` and `high` give the usual range where the source gives one.
    """

    value: float
    unit: str
    basis: str
    source: Told
    low: float | None = None
    high: float | None = None

    def __post_init__(self):
        if self.basis not in BASES:
            raise ValueError(f"basis: {self.basis!r}, need one of {BASES}")


@record
class Finding:
    """Something the shop should know before the first clay.

    `where_mm` is a point in the part frame, or None.
    """

    code: str
    severity: str
    stage: str
    message: Told
    do: Told
    where_mm: tuple[float, float, float] | None = None

    def __post_init__(self):
        if self.severity not in SEVERITIES:
            raise ValueError(f"severity: {self.severity!r}, need one of {SEVERITIES}")


def finding(
    code: str, severity: str, stage: str, key: str, *, do="", where_mm=None, **fields
) -> Finding:
    """A finding told by a text and by what to do, the text of its name with ``_do`` behind.

    Parameters
    ----------
    code, severity, stage : str
        Of the finding.
    key : str
        Of the text.
    do : str, optional
        Of what to do, where that is another text.
    where_mm : point, optional
        Part frame.
    **fields
        Of both texts.
    """
    return Finding(
        code=code,
        severity=severity,
        stage=stage,
        message=tell(key, **fields),
        do=tell(do or f"{key}_do", **fields),
        where_mm=where_mm,
    )


def worst_first(findings) -> tuple[Finding, ...]:
    """Findings by severity; those of one severity stay in their order."""
    return tuple(sorted(findings, key=lambda finding: SEVERITIES.index(finding.severity)))


@record
class Frame:
    """A rotation of the part: row k of `rotation` is axis k of the new frame."""

    rotation: np.ndarray  # (3, 3)

    def __post_init__(self):
        freeze(self, "rotation", shape=(3, 3))

    @property
    def up(self) -> np.ndarray:
        """The frame's +z in the part frame, (3,)."""
        return self.rotation[2]

    def to_frame(self, points_mm: np.ndarray) -> np.ndarray:
        """Turn points (n, 3) or one point (3,) from the part frame into this one."""
        return points_mm @ self.rotation.T

    def to_part(self, points_mm: np.ndarray) -> np.ndarray:
        """Turn points (n, 3) or one point (3,) from this frame into the part frame."""
        return points_mm @ self.rotation

    def point_in_part(self, point_mm) -> tuple[float, float, float]:
        """One point of this frame in the part frame, as a finding holds it."""
        return tuple(float(v) for v in self.to_part(np.asarray(point_mm)))
