"""Arguments and options that several commands share, and how their text is read."""

import enum
import math
from pathlib import Path
from typing import Annotated

import typer

from castplan.checks import check
from castplan.choices import CHOICES
from castplan.errors import InputError

AXES = {
    f"{sign}{axis}": tuple(
        (-1.0 if sign == "-" else 1.0) if place == axis else 0.0 for place in "xyz"
    )
    for sign in ("", "+", "-")
    for axis in "xyz"
}

EXIT_CODES = """\b
Exit codes:
  0  done
  1  a fault of castplan itself: please report it
  2  the file or an option cannot be used
  3  the mesh holds no body that could be cast
  4  memory, disk or permission is missing
A part that is hard to cast is not an error: the plan says what to watch."""


def words_of(title, name):
    """The words of a choice, as the command line takes them."""
    return enum.StrEnum(title, {word.upper(): word for word in CHOICES[name].words})


PartArgument = Annotated[
    Path,
    typer.Argument(
        metavar="PART",
        help="The part's mesh: STL, OBJ, PLY, 3MF, OFF or GLB; STEP with castplan[step].",
    ),
]
UnitsOption = Annotated[
    str | None,
    typer.Option(
        "--units",
        metavar="UNIT",
        help="Unit of the file's coordinates: mm, cm, m, um, in or ft. "
        "Needed unless the file states it (3MF, GLB and STEP do).",
    ),
]
MeasuredOption = Annotated[
    str | None,
    typer.Option(
        "--measured",
        metavar="AXIS=LENGTH",
        help="A length taken from the original, x=142.0 or longest=5.6in (mm if no unit is "
        "given): corrects the scale, or sets it where no unit is known.",
    ),
]
ThicknessOption = Annotated[
    float | None,
    typer.Option(
        "--thickness",
        metavar="MM",
        help="The file is one side of a sheet this thick: a back is made behind it. Holes "
        "narrower than that, up to 3 mm, are filled; wider ones go through.",
    ),
]
PlaneOption = Annotated[
    bool,
    typer.Option("--close-to-plane", help="The file lacks a flat side: close it to a plane."),
]
SizeOption = Annotated[
    bool,
    typer.Option(
        "--yes",
        help="Plan a part under 3 mm, over 2 m or too large to print full size: its size is right.",
    ),
]


def read_closing(thickness, close_to_plane):
    """The back that an open scan is to be given, or None."""
    from castplan.part.close import Closing

    if thickness is not None and close_to_plane:
        raise InputError(
            "--thickness",
            found="--close-to-plane beside it",
            need="one of them",
            do="A sheet has a thickness, a solid part a plane at its back.",
        )
    if thickness is None and not close_to_plane:
        return None
    return Closing(thickness_mm=thickness)


def read_direction(option, text):
    """Three numbers, or the name of an axis, as a direction."""
    if text is None:
        return None
    key = text.strip().lower()
    if key in AXES:
        return AXES[key]
    try:
        numbers = tuple(float(number) for number in key.split(","))
    except ValueError:
        numbers = ()
    if len(numbers) != 3 or not all(map(math.isfinite, numbers)) or not any(numbers):
        raise InputError(
            option,
            found=repr(text),
            need="three numbers that are not all zero, as 0,0,1, or an axis, as +z",
            do=f"Write for example {option} 0,0,1.",
        )
    return numbers


def read_place(option, text):
    """Three coordinates in mm."""
    try:
        numbers = tuple(float(number) for number in text.split(","))
    except ValueError:
        numbers = ()
    if len(numbers) != 3 or not all(map(math.isfinite, numbers)):
        raise InputError(
            option,
            found=repr(text),
            need="three coordinates in mm, comma between",
            do=f"Write for example {option} 10,0,24.5.",
        )
    return numbers


def read_spot(option, text, *, radius_mm):
    """Three coordinates and a radius in mm; the usual radius where none is given."""
    try:
        numbers = tuple(float(number) for number in text.split(","))
    except ValueError:
        numbers = ()
    if len(numbers) == 3:
        numbers += (radius_mm,)
    if len(numbers) != 4 or not all(map(math.isfinite, numbers)) or numbers[3] <= 0:
        raise InputError(
            option,
            found=repr(text),
            need="three coordinates in mm, comma between, and a radius above 0 if you like",
            do=f"Write for example {option} 10,0,24.5 or {option} 10,0,24.5,{radius_mm:g}.",
        )
    return numbers


def read_lengths(option: str, text: str | None, *, count: int):
    """So many lengths in mm, comma between; None without text."""
    if text is None:
        return None
    try:
        numbers = tuple(float(number) for number in text.split(","))
    except ValueError:
        numbers = ()
    if len(numbers) != count or not all(math.isfinite(v) and v > 0 for v in numbers):
        raise InputError(
            option,
            found=repr(text),
            need=f"{count} lengths in mm above 0, comma between",
            do=f"Write for example {option} {','.join(['220'] * count)}.",
        )
    return numbers


def read_choice(option, name, value):
    """A number within the limits that the job sets to it; None where it is left out."""
    if value is not None:
        check(CHOICES[name], value, what=option)
    return value


def read_number(option, value, *, unit, above=-math.inf, least=-math.inf):
    """A finite number within its limits."""
    if value is None or (math.isfinite(value) and value > above and value >= least):
        return value
    limit = f"above {above:g}" if above > -math.inf else f"of at least {least:g}"
    raise InputError(
        option,
        found=f"{value:g}",
        need=f"a number of {unit} {limit}",
        do=f"Change it, or leave {option} away.",
    )


def read_percent(option, value, *, below=100):
    """A share from 0 to below 1, or `below`, typed in percent."""
    if value is None:
        return None
    if not 0 <= value < below:
        raise InputError(
            option, found=f"{value:g}", need=f"0 to below {below} percent", do="Write 2 for 2 %."
        )
    return value / 100
