"""Options about box, keys, bed, equipment and solids, and what they make of a job."""

import math
from typing import Annotated

import typer

from castplan.cli.options import read_choice, words_of
from castplan.errors import InputError

LENGTHS = ("box_step", "board", "key", "key_pitch", "kerf", "key_clearance", "bed_clearance")
SOLIDS = ("halves", "bed", "walls", "case")


Box = words_of("Box", "box")


Bed = words_of("Bed", "bed")


BoxOption = Annotated[
    Box | None,
    typer.Option("--box", case_sensitive=False, help="Shape of the box. Without it a rectangle."),
]
BoxStepOption = Annotated[
    float | None,
    typer.Option("--box-step", metavar="MM", help="Round the inside up to steps. Default 1."),
]
BoardOption = Annotated[
    float | None,
    typer.Option("--board", metavar="MM", help="Thickness of the box's boards. Default 12."),
]
KerfOption = Annotated[
    float | None,
    typer.Option("--kerf", metavar="MM", help="Width of laser or router cut. Default 0."),
]
KeyOption = Annotated[
    float | None,
    typer.Option("--key", metavar="MM", help="Diameter of the keys. Default by the wall."),
]
KeyPitchOption = Annotated[
    float | None,
    typer.Option("--key-pitch", metavar="MM", help="Distance of the keys. Default 13."),
]
KeyClearanceOption = Annotated[
    float | None,
    typer.Option(
        "--key-clearance", metavar="MM", help="Key to part and to box. Default by the wall."
    ),
]
BedOption = Annotated[
    Bed | None,
    typer.Option("--bed", case_sensitive=False, help="What the part lies in. Default clay."),
]
BedClearanceOption = Annotated[
    float | None,
    typer.Option("--bed-clearance", metavar="MM", help="Printed bed to part and box. Default 0.3."),
]
PrinterOption = Annotated[
    str | None,
    typer.Option(
        "--printer", metavar="W,D,H", help="Room of the 3D printer in mm. Default 220,220,250."
    ),
]
PotOption = Annotated[
    str | None,
    typer.Option("--pot", metavar="D,H", help="Inside of the pressure pot in mm, to check."),
]
ChamberOption = Annotated[
    str | None,
    typer.Option("--chamber", metavar="D,H", help="Inside of the vacuum chamber in mm, to check."),
]
ScaleMaxOption = Annotated[
    float | None,
    typer.Option("--scale-max", metavar="G", help="The most that the scale shows, to check."),
]
SolidsOption = Annotated[
    str | None,
    typer.Option(
        "--solids",
        metavar="NAMES",
        help="Also write solids as STL and 3MF: halves, bed (a print in place of clay), walls "
        "(the box as prints), case (a rigid case), comma between, or all.",
    ),
]


def read_solids(text: str | None) -> tuple[str, ...]:
    """Which solids are wanted, in the order they are made."""
    if text is None:
        return ()
    names = [name.strip().lower() for name in text.split(",")]
    if names == ["all"]:
        return SOLIDS
    unknown = sorted(set(names) - set(SOLIDS))
    if unknown:
        raise InputError(
            "--solids",
            found=", ".join(repr(name) for name in unknown),
            need=f"{', '.join(SOLIDS)} or all",
            do="Write for example --solids halves,bed.",
        )
    return tuple(name for name in SOLIDS if name in names)


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


def build_choices(*, solids, box, bed, printer, pot, chamber, **lengths) -> dict:
    """The job's choices from these options; None where nothing is asked.

    `lengths` are box_step, board, kerf, key, key_pitch, key_clearance,
    bed_clearance and scale_max. A printed bed among the solids means that the
    part lies in it.
    """
    if bed is None and "bed" in solids:
        bed = Bed.PRINTED
    choices = {
        "box": None if box is None else box.value,
        "bed": None if bed is None else bed.value,
        "printer_mm": read_lengths("--printer", printer, count=3),
        "pot_mm": read_lengths("--pot", pot, count=2),
        "chamber_mm": read_lengths("--chamber", chamber, count=2),
        "scale_max_g": read_choice("--scale-max", "scale_max_g", lengths["scale_max"]),
    }
    for name in LENGTHS:
        option = "--" + name.replace("_", "-")
        choices[f"{name}_mm"] = read_choice(option, f"{name}_mm", lengths[name])
    return choices
