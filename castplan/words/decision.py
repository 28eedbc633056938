"""What was decided and why, apart: paper has both in one sentence, screens one under the other."""

from castplan.record import record
from castplan.texts import say
from castplan.words import formats


@record
class Decision:
    """Both begin small and end without a full stop; what was decided may begin large."""

    what: str
    why: str

    @property
    def sentence(self) -> str:
        """Both in one sentence."""
        return say("plan.decision", what=self.what, why=self.why)


def what_and_why(decisions) -> tuple[str, str]:
    """Decisions as sentences of what to do, and of the reasons.

    Parameters
    ----------
    decisions : iterable of Decision
    """
    decisions = tuple(decisions)
    return (
        " ".join(f"{formats.capital(each.what)}." for each in decisions),
        " ".join(f"{formats.capital(each.why)}." for each in decisions),
    )
