"""Lengths in a text in the one unit that the reader chose: mm, or inches as the trade has them.

A length is written alike in every language, digits before ``mm``, and where both units
stand the inches follow in parentheses. So a whole text is brought to one of them without
a look at its words.
"""

import re

from castplan import units

_NUMBER = r"\d[\d,]*(?:\.\d+)?"
_FRACTION = r"(?:\d+ )?\d+/\d+|\d+"
_INCHES = rf"(?:{_FRACTION})(?: x (?:{_FRACTION}))* in"
# Numbers of one length or of several: 12, 30 x 96 x 46, 2.8 +- 0.3.
_MANY = rf"{_NUMBER}(?:(?: x | \+- |, ){_NUMBER})*"
_BOTH = re.compile(rf"({_MANY} mm) \(({_INCHES})\)")
_TURNED = re.compile(rf"({_INCHES}) \(({_MANY} mm)\)")
_RANGE = re.compile(rf"({_NUMBER})( (?!x )\w+ )({_NUMBER}) mm(?![\w²³])")
_ALONE = re.compile(rf"({_MANY}) mm(?![\w²³])")
_FINE_MM = 3.0  # shorter lengths are told in thousandths: no fraction says 0.2 mm


def in_unit(told, unit: str):
    """Plain JSON with every length in its texts in one unit.

    Parameters
    ----------
    told : dict, list or str
        Other things stay as they are.
    unit : {"mm", "inch"}

    Examples
    --------
    >>> in_unit("Clay up to 27 mm (1 1/16 in) above the board.", "mm")
    'Clay up to 27 mm above the board.'
    >>> in_unit("Clay up to 27 mm (1 1/16 in), box 120 x 70 mm.", "inch")
    'Clay up to 1 1/16 in, box 4 23/32 x 2 3/4 in.'
    """
    if isinstance(told, dict):
        return {name: in_unit(value, unit) for name, value in told.items()}
    if isinstance(told, list | tuple):
        return [in_unit(value, unit) for value in told]
    return _text(told, unit) if isinstance(told, str) and not told.startswith("<") else told


def _text(text, unit):
    if unit == "mm":
        return _TURNED.sub(r"\2", _BOTH.sub(r"\1", text))
    text = _TURNED.sub(r"\1", _BOTH.sub(r"\2", text))
    text = _RANGE.sub(lambda hit: f"{_inch(hit[1])}{hit[2]}{_inch(hit[3])} in", text)
    return _ALONE.sub(lambda hit: re.sub(_NUMBER, lambda one: _inch(one[0]), hit[1]) + " in", text)


def _inch(number):
    length_mm = float(number.replace(",", ""))
    if length_mm < _FINE_MM:
        return f"{units.in_from_mm(length_mm):.3f}"
    return units.inch_fraction(length_mm)
