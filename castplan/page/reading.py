"""A job's part as the file of its mesh has it, under the name that the shop gave it."""

from dataclasses import replace
from pathlib import Path

from castplan.errors import CastplanError
from castplan.memory import remembered
from castplan.page.choices import READING, reading_from
from castplan.part.load import Reading, load_part
from castplan.part.records import Part


@remembered
def _read(path, name, reading):
    return read_named(path, name, dict(reading))


def read_named(path: Path, name: str, choices: dict) -> Part:
    """A job's part, by the shop's own name for it.

    Raises
    ------
    CastplanError
        As `part.load.load_part`.
    """
    try:
        part = load_part(path, Reading(**reading_from(choices)))
    except CastplanError as error:
        if error.what not in (path.name, path.stem):
            raise
        # The file is kept under its content's name.
        raise error.about(name + path.suffix) from error
    return replace(part, name=name)


def read_again(path: Path, name: str, choices: dict) -> Part:
    """The same, remembered where a memory is at work."""
    return _read(path, name, tuple((each, choices[each]) for each in READING if each in choices))
