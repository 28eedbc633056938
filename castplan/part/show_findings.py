"""What the plan took the face that shows for."""

from collections.abc import Iterator

from castplan.materials.wording import axis_text
from castplan.part.records import ShowFace
from castplan.record import Finding
from castplan.texts.told import tell


def list_show_findings(show: ShowFace, *, of_box: bool = False) -> Iterator[Finding]:
    """Which side the plan takes for the one that will be seen, where nobody said so."""
    if show.basis == "guessed":
        axis = axis_text(show.direction, of_box=of_box)
        side = tell(f"show_face.{show.why}")
        message = tell("show_finding.guessed", side=side, axis=axis)
        do = tell("show_finding.guessed_do")
    elif show.basis == "unknown":
        message, do = tell(f"show_finding.{show.why}"), tell("show_finding.unknown_do")
    else:
        return
    yield Finding(
        code=f"show-face-{show.basis}", severity="note", stage="check", message=message, do=do
    )
