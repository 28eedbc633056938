"""What meets what on the bench."""

from castplan.record import record


@record
class CompatLine:
    """Two things that touch: "stop", "patch" (test first) or "fine", and why."""

    what: str  # clay, box, release, ...
    used: str  # what the shop said it uses
    meets: str  # chemistry of the silicone or resin
    verdict: str
    reason: str
    basis: str
    source: str


@record
class CompatResult:
    """Every pair that the shop's words and cards give; `unsaid` was not told."""

    lines: tuple[CompatLine, ...]
    unsaid: tuple[str, ...]
