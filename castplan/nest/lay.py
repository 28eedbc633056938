"""One part as it would lie in a box of its own: its draw, its parting, its outline."""

from dataclasses import replace

import numpy as np
import shapely

from castplan.geometry import directions, flange, frames
from castplan.job import Job
from castplan.part.records import Part
from castplan.part.study import begin_study, sample_part
from castplan.record import Frame, record
from castplan.split import room as split_room
from castplan.split.back import find_back
from castplan.split.box import choose_box
from castplan.split.draw import find_draw, tie_volume_mm3

ACROSS = 256  # columns along the longest side
# Choices of the whole box, which no single part's draw hangs on.
_OF_THE_BOX = {"up": None, "parting_height_mm": None, "vents_at": None, "keep_off": None}


@record
class Laid:
    """A part along its own draw."""

    part: Part
    frame: Frame
    is_open: bool
    is_back_free: bool  # an open mould would do for it alone
    parting_mm: float  # along the draw
    low_mm: float  # lowest point, over the parting
    top_mm: float  # highest point, over the parting
    outline: shapely.Polygon  # seen along the draw, no smaller than it is, holes filled
    show: tuple[float, float, float] | None  # draw frame: out of the side that the shop named
    alone_ml: float  # silicone of a box of its own


def lay(part: Part, job: Job, *, kind: str) -> Laid:
    """Find the draw of a part by itself, and what it takes by itself.

    Parameters
    ----------
    part : Part
    job : Job
        Draw and show face are in the part's own axes.
    kind : {"two-part", "open", "auto"}
        Of the mould; ``auto`` tells of a part with a free back that it may be open.

    Returns
    -------
    Laid

    Raises
    ------
    InputError
        An open mould is asked for and the part has no flat back.
    """
    job = replace(job, mould=kind, **_OF_THE_BOX)
    study = begin_study(part, job, tie_mm3=tie_volume_mm3(part))
    draw = find_draw(part, study.job)
    is_back_free = False
    if kind == "auto":
        back = None if split_room.names_of_two(job) else find_back(study, draw)
        is_back_free = back is not None and back.is_free
        job = replace(study.job, mould="open" if is_back_free else "two-part")
        study = replace(study, job=job)
    if study.job.mould == "open":
        study, draw = split_room.settle_mould(study, draw)
        is_back_free = study.back is not None and study.back.is_free
    is_open = study.job.mould == "open"
    frame = draw.frame
    pitch_mm = directions.longest_mm(part) / ACROSS
    field = sample_part(
        part, frame, pitch_mm=frames.view_pitch(part, job, frame, pitch_mm=pitch_mm)
    )
    parting_mm = float(field.low_mm[2])
    if not is_open:
        parting_mm = split_room.level_height_mm(study, frame, pitch_mm=pitch_mm)
    box = choose_box(field, study.job, part_mm3=part.check.volume_mm3)
    option = next(each for each in box.options if each.shape == box.shape)
    show = job.show_face
    return Laid(
        part=part,
        frame=frame,
        is_open=is_open,
        is_back_free=is_back_free,
        parting_mm=parting_mm,
        low_mm=float(field.low_mm[2]) - parting_mm,
        top_mm=float(field.high_mm[2]) - parting_mm,
        outline=_outline(part, field),
        show=None if show is None else tuple(float(v) for v in frame.to_frame(frames.unit(show))),
        alone_ml=option.silicone_ml,
    )


def _outline(part, field):
    """What the part covers seen along its draw, hardly larger, in one piece, holes filled."""
    # Of what stands over the middle of no column, a diagonal's half is missed, tips apart.
    grown = flange.shadow_of(field).buffer(0.75 * field.pitch_mm, join_style="mitre")
    flat = (part.vertices_mm @ field.rotation.T)[:, :2]
    shapely.prepare(grown)
    is_out = ~shapely.contains_xy(grown, *flat.T)
    facets = shapely.polygons(flat[part.faces[is_out[part.faces].any(axis=1)]])
    whole = flange.filled(shapely.union_all([grown, *facets[shapely.area(facets) > 0]]))
    # Of a part in several bodies the gaps are bridged: nothing is laid into them.
    whole = whole if whole.geom_type == "Polygon" else shapely.convex_hull(whole)
    tidy = shapely.Polygon(whole.exterior).buffer(0.25 * field.pitch_mm, join_style="mitre")
    return shapely.Polygon(shapely.simplify(tidy, 0.25 * field.pitch_mm).exterior)


def turn_about(angle_deg: float) -> np.ndarray:
    """The rotation about z by an angle, counter-clockwise, (3, 3)."""
    cos, sin = np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))
    return np.array([[cos, -sin, 0.0], [sin, cos, 0.0], [0.0, 0.0, 1.0]])
