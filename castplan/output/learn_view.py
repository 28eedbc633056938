"""Learnt numbers in words, beside what the card says."""

from castplan.model import Learnt
from castplan.output.formats import mark

NOTHING = "The logs tell no number yet: log --size, --thick-after, --weighed with --shot, --force."


def learnt_lines(found: list[Learnt]) -> list[str]:
    """One line a number: observed with count and spread, and what the card says."""
    if not found:
        return [NOTHING]
    lines, card = [], None
    for one in found:
        if one.card != card:
            card = one.card
            lines.append(f"{card}:")
        lines.append(f"  {_line(one)}")
    lines.append("Nothing is changed. --card ID --keep NEW-ID puts a card's numbers on your own.")
    return lines


def _line(one: Learnt) -> str:
    factor, unit = (100.0, "%") if one.unit == "1" else (1.0, one.unit)
    n = len(one.values)
    if n:
        text = f"{one.words}: {factor * one.mean:.3g} {unit} {mark('measured')}, {n} observed"
        if one.sd is not None:
            low, high = factor * min(one.values), factor * max(one.values)
            text += f", {low:.3g} to {high:.3g}, standard deviation {factor * one.sd:.2g}"
        elif n == 1:
            text += ", no spread yet"
    else:
        text = f"{one.words}: none ended yet"
    if one.at_least:
        text += f"; still in use with {', '.join(f'{v:.0f}' for v in one.at_least)}"
    if one.on_card is not None:
        known = one.on_card
        text += f". Card: {factor * known.value:.3g} {unit} {mark(known.basis)}"
        if known.low is not None and known.high is not None:
            text += f" ({factor * known.low:.3g} to {factor * known.high:.3g})"
    elif one.offered is None and n:
        text += ". No card holds this; keep it in mind"
    return text
