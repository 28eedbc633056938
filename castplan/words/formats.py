"""The one place where numbers are rounded for reading.

No false digits: what was sampled is rounded to its sampling error; what is
weighed, filled or timed reads as in `castplan.materials.wording`. Behind a number
that nobody found out stands ``(assumed)`` or ``(from memory)``; where the others
come from stands in the details.
"""

import math
import re
from decimal import Decimal

from castplan import units
from castplan.materials.wording import scale_step_g
from castplan.record import Sourced
from castplan.texts import code_key, say
from castplan.texts.told import Told

# Bases of numbers that nobody found out: they are told behind the number.
UNPROVEN = ("from memory", "assumed")
# What is counted in words, and shares that are words; other units are symbols.
_COUNTED = ("casts", "copies", "days", "keys", "pours")
_WORDS = {
    "parts by weight": "unit.parts_by_weight",
    "parts by volume to 100 of A": "unit.parts_by_volume",
    "times": "unit.times",
    "times the mix": "unit.times_the_mix",
    "times shorter per 10 C warmer": "unit.times_shorter",
}
# Small trapped volumes settle slowly as the sampling gets finer, far slower
# than the halves do, so only their leading digits are worth printing.
_TRAPPED_ERROR_FRACTION = 0.1


def behind(basis: str) -> str:
    """What stands behind a number: `` (assumed)``; nothing where it was found out.

    Examples
    --------
    >>> behind("from memory"), behind("computed")
    (' (from memory)', '')
    """
    return say("basis.behind", basis=basis_word(basis)) if basis in UNPROVEN else ""


def basis_word(basis: str) -> str:
    """A basis in words."""
    return say(f"basis.{code_key(basis)}")


def raised(text: str) -> str:
    """`text` as type with more characters has it: powers raised, ``±``.

    Examples
    --------
    >>> raised("312 cm2")
    '312 cm²'
    """
    text = re.sub(r"(?<=\d [mc]m)[23]\b", lambda hit: "²³"[int(hit[0]) - 2], text)
    return text.replace("+-", "±")


def counted(count: int, noun: str) -> str:
    """``1 vent``, ``12,000 triangles``: a count with its noun of the table `count`."""
    return say(f"count.{noun}", n=count, number=f"{count:,}")


def capital(text: Told | str) -> str:
    """The text with its first letter large."""
    said = str(text)
    return said[:1].upper() + said[1:]


def rounded(value: float, *, error: float) -> str:
    """`value` rounded to the first digit of its `error` (same unit).

    Examples
    --------
    >>> rounded(642.31, error=14.0), rounded(18.234, error=0.3)
    ('640', '18.2')
    """
    decimals = -math.floor(math.log10(error)) if error > 0 else 3
    number = round(value, decimals) + 0.0  # adding 0.0 turns -0.0 into 0.0
    return f"{number:.{max(decimals, 0)}f}"


def ounce_text(mass_g: float) -> str:
    """Avoirdupois ounces: 0.01 oz (0.28 g) up to 1 kg, 0.1 oz above."""
    return f"{units.oz_from_g(mass_g):.{2 if mass_g < 1000 else 1}f} oz"


def summed(*texts: str) -> str:
    """The sum of amounts as they are printed, so that whoever adds them up gets the same.

    Examples
    --------
    >>> summed("8.31 oz", "0.42 oz")
    '8.73 oz'
    """
    numbers, names = zip(*(text.split(" ", 1) for text in texts), strict=True)
    return f"{sum(map(Decimal, numbers))} {names[0]}"


def together_text(*, a_g: float, b_g: float) -> str:
    """What a tared scale shows once both parts are in, each rounded to its own step."""
    steps_g = scale_step_g(a_g), scale_step_g(b_g)
    total_g = sum(round(m / s) * s for m, s in zip((a_g, b_g), steps_g, strict=True))
    decimals = max(0, -round(math.log10(min(steps_g))))
    return f"{total_g:.{decimals}f} g"


def nothing() -> str:
    """What is written for a volume too small to matter."""
    return say("number.nothing")


def trapped_plain(volume_mm3: float) -> str:
    """A trapped volume with the digits it deserves, or ``nothing``."""
    if units.is_nothing(volume_mm3):
        return nothing()
    volume_ml = units.ml_from_mm3(volume_mm3)
    digits = rounded(volume_ml, error=max(_TRAPPED_ERROR_FRACTION * volume_ml, 0.01))
    return f"{digits} ml"


def trapped_text(volume_mm3: float) -> str:
    """A trapped volume with its basis."""
    told = trapped_plain(volume_mm3)
    return told


def length_text(length_mm: float, *, error_mm: float = 0.01) -> str:
    """Millimetres rounded to their error, without idle zeros: ``12 mm``."""
    return f"{_without_idle_zeros(rounded(length_mm, error=error_mm))} mm"


def error_text(length_mm: float, *, error_mm: float) -> str:
    """A length with half the width of its interval: ``4.2 +- 0.3 mm``, one digit of it."""
    digits = max(0, -math.floor(math.log10(error_mm))) if error_mm > 0 else 1
    return f"{length_mm:.{digits}f} +- {error_mm:.{digits}f} mm"


def _without_idle_zeros(digits: str) -> str:
    return digits.rstrip("0").rstrip(".") if "." in digits else digits


def both_lengths(length_mm: float, *, error_mm: float) -> str:
    """``30.2 mm (1 3/16 in)``."""
    inches = units.inch_fraction(length_mm)
    return f"{length_text(length_mm, error_mm=error_mm)} ({inches} in)"


def size_text(extent_mm: tuple[float, float, float]) -> str:
    """``124 x 64 x 5.5 mm``: three digits of each side."""
    return f"{size_digits(extent_mm)} mm"


def size_digits(extent_mm: tuple[float, float, float]) -> str:
    """``124 x 64 x 5.5``, for under a head that names the unit."""
    sides = (f"{side:.{max(0, 3 - len(str(int(side))))}f}" for side in extent_mm)
    return " x ".join(_without_idle_zeros(side) for side in sides)


def size_inches(extent_mm: tuple[float, float, float]) -> str:
    """``4 23/32 x 2 3/4 x 1 31/32 in``."""
    return " x ".join(units.inch_fraction(side) for side in extent_mm) + " in"


def time_text(minutes: float) -> str:
    """``1.5 min``, ``45 min``, ``1 h 30 min``, ``16 h``."""
    if minutes < 10 and minutes != int(minutes):
        return f"{minutes:.1f} min"
    if minutes < 90:
        return f"{minutes:.0f} min"
    hours, rest = divmod(round(minutes), 60)
    return f"{hours} h {rest} min" if rest and hours < 10 else f"{minutes / 60:.0f} h"


def percent_text(fraction: float) -> str:
    """A fraction as ``0.17 %``, two digits that count."""
    return f"{units.digits(100 * fraction, 2)} %"


def unit_text(unit: str, *, value: float) -> str:
    """A unit as it stands behind a value; what is counted has a word for it."""
    if unit in _COUNTED:
        return say(f"unit.{unit}", n=value)
    return say(_WORDS[unit]) if unit in _WORDS else unit


def sourced_text(number: Sourced) -> str:
    """``12 mm, common practice (10 to 15): silicone at the sides``; shares of one as percent."""
    is_share = number.unit == "1"
    factor, unit = (100.0, "%") if is_share else (1.0, unit_text(number.unit, value=number.value))
    basis = basis_word(number.basis)
    value = say(
        "number.with_basis", value=f"{units.digits(factor * number.value, 4)} {unit}", basis=basis
    )
    if number.low is None or number.high is None:
        return say("number.sourced", value=value, source=number.source)
    low, high = (units.digits(factor * end, 3) for end in (number.low, number.high))
    return say("number.sourced_between", value=value, low=low, high=high, source=number.source)
