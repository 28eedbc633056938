"""The matrix of what stops, spoils or leaves alone the silicone and the resin."""

import functools
import tomllib
from importlib import resources

from castplan.model import record

VERDICTS = ("stop", "patch", "fine")


@record
class Meeting:
    """What comes of one thing touching one chemistry."""

    verdict: str
    reason: str
    basis: str
    source: str


@record
class Substance:
    """One thing on the bench, and what it does to each chemistry it can touch."""

    what: str
    name: str
    words: str
    meets: dict[str, Meeting]


@functools.cache
def load_matrix() -> dict[str, dict[str, Substance]]:
    """Read the matrix.

    Returns
    -------
    dict of str to dict of str to Substance
        By kind of thing (clay, box, ...), then by name.
    """
    text = resources.files("castplan.materials").joinpath("compat.toml").read_text("utf-8")
    return {
        what: {name: _substance(what, name, dict(entry)) for name, entry in things.items()}
        for what, things in tomllib.loads(text).items()
    }


def _substance(what, name, entry):
    words = entry.pop("words")
    pages = "suppliers' public pages, read 2026"
    meets = {
        chemistry: Meeting(**told | {"source": pages if told["source"] == "S" else told["source"]})
        for chemistry, told in entry.items()
    }
    return Substance(what=what, name=name, words=words, meets=meets)
