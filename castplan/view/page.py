"""The view as one file: cards in the order of the work beside a picture to turn in the hand.

Nothing in it reaches out: no network, no storage, no other file. The content
security policy of the page allows its own script and style by their hashes,
and nothing else.
"""

import base64
import hashlib
from html import escape
from importlib import resources

from castplan.plan_record import Plan
from castplan.texts import say
from castplan.view.cards import build_cards
from castplan.view.pack import spelled
from castplan.view.records import Scene
from castplan.view.told import told_of
from castplan.words import formats
from castplan.words import plan as view
from castplan.words.options import by_controls
from castplan.words.page_texts import as_one, filled, json_in_page, texts_of_script

FILES = resources.files("castplan.view") / "view_files"
# In the order in which one needs the other.
SCRIPTS = (
    "say.js",
    "view_shaders.js",
    "view_mesh.js",
    "view_rays.js",
    "view_camera.js",
    "view_labels.js",
    "view_gizmo.js",
    "view_shadow.js",
    "view_hands.js",
    "view_pace.js",
    "view_bodies.js",
    "view_draw.js",
    "view_gl.js",
    "view_stage.js",
    "view_page.js",
)


@by_controls()
def view_html(plan: Plan, scene: Scene) -> bytes:
    """The page; the same plan and scene give the same bytes.

    Parameters
    ----------
    plan : Plan
    scene : Scene

    Returns
    -------
    bytes
        UTF-8.
    """
    script, style = page_script(), _read("picture.css") + _read("view.css")
    policy = (
        f"default-src 'none'; script-src {_hash(script)}; style-src {_hash(style)}; "
        "img-src data:; base-uri 'none'; form-action 'none'"
    )
    parts = {
        "POLICY": policy,
        "TITLE": escape(say("view.title", part=plan.part.name)),
        "PART": escape(plan.part.name),
        "SIZE": _size(plan),
        "CARDS": build_cards(plan, scene),
        "FOOT": escape(formats.raised(view.basis_foot())),
        "DATA": page_json(plan, scene),
        "SCRIPT": script,
        "STYLE": style,
    }
    return filled(_read("view.html"), parts).encode("utf-8")


def page_script() -> str:
    """The page's modules as one."""
    return as_one(map(_read, SCRIPTS))


def page_json(plan: Plan, scene: Scene) -> str:
    """The page's data, and the texts that its script says."""
    data = {**spelled(told_of(plan, scene)), "texts": texts_of_script(page_script())}
    return json_in_page(data)


def _size(plan):
    extent_mm = plan.part.check.extent_mm
    return (
        f'<span class="mm">{escape(formats.size_text(extent_mm))}</span>'
        f'<span class="inch">{escape(formats.size_inches(extent_mm))}</span>'
    )


def _read(name):
    return (FILES / name).read_text(encoding="utf-8")


def _hash(text):
    digest = hashlib.sha256(text.encode("utf-8")).digest()
    return f"'sha256-{base64.b64encode(digest).decode('ascii')}'"
