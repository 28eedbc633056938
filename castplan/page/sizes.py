"""How large a part would be in each unit, in words."""

from pathlib import Path

from castplan import units
from castplan.part import size
from castplan.part.load import read_part
from castplan.texts import say
from castplan.words.mesh import size_words

_SHOWN = ("mm", "in", "cm", "m")


def sizes_of(path: Path) -> list[dict]:
    """Size of the part in a file, taken to be in each of the usual units.

    Parameters
    ----------
    path : pathlib.Path
        A file whose unit is not known.

    Returns
    -------
    list of dict
        ``unit``, ``name``, ``says`` and whether it ``is_believable``.

    Raises
    ------
    CastplanError
        As `load.read_part`.
    """
    extent = [float(side) for side in read_part(path, unit="mm").check.extent_mm]
    told = []
    for unit in _SHOWN:
        longest_mm = max(extent) * units.MM_PER_UNIT[unit]
        says = f"{units.extent_text(extent, unit=unit)}, {size_words(longest_mm)}"
        is_believable = size.is_believable([side * units.MM_PER_UNIT[unit] for side in extent])
        name = say(f"unit_name.{unit}")
        told.append({"unit": unit, "name": name, "says": says, "is_believable": is_believable})
    return told
