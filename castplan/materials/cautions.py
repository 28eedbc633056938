"""The cautions that are printed beside the steps, read from ``cautions.toml``."""

import tomllib
from importlib import resources

from castplan.record import record
from castplan.texts.told import UNTOLD, Told, tell_data, together


@record
class Caution:
    """What can hurt, in a few sentences for the bench.

    `h_codes` are UN GHS hazard statement codes. A caution points at the
    supplier's safety data sheet; it never replaces it.
    """

    key: str
    title: Told
    first: Told  # the sentence that stands alone where room is short
    rest: Told
    h_codes: tuple[str, ...]
    source: Told
    limits: Told = UNTOLD  # in air, with whose they are

    @property
    def text(self) -> Told:
        """All of its sentences."""
        return together([self.first, self.rest])


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
            h_codes=tuple(entry["h_codes"]),
            source=tell_data(entry["source"]),
            limits=tell_data(entry.get("limits", "")),
        )
        for key, entry in tomllib.loads(text).items()
    }
