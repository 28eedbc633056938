"""The page's own files: a fixed list, read from the package."""

import json
from importlib import resources

from castplan.errors import InputError

ASSETS = {
    "page.css": "text/css",
    **dict.fromkeys(
        (
            "bench.js",
            "cards.js",
            "disc.js",
            "home.js",
            "page.js",
            "room.js",
            "talk.js",
        ),
        "text/javascript",
    ),
}


def page(token: str) -> str:
    """The page, with the token for what it changes."""
    text = _read("page.html")
    return text.replace("{{token}}", json.dumps(token).strip('"'))


def asset(name: str) -> tuple[str, str]:
    """Text and media type of a script or style.

    Raises
    ------
    InputError
        It is none of the page's.
    """
    if name not in ASSETS:
        raise InputError("file", found="no such one", need="one of the page's", do="Reload it.")
    return _read(name), ASSETS[name]


def _read(name):
    return resources.files("castplan.web").joinpath(name).read_text("utf-8")
