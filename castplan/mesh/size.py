"""How large a part is: its unit, a measured length, and sizes past belief."""

import math
import re
from typing import NamedTuple

import numpy as np

from castplan import errors, units
from castplan.errors import GeometryError, InputError
from castplan.texts import english

# A measured length this far from the file's is taken as the scale's own error;
# beyond it the unit is wrong, and scaling would hide that.
MAX_SCALE_ERROR = 1.25

# Longest sides that need a yes: no casting of this trade is smaller or larger.
SMALLEST_MM = 3.0
LARGEST_MM = 2000.0
# Five columns across: the outline of less is no ring.
LEAST_COLUMNS = 25


class Measured(NamedTuple):
    """A length taken from the original: `axis` is "x", "y", "z" or "longest"."""

    axis: str
    length_mm: float


def known_unit(name: str, *, what: str) -> str:
    """The short name of a unit, a key of `units.MM_PER_UNIT`.

    Parameters
    ----------
    name : str
        As written by the user or in the file.
    what : str
        Where it was written, for the message.

    Raises
    ------
    InputError
    """
    key = name.strip().lower()
    short = units.UNIT_NAMES.get(key, key)
    if short not in units.MM_PER_UNIT:
        raise InputError(
            what,
            found=f"the unit {name!r}",
            need="one of " + ", ".join(units.MM_PER_UNIT),
            do="Give the unit that the part was drawn in.",
        )
    return short


def parse_measured(text: str) -> Measured:
    """Read ``x=142.0``, ``longest=5.6in``: an axis of the file, a length, a unit (mm).

    Raises
    ------
    InputError
    """
    match = re.fullmatch(r"\s*(x|y|z|longest)\s*=\s*([0-9.]+)\s*([a-z]*)\s*", text.lower())
    try:
        length = float(match[2]) if match else 0.0
    except ValueError:
        length = 0.0
    if not (match and math.isfinite(length) and length > 0):
        raise InputError(
            "--measured",
            found=repr(text),
            need="a length over one axis of the file",
            do="Write for example --measured x=142.0 or --measured longest=5.6in.",
        )
    unit = known_unit(match[3] or "mm", what=f"--measured {text}")
    return Measured(match[1], length * units.MM_PER_UNIT[unit])


def scale_from(measured: Measured, extent: np.ndarray) -> float:
    """What to multiply lengths with so that the measured one comes out.

    Parameters
    ----------
    measured : Measured
    extent : (3,) array_like
        The part's sides along the file's axes, in any unit.

    Returns
    -------
    float
        [mm] per that unit.
    """
    sides = dict(zip("xyz", extent, strict=True)) | {"longest": max(extent)}
    return measured.length_mm / float(sides[measured.axis])


def check_scale(factor: float, extent_mm, measured: Measured, *, name: str) -> None:
    """Refuse a measured length that says the unit is wrong.

    Parameters
    ----------
    factor : float
        From `scale_from`, of the sides in mm.
    extent_mm : (3,) array_like
        Before scaling.
    measured : Measured
    name : str

    Raises
    ------
    InputError
        `factor` is beyond `MAX_SCALE_ERROR` either way.
    """
    if 1 / MAX_SCALE_ERROR <= factor <= MAX_SCALE_ERROR:
        return
    fits = [
        short
        for short, mm in units.MM_PER_UNIT.items()
        if 1 / MAX_SCALE_ERROR <= factor / mm <= MAX_SCALE_ERROR
    ]
    raise InputError(
        name,
        found=f"{measured.length_mm / factor:.4g} mm along {measured.axis}, "
        f"measured {measured.length_mm:.4g} mm",
        need=f"a scale within {MAX_SCALE_ERROR:g} times",
        do=(f"The lengths fit if one unit of the file is 1 {fits[0]}. " if fits else "")
        + "Give the right --units, or leave --units away to set the scale by --measured alone.",
    )


def check_believable(extent_mm, *, name: str) -> None:
    """Refuse a size that is most likely a mistaken unit.

    Raises
    ------
    InputError
        The longest side is under `SMALLEST_MM` or over `LARGEST_MM`.
    """
    longest_mm = max(extent_mm)
    if SMALLEST_MM <= longest_mm <= LARGEST_MM:
        return
    raise InputError(
        name,
        found=f"a size of {units.extent_text(extent_mm, unit='mm')}, {_in_words(longest_mm)}",
        need=f"a longest side from {SMALLEST_MM:g} mm to {LARGEST_MM / 1000:g} m",
        do="Give the right --units, or say --yes if the part is this size.",
        asks=errors.SIZE,
    )


def _in_words(longest_mm):
    """A size in English, as all errors are."""
    return english()[f"size_object.{units.size_object(longest_mm)}"]


def check_sampled(n_columns: int, *, pitch_mm: float, name: str) -> None:
    """Refuse a part that is too small for the columns that are to show it.

    Raises
    ------
    GeometryError
        Fewer than `LEAST_COLUMNS` columns meet it.
    """
    if n_columns < LEAST_COLUMNS:
        raise GeometryError(
            name,
            found=f"a part met by {n_columns} columns {pitch_mm:g} mm apart",
            need=f"at least {LEAST_COLUMNS}",
            do="Check its --units; or give a finer --pitch.",
        )


def missing_unit(extent, *, name: str) -> InputError:
    """The error that shows how large the part is in each of the usual units."""
    sizes = [
        f"{units.extent_text(extent, unit=unit)}, "
        f"{_in_words(float(max(extent)) * units.MM_PER_UNIT[unit])}"
        for unit in ("mm", "in")
    ]
    return InputError(
        name,
        found=f"no unit (a size of {', or '.join(sizes)})",
        need="one",
        do="Give --units mm or --units in (or um, cm, m, ft).",
        asks=errors.UNIT,
    )
