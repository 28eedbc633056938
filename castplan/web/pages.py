"""The page's own files: a fixed list, read from the package."""

import json
from importlib import resources

from castplan.web.store import Missing

# By package: the page's own, and those of the 3D picture that it shares with the file.
_OWN = "castplan.web", ""
_SHARED = "castplan.output", "view_files/"
ASSETS = {
    **{name: (_OWN, "text/css") for name in ("page.css",)},
    **{
        name: (_OWN, "text/javascript")
        for name in (
            "bench.js",
            "cards.js",
            "casts.js",
            "disc.js",
            "home.js",
            "page.js",
            "room.js",
            "talk.js",
        )
    },
    "picture.css": (_SHARED, "text/css"),
    **{
        name: (_SHARED, "text/javascript")
        for name in ("say.js", "view_gl.js", "view_hands.js", "view_mesh.js", "view_shaders.js")
    },
}


def page(token: str) -> str:
    """The page, with the token for what it changes."""
    text = _read(*_OWN, "page.html")
    return text.replace("{{token}}", json.dumps(token).strip('"'))


def asset(name: str) -> tuple[str, str]:
    """Text and media type of a script or style.

    Raises
    ------
    Missing
        It is none of the page's.
    """
    if name not in ASSETS:
        raise Missing("file", found="no such one", need="one of the page's", do="Reload it.")
    place, kind = ASSETS[name]
    return _read(*place, name), kind


def _read(package, folder, name):
    return resources.files(package).joinpath(folder + name).read_text("utf-8")
