"""The page's own files: a fixed list, read from the package."""

from html import escape
from importlib import resources

from castplan.page.store import Missing
from castplan.words.page_texts import filled, json_in_page, texts_of_script

# By package: the page's own, and those of the 3D picture that it shares with the file.
_OWN = "castplan.page", ""
_SHARED = "castplan.view", "view_files/"
_JS = "text/javascript"
ASSETS = {
    **{name: (_OWN, "text/css") for name in ("page.css",)},
    **{
        name: (_OWN, _JS)
        for name in (
            "bench.js",
            "box_parts.js",
            "casts.js",
            "changes.js",
            "compare.js",
            "controls.js",
            "disc.js",
            "elements.js",
            "head.js",
            "home.js",
            "page.js",
            "places.js",
            "plan.js",
            "room.js",
            "talk.js",
            "timers.js",
            "wrong.js",
        )
    },
    "picture.css": (_SHARED, "text/css"),
    **{
        name: (_SHARED, _JS)
        for name in (
            "say.js",
            "view_bodies.js",
            "view_camera.js",
            "view_draw.js",
            "view_gizmo.js",
            "view_gl.js",
            "view_hands.js",
            "view_labels.js",
            "view_mesh.js",
            "view_pace.js",
            "view_rays.js",
            "view_shaders.js",
            "view_shadow.js",
            "view_stage.js",
        )
    },
}


def page(token: str) -> str:
    """The page with the texts of its scripts, and the token for what it changes.

    Both stand in the page itself: its content security policy lets no script in that
    is not a file of its own, but holds nothing against data.
    """
    scripts = "".join(_read(*place, name) for name, (place, kind) in ASSETS.items() if kind == _JS)
    parts = {"TOKEN": escape(token), "TEXTS": json_in_page(texts_of_script(scripts))}
    return filled(_read(*_OWN, "page.html"), parts)


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
