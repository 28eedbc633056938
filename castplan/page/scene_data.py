"""What the page's 3D room shows of a plan, as JSON."""

import json
from pathlib import Path

from castplan.memory import remembered
from castplan.page.choices import reading_from
from castplan.part.load import Reading, load_part
from castplan.plan_record import Plan
from castplan.view.cards import legend
from castplan.view.data import bare_data
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


def mesh_json(path: Path, choices: dict) -> bytes:
    """The part of a job alone, to be shown while its plan is made.

    Parameters
    ----------
    path : Path
        Of the mesh.
    choices : dict
        Of the job.

    Returns
    -------
    bytes
        UTF-8 JSON. Lengths in mm, the file's axes.

    Raises
    ------
    CastplanError
        The mesh cannot be read so.
    """
    part = load_part(path, Reading(**reading_from(choices)))
    data = spelled(bare_data(part), level=FOR_NOW)
    return json.dumps(data, allow_nan=False, separators=(",", ":")).encode()
