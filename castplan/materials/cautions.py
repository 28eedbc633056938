"""The cautions that are printed beside the steps, read from ``cautions.toml``."""

import tomllib
from importlib import resources

from castplan.record import record
from castplan.texts.told import UNTOLD, Told, tell_data


@record
class Caution:
    """What can hurt, in a few sentences for the bench.

    `h_codes` are UN GHS hazard statement codes. A caution points at the
    supplier's safety data sheet; it never replaces it.
    """

    key: str
    title: Told
    text: Told
    h_codes: tuple[str, ...]
    source: Told
    limits: Told = UNTOLD  # in air, with whose they are


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
            text=tell_data(entry["text"]),
            h_codes=tuple(entry["h_codes"]),
            source=tell_data(entry["source"]),
            limits=tell_data(entry.get("limits", "")),
        )
        for key, entry in tomllib.loads(text).items()
    }
