"""What a picture tells besides what it shows: its places, its pour in words, its frame."""

from castplan.plan_record import Plan
from castplan.view.data import view_data
from castplan.view.records import Scene
from castplan.words import scene as scene_view


def told_of(plan: Plan, scene: Scene) -> dict:
    """The picture's data with all that its scripts say of it.

    Parameters
    ----------
    plan : Plan
    scene : Scene

    Returns
    -------
    dict
        ``view`` as from `view_data`; ``turn`` is the draw frame's rotation, a row an axis,
        so that a place can be told in the file's own axes.
    """
    places = [
        *scene_view.pocket_places(plan),
        *scene_view.peak_places(plan, scene),
        *scene_view.port_places(plan),
        *scene_view.part_places(plan),
        *scene_view.finding_places(plan),
    ]
    return {
        "view": view_data(plan, scene),
        "places": [
            {
                "key": place.key,
                "number": place.number,
                "title": place.title,
                "what": place.what,
                "do": place.do,
                "at": place.at_mm,
                "isMarked": place.is_marked,
            }
            for place in places
        ],
        "film": [{"mm": mm, "inch": inch} for mm, inch in scene_view.film_texts(scene)],
        "smallAir": str(scene_view.small_air_do()),
        "turn": plan.split.draw.frame.rotation.tolist(),
    }
