"""Choices that lie within what the plan can tell: each in a sentence, all in one finding."""

from castplan.air.records import AttitudeResult
from castplan.geometry import margins
from castplan.materials.wording import listed_numbers
from castplan.record import Finding
from castplan.split.records import Split
from castplan.texts.told import tell, together

# Verdicts on either side of what the hardness usually allows.
BORDER = ("flexes out", "may tear")


def list_even_findings(
    split: Split, attitude: AttitudeResult, *, tie_mm3: float
) -> tuple[Finding, ...]:
    """Say which choices another mesh of the same part might make the other way.

    Parameters
    ----------
    split, attitude : records
    tie_mm3 : float
        Trapped volumes up to this count as nothing.

    Returns
    -------
    tuple of Finding
        One note, or none where every choice is clear.
    """
    told = [
        *_draw(split.draw),
        *_line(split.line, tie_mm3),
        *_up(attitude),
        *_pockets(split.flex),
    ]
    if not told:
        return ()
    return (
        Finding(
            code="even-choices",
            severity="note",
            stage="parting",
            message=together(told),
            do=tell("even_finding.do"),
        ),
    )


def _draw(draw):
    chosen, *others = draw.candidates
    within_min = margins.draw_margin_min(chosen.cost_min)
    n = sum(abs(other.cost_min - chosen.cost_min) <= within_min for other in others)
    if n and not draw.is_asked_for:
        yield tell("even_finding.draw", n=n)


def _line(line, tie_mm3):
    """The cheapest other kind that costs about as much, or a plainer one that traps hardly more."""
    if line.is_asked_for:
        return
    at = next(k for k, option in enumerate(line.options) if option.kind == line.kind)
    chosen = line.options[at]
    even = [
        (option.cost_min, k)
        for k, option in enumerate(line.options)
        if k != at
        and (
            abs(option.cost_min - chosen.cost_min) <= margins.LINE_MIN
            or (k < at and option.trapped_mm3 - chosen.trapped_mm3 <= tie_mm3)
        )
    ]
    if even:
        _, k = min(even)
        told = {"kind": tell(f"split_finding.this_{line.kind}")}
        told["other"] = tell(f"split_finding.other_{line.options[k].kind}")
        yield tell("even_finding.line_plainer" if k > at else "even_finding.line_least", **told)


def _up(attitude):
    chosen, *others = attitude.options
    n = sum(abs(other.cost_min - chosen.cost_min) <= margins.STAND_MIN for other in others)
    if n and not attitude.is_asked_for:
        yield tell("even_finding.up", n=n)


def _pockets(flex):
    """Groups that stretch to what the hardness allows, as far as their depth is known."""
    judged = {pocket.number: pocket for pocket in flex.pockets}
    near = []
    for group in flex.groups:
        pocket = judged[group.numbers[0]]
        off = abs(pocket.stretch_fraction - pocket.allowed_fraction) * group.depth_mm
        is_near = off <= pocket.allowed_fraction * flex.depth_error_mm
        if is_near and pocket.verdict in BORDER and not group.is_trifle:
            near += group.numbers
    if near:
        yield tell("even_finding.pockets", n=len(near), numbers=listed_numbers(sorted(near)))
