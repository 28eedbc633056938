"""The cautions that are printed beside the steps, read from ``cautions.toml``."""

import tomllib
from functools import cache
from importlib import resources

from castplan.record import record
from castplan.texts.told import UNTOLD, Told, tell_data, together


@record
class Substance:
    """What a caution names, with its UN GHS hazard statement codes."""

    name: Told
    h_codes: tuple[str, ...]


@record
class Caution:
    """What can hurt, in a few sentences for the bench.

    It stands beside every step of the kinds `steps`, besides those of its material.
    A caution points at the supplier's safety data sheet; it never replaces it.
    """

    key: str
    title: Told
    first: Told  # the sentence that stands alone where room is short
    rest: Told
    source: Told
    substances: tuple[Substance, ...] = ()
    steps: tuple[str, ...] = ()
    limits: Told = UNTOLD  # in air, with whose they are

    @property
    def text(self) -> Told:
        """All of its sentences."""
        return together([self.first, self.rest])

    @property
    def h_codes(self) -> tuple[str, ...]:
        """Codes of all its substances, each once, in their order."""
        return tuple(dict.fromkeys(code for one in self.substances for code in one.h_codes))


@cache
def load_cautions() -> dict[str, Caution]:
    """Read every caution.

    Returns
    -------
    dict of str to Caution
        By key, in the order of the file.

    Examples
    --------
    >>> str(load_cautions()["dust"].title)
    'Dust from trimming and sanding'
    """
    text = resources.files("castplan.materials").joinpath("cautions.toml").read_text("utf-8")
    return {
        key: Caution(
            key=key,
            title=tell_data(entry["title"]),
            first=tell_data(entry["first"]),
            rest=tell_data(entry["rest"]),
            source=tell_data(entry["source"]),
            substances=tuple(
                Substance(name=tell_data(one["name"]), h_codes=tuple(one["h_codes"]))
                for one in entry.get("substances", ())
            ),
            steps=tuple(entry.get("steps", ())),
            limits=tell_data(entry.get("limits", "")),
        )
        for key, entry in tomllib.loads(text).items()
    }
