"""Learnt numbers in words, beside what the card says."""

from castplan import units
from castplan.after.records import Learnt
from castplan.texts import say
from castplan.words.formats import behind, unit_text


def learnt_lines(found: list[Learnt]) -> list[str]:
    """One line a number: observed with count and spread, and what the card says."""
    if not found:
        return [say("learn.nothing")]
    lines, card = [], None
    for one in found:
        if one.card != card:
            card = one.card
            lines.append(f"{card}:")
        lines.append(f"  {_line(one)}")
    lines.append(say("learn.unchanged"))
    return lines


def _line(one: Learnt) -> str:
    told = _observed(one)
    if one.at_least:
        casts = ", ".join(f"{v:.0f}" for v in one.at_least)
        told = say("learn.in_use", observed=told, casts=casts)
    if one.on_card is not None:
        return f"{told}. {_card_text(one)}"
    if one.offered is None and one.values:
        return f"{told}. {say('learn.no_card_holds')}"
    return told


def _observed(one):
    words = say(f"learn.of_{one.name}")
    n = len(one.values)
    if not n:
        return say("learn.none_ended", words=words)
    mean = f"{_number(one.mean, one.unit)}"
    if one.sd is None:
        return say("learn.observed_once", words=words, mean=mean, n=n)
    factor = _factor(one.unit)
    return say(
        "learn.observed",
        words=words,
        mean=mean,
        n=n,
        low=units.digits(factor * min(one.values), 3),
        high=units.digits(factor * max(one.values), 3),
        sd=units.digits(factor * one.sd, 2),
    )


def _card_text(one):
    known = one.on_card
    value = f"{_number(known.value, one.unit)}{behind(known.basis)}"
    if known.low is None or known.high is None:
        return say("learn.card", value=value)
    low, high = (units.digits(_factor(one.unit) * end, 3) for end in (known.low, known.high))
    return say("learn.card_between", value=value, low=low, high=high)


def _factor(unit):
    return 100.0 if unit == "1" else 1.0


def _number(value, unit):
    """A value with its unit; shares of one as percent."""
    shown = "%" if unit == "1" else unit_text(unit, value=value)
    return f"{units.digits(_factor(unit) * value, 3)} {shown}"
