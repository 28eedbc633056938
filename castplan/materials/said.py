"""Numbers that castplan takes for granted, with their source."""

from castplan.record import Sourced
from castplan.texts.told import tell


def said_number(key: str, *, value, unit, basis="assumed", low=None, high=None) -> Sourced:
    """A number whose source is a text of the catalogue.

    Parameters
    ----------
    key : str
        Of the source.
    value, unit, basis, low, high
        As of `Sourced`.
    """
    return Sourced(value=value, unit=unit, basis=basis, source=tell(key), low=low, high=high)
