"""What the shop works with, against silicone and resin: stop, test patch, or fine."""

from castplan.bench.records import CompatLine, CompatResult
from castplan.errors import InputError
from castplan.job import Job
from castplan.materials.cards import get_card
from castplan.materials.compat import VERDICTS, load_matrix
from castplan.texts.told import tell, tell_data

# The mould's own pair of materials is known from the cards.
FROM_CARDS = "resin"


def check_compat(job: Job) -> CompatResult:
    """Hold everything the shop named against its silicone and its resin.

    Parameters
    ----------
    job : Job
        Cards, and what the shop uses.

    Returns
    -------
    CompatResult
        Stops first. A thing the matrix does not know gets a test patch.

    Raises
    ------
    InputError
        A card is unknown, or a kind of thing is none that castplan asks for.
    """
    matrix = load_matrix()
    kinds = [what for what in matrix if what != FROM_CARDS]
    silicone = get_card(job.silicone, kind="silicone").chemistry
    card = get_card(job.resin, kind="resin")
    resin = card.chemistry
    lines = [*_lines(matrix, FROM_CARDS, card.meets_as or resin, (silicone,))]
    said = set()
    for what, used in job.shop.uses:
        if what not in kinds:
            raise InputError(
                "what the shop uses",
                found=repr(what),
                need=f"one of {', '.join(kinds)}",
                do="Write for example clay=sulphur-free.",
            )
        said.add(what)
        lines += _lines(matrix, what, used, (silicone, resin))
    lines.sort(key=lambda line: VERDICTS.index(line.verdict))
    return CompatResult(lines=tuple(lines), unsaid=tuple(k for k in kinds if k not in said))


def _lines(matrix, what, used, chemistries):
    known = matrix[what].get(used)
    if known is None:
        yield CompatLine(
            what=what,
            used=tell_data(used),
            meets=chemistries[0],
            verdict="patch",
            reason=tell("compat.unknown", known=", ".join(matrix[what])),
            basis="assumed",
            source=tell("compat.not_in_the_matrix"),
        )
        return
    for chemistry in chemistries:
        meeting = known.meets.get(chemistry)
        if meeting is not None:
            yield CompatLine(
                what=what,
                used=known.words,
                meets=chemistry,
                verdict=meeting.verdict,
                reason=meeting.reason,
                basis=meeting.basis,
                source=meeting.source,
            )
