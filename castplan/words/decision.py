"""What was decided and why, apart: paper has both in one line, screens one under the other."""

from castplan.record import record
from castplan.texts import say
from castplan.words import formats


@record
class Decision:
    """Neither ends in a full stop; either may begin small."""

    what: str
    why: str

    @property
    def sentence(self) -> str:
        """Both, a sentence each."""
        return say("plan.decision", what=formats.capital(self.what), why=formats.capital(self.why))


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
