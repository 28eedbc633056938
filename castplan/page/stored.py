"""A job as the store hands it out, and what the store refuses with."""

from dataclasses import dataclass

from castplan.errors import InputError


@dataclass(frozen=True)
class StoredJob:
    """A job as it stands: `choices` are those of version `at` of `last`."""

    key: str
    name: str
    mesh: str  # SHA-256 of the file, hexadecimal
    suffix: str  # of the file, one of the known formats
    made_s: float  # seconds since 1970
    changed_s: float
    is_archived: bool
    is_deleted: bool
    at: int
    first: int  # the oldest version kept
    last: int
    choices: dict
    what: str  # what this version changed
    next_what: str | None  # what redo would change
    marks: dict  # ticks and timers, by name
    answered: dict  # what the last plan came to: version `at`, `state` and facts; or empty


class Conflict(InputError):
    """The job was changed elsewhere since it was looked at."""


class Missing(InputError):
    """What was asked for is not there."""
