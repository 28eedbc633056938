"""What the plan took the face that shows for."""

from collections.abc import Iterator

from castplan.materials.wording import axis_text
from castplan.part.records import ShowFace
from castplan.record import Finding
from castplan.texts import say


def list_show_findings(show: ShowFace) -> Iterator[Finding]:
    """Which side the plan takes for the one that will be seen, where nobody said so."""
    if show.basis == "guessed":
        side = say(f"show_face.{show.why}")
        message = say("show_finding.guessed", side=side, axis=axis_text(show.direction))
        do = say("show_finding.guessed_do")
    elif show.basis == "unknown":
        message, do = say(f"show_finding.{show.why}"), say("show_finding.unknown_do")
    else:
        return
    yield Finding(
        code=f"show-face-{show.basis}", severity="note", stage="check", message=message, do=do
    )
