"""Numbers that castplan takes for granted, with their source in the language that is spoken."""

from castplan.record import Sourced
from castplan.texts import say


def said_number(key: str, *, value, unit, basis="assumed", low=None, high=None) -> Sourced:
    """A number whose source is a text of the catalogue.

    A function makes it when it is asked for, never a constant of a module: the
    language is chosen after modules are loaded.

    Parameters
    ----------
    key : str
        Of the source.
    value, unit, basis, low, high
        As of `Sourced`.
    """
    return Sourced(value=value, unit=unit, basis=basis, source=say(key), low=low, high=high)
