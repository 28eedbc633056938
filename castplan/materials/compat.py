"""The matrix of what stops, spoils or leaves alone the silicone and the resin."""

import tomllib
from functools import cache
from importlib import resources

from castplan.record import record
from castplan.texts.told import Told, tell, tell_data

VERDICTS = ("stop", "patch", "fine")


@record
class Meeting:
    """What comes of one thing touching one chemistry."""

    verdict: str
    reason: Told
    basis: str
    source: Told


@record
class Substance:
    """One thing on the bench, and what it does to each chemistry it can touch."""

    what: str
    name: str
    words: Told
    meets: dict[str, Meeting]


@cache
def load_matrix() -> dict[str, dict[str, Substance]]:
    """Read the matrix.

    Returns
    -------
    dict of str to dict of str to Substance
        By kind of thing (clay, box, ...), then by name.
    """
    text = resources.files("castplan.materials").joinpath("compat.toml").read_text("utf-8")
    return {
        what: {name: _substance(what, name, entry) for name, entry in things.items()}
        for what, things in tomllib.loads(text).items()
    }


def _substance(what, name, entry):
    meets = {
        chemistry: Meeting(
            verdict=told["verdict"],
            reason=tell_data(told["reason"]),
            basis=told["basis"],
            source=tell_data(told["source"]) if "source" in told else tell("material.practice"),
        )
        for chemistry, told in entry.items()
        if chemistry != "words"
    }
    return Substance(what=what, name=name, words=tell_data(entry["words"]), meets=meets)
