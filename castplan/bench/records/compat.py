"""What meets what on the bench."""

from castplan.record import record
from castplan.texts.told import Told


@record
class CompatLine:
    """Two things that touch: "stop", "patch" (test first) or "fine", and why."""

    what: str  # clay, box, release, ...
    used: Told  # what the shop said it uses
    meets: str  # chemistry of the silicone or resin
    verdict: str
    reason: Told
    basis: str
    source: Told


@record
class CompatResult:
    """Every pair that the shop's words and cards give; `unsaid` was not told."""

    lines: tuple[CompatLine, ...]
    unsaid: tuple[str, ...]
