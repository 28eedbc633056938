"""How large a part is: its unit, a measured length, and sizes past belief."""

import math
import re
from typing import NamedTuple

import numpy as np

from castplan import errors, units
from castplan.errors import GeometryError, InputError, Option
from castplan.record import record
from castplan.texts import english

# A measured length this far from the file's is taken as the scale's own error;
# beyond it the unit is wrong, and scaling would hide that.
MAX_SCALE_ERROR = 1.25

# Longest sides that need a yes: no casting of this trade is smaller or larger.
SMALLEST_MM = 3.0
LARGEST_MM = 2000.0
# A drawing of more sheets nobody glues together (assumed).
MOST_TILES = 80
# What one sheet of A4 shows of it, overlap taken off, and the wall of a large mould.
_TILE_MM = (196.0, 174.0)
_WALL_MM = 40.0
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


@record
class InFile:
    """What a file says of its size."""

    name: str  # shown to the user
    stated: str | None  # the unit, where it states one
    extent: np.ndarray  # (3,) in units of the file


def settle_unit(in_file: InFile, *, given: str | None, measured: Measured | None) -> str | None:
    """The unit of the file's numbers, where `given` and `stated` may contradict each other.

    A measured length says which of the two is right.

    Parameters
    ----------
    in_file : InFile
    given : str or None
        By the user.
    measured : Measured or None

    Raises
    ------
    InputError
        They contradict each other and no measured length bears `given` out.
    """
    stated, extent, name = in_file.stated, in_file.extent, in_file.name
    if not (given and stated and given != stated):
        return given or stated
    if measured is None:
        raise InputError(
            name,
            found=(f"{stated} stated in the file, but ", Option("--units"), f" {given}"),
            need="one unit",
            do=(
                "Leave ",
                Option("--units"),
                " away; or measure the original and say ",
                Option("--measured"),
                " longest=LENGTH beside it, which shows which of the two is right.",
            ),
        )
    if _is_borne_out(given, measured, extent):
        return given
    if _is_borne_out(stated, measured, extent):
        raise InputError(
            name,
            found=(
                Option("--units"),
                f" {given}, but the measured length fits the {stated} stated in the file",
            ),
            need="one unit",
            do=("Leave ", Option("--units"), " away."),
        )
    raise _misfit(
        measured,
        extent,
        told=f"--units {given} and the {stated} in the file",
        unit=given,
        name=name,
    )


def check_scale(in_file: InFile, measured: Measured, *, unit: str) -> None:
    """Refuse a measured length that says the unit is wrong.

    Parameters
    ----------
    in_file : InFile
        Before scaling.
    measured : Measured
    unit : str
        That the file states; else the user gave it, or the format prescribes it.

    Raises
    ------
    InputError
        The lengths differ by more than `MAX_SCALE_ERROR` either way.
    """
    extent = in_file.extent
    if _is_borne_out(unit, measured, extent):
        return
    raise _misfit(
        measured,
        extent,
        told=f"the {unit} stated in the file" if unit == in_file.stated else f"the unit {unit}",
        unit=unit,
        name=in_file.name,
    )


def _is_borne_out(unit, measured, extent):
    factor = scale_from(measured, np.asarray(extent) * units.MM_PER_UNIT[unit])
    return 1 / MAX_SCALE_ERROR <= factor <= MAX_SCALE_ERROR


def _misfit(measured, extent, *, told, unit, name):
    """The error for a length that is far from the file's, and which of both is wrong."""
    fits = [short for short in units.MM_PER_UNIT if _is_borne_out(short, measured, extent)]
    has_mm = units.MM_PER_UNIT[unit] * measured.length_mm / scale_from(measured, extent)
    return InputError(
        name,
        found=f"{has_mm:.4g} mm along {measured.axis} but {measured.length_mm:.4g} mm measured: "
        + (f"{told} is wrong" if fits else "no unit fits, so the measured length is wrong"),
        need=f"lengths within {MAX_SCALE_ERROR:g} times",
        do=(
            f"The lengths fit if one unit of the file is 1 {fits[0]}: say ",
            Option("--units"),
            f" {fits[0]}.",
        )
        if fits
        else (
            "Measure again along that axis of the file; or leave ",
            Option("--units"),
            " away to set the scale by ",
            Option("--measured"),
            " alone.",
        ),
    )


def check_believable(extent_mm, *, name: str) -> None:
    """Refuse a size that is most likely a mistaken unit, or a plan past all paper.

    Raises
    ------
    InputError
        The longest side is under `SMALLEST_MM` or over `LARGEST_MM`, or a
        drawing at true size would take more than `MOST_TILES` sheets.
    """
    longest_mm = max(extent_mm)
    if not SMALLEST_MM <= longest_mm <= LARGEST_MM:
        raise InputError(
            name,
            found=f"a size of {units.extent_text(extent_mm, unit='mm')}, {_in_words(longest_mm)}",
            need=f"a longest side from {SMALLEST_MM:g} mm to {LARGEST_MM / 1000:g} m",
            do=(
                "Give the right ",
                Option("--units"),
                ", or say ",
                Option("--yes"),
                " if the part is this size.",
            ),
            asks=errors.SIZE,
        )
    n_tiles = tiles_needed(extent_mm)
    if n_tiles > MOST_TILES:
        raise InputError(
            name,
            found=f"a size of {units.extent_text(extent_mm, unit='mm')}, whose drawings at true "
            f"size take about {n_tiles} sheets each",
            need=f"at most {MOST_TILES}",
            do=(
                "Give the right ",
                Option("--units"),
                ", or say ",
                Option("--yes"),
                " to plan it without these drawings.",
            ),
            asks=errors.SIZE,
        )


def is_believable(extent_mm) -> bool:
    """Whether a part of this size is planned without a question."""
    return SMALLEST_MM <= max(extent_mm) <= LARGEST_MM and tiles_needed(extent_mm) <= MOST_TILES


def tiles_needed(extent_mm) -> int:
    """About how many sheets the largest drawing of a part at true size takes."""
    _, middle_mm, longest_mm = sorted(extent_mm)
    return math.prod(
        math.ceil((side_mm + 2 * _WALL_MM) / tile_mm)
        for side_mm, tile_mm in zip((longest_mm, middle_mm), _TILE_MM, strict=True)
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
            do=("Check its ", Option("--units"), "; or give a finer ", Option("--pitch"), "."),
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
        do=("Give ", Option("--units"), " mm or ", Option("--units"), " in (or um, cm, m, ft)."),
        asks=errors.UNIT,
    )
