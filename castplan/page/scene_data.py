"""What the page's 3D room shows of a plan, as JSON."""

import json

from castplan.memory import remembered
from castplan.plan_record import Plan
from castplan.view.cards import legend
from castplan.view.pack import FOR_NOW, spelled
from castplan.view.scene import build_scene
from castplan.view.told import told_of
from castplan.words import scene as scene_view
from castplan.words.options import by_controls

_build_scene = remembered(build_scene)


@by_controls()
def room_json(plan: Plan, known: frozenset[str] = frozenset()) -> bytes:
    """Meshes, maps, places and legends for the room.

    Parameters
    ----------
    plan : Plan
    known : frozenset of str
        Sums of the arrays that the page has: they are not sent again.

    Returns
    -------
    bytes
        UTF-8 JSON. Lengths in mm, draw frame; ``turn`` is that frame's rotation,
        a row an axis, so that a place can be told in the file's own axes.
    """
    scene = _build_scene(plan)
    legends = {
        one.key: legend(one.classes, one.key) for one in scene_view.surface_maps(plan, scene)
    }
    legends["film"] = legend(scene_view.film_classes(), "film")
    told = spelled(told_of(plan, scene), level=FOR_NOW, known=known)
    data = {**told, "legends": legends, "whyNoHalves": scene.why_no_halves}
    return json.dumps(data, allow_nan=False, separators=(",", ":")).encode()
