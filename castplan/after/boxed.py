"""Several parts in one box: which of them a defect is on, and where that is in the box."""

from dataclasses import replace

import numpy as np

from castplan.after.records import Defect, LoggedPour
from castplan.errors import InputError
from castplan.nest.records import Nest, Placed
from castplan.nest.shared import part_at


def in_box(part: Placed, place_mm) -> tuple[float, float, float]:
    """A place of a part's own file in the axes of the box, mm."""
    place = part.rotation @ np.asarray(place_mm, dtype=float) + part.offset_mm
    return tuple(float(v) for v in place)


def in_file(part: Placed, place_mm) -> tuple[float, float, float]:
    """A place of the box in the axes of a part's own file, mm."""
    place = part.rotation.T @ (np.asarray(place_mm, dtype=float) - part.offset_mm)
    return tuple(float(v) for v in place)


def numbered(nest: Nest, *, number: int) -> Placed:
    """The part of a number.

    Raises
    ------
    InputError
        There is none.
    """
    if not 1 <= number <= len(nest.parts):
        raise InputError(
            "part",
            found=f"{number}",
            need=f"1 to {len(nest.parts)}, as on the plan of the box",
            do="Take a wrong line of the log back with castplan cast PLAN --withdraw LINE.",
        )
    return nest.parts[number - 1]


def put_in_box(nest: Nest | None, defect: Defect) -> Defect:
    """A logged defect with its place in the axes of the plan's part, and its part's number.

    Parameters
    ----------
    nest : Nest or None
        None for a box with one part, whose defects stay as they are.
    defect : Defect
        With the number of a part its place is in that part's own file, without one in the
        box's axes.

    Raises
    ------
    InputError
        No part has its number.
    """
    if nest is None:
        return defect
    if defect.part is None:
        where = defect.where_mm
        return defect if where is None else replace(defect, part=part_at(nest, where).number)
    part = numbered(nest, number=defect.part)
    where = defect.where_mm
    return defect if where is None else replace(defect, where_mm=in_box(part, where))


def keep_by_part(nest: Nest | None, defect: Defect) -> Defect:
    """A defect as it is logged: a place of the box is kept in the file of the part it is on.

    So the log holds when the same parts are laid anew.
    """
    if nest is None or defect.part is not None or defect.where_mm is None:
        return defect
    part = part_at(nest, defect.where_mm)
    return replace(defect, part=part.number, where_mm=in_file(part, defect.where_mm))


def result_of(pour: LoggedPour, *, number: int) -> str:
    """How one part of a pour came out."""
    own = [each.result for each in pour.parts if each.part == number]
    return own[-1] if own else pour.result
