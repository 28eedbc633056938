"""The box: which shape, how large, with room for keys."""

import numpy as np
import shapely

from castplan.columns.field import ColumnField
from castplan.geometry import boxes, flange, frames
from castplan.job import Job
from castplan.materials.cards import get_card
from castplan.materials.waste import silicone_waste
from castplan.memory import remembered
from castplan.split.records import BoxOption, BoxResult
from castplan.texts.told import tell

SHAPES = ("rectangle", "round", "outline")
# Keys that a box without gate and vents must hold: some will be in their way.
WANTED_KEYS = 4
# Another shape is recommended when it saves this share of the silicone.
WORTH_FRACTION = 0.2
ARC_SEGMENTS = 24  # per quarter of a round wall
# A wall that follows the outline bridges hollows narrower than this.
BRIDGE_MM = 40.0


@remembered
def choose_box(field: ColumnField, job: Job, *, part_mm3: float) -> BoxResult:
    """Compare the shapes of box and lay out the one that is built.

    Every shape keeps the job's silicone round the part. Where its flange has
    no room for keys it grows: a rectangle along x, along y or both, whichever
    takes least, the others all round. A wall that the job asks for is kept.

    Parameters
    ----------
    field : ColumnField
        Sampled along the draw.
    job : Job
        `box` names the shape; None takes the rectangle and says what saves.
    part_mm3 : float
        Exact volume of the part.

    Returns
    -------
    BoxResult
    """
    covered = flange.filled(flange.shadow_of(field)).simplify(0.5 * field.pitch_mm)
    low, high = boxes.box_inside(field.low_mm, field.high_mm, job)
    wall_mm = frames.wall_for(job, longest_mm=float((field.high_mm - field.low_mm).max()))
    card = get_card(job.silicone, kind="silicone")
    # As it is weighed out: what sticks to the cups is in every weight that is told.
    g_per_ml = card.density_g_ml.value * (1 + (card.waste_fraction or silicone_waste()).value)
    price_g = _price_g(job)
    made, options = {}, []
    for shape in SHAPES:
        outline, added = _lay_out(shape, covered, (low, high), wall_mm, job)
        made[shape] = (outline, added)
        x0, y0, x1, y1 = outline.bounds
        ml = (outline.area * (high[2] - low[2]) - part_mm3) / 1000
        options.append(
            BoxOption(
                shape=shape,
                size_mm=(x1 - x0, y1 - y0, float(high[2] - low[2])),
                silicone_ml=ml,
                silicone_g=ml * g_per_ml,
                cost=None if price_g is None else ml * g_per_ml * price_g,
                note=tell(f"box_note.{shape}"),
            )
        )
    shape = job.box or "rectangle"
    outline, added = made[shape]
    x0, y0, x1, y1 = outline.bounds
    ring = shapely.get_coordinates(shapely.orient_polygons(outline).exterior)[:-1]
    return BoxResult(
        shape=shape,
        is_asked_for=job.box is not None,
        outline_mm=ring,
        low_mm=(x0, y0, float(low[2])),
        high_mm=(x1, y1, float(high[2])),
        wall_mm=wall_mm,
        added_mm=added,
        options=tuple(options),
        recommended=_recommend(options),
    )


def _price_g(job):
    """Least price of a gram of silicone among the shop's packs; None without packs."""
    packs = [p for p in job.shop.packs if p.card == job.silicone and p.part == "kit"]
    return min((p.price / p.mass_g for p in packs), default=None)


def _recommend(options):
    """The rectangle, unless another saves enough to be worth its making."""
    best = min(options, key=lambda option: option.silicone_ml)
    boards = options[0]
    saved = 1 - best.silicone_ml / boards.silicone_ml
    return best.shape if saved > WORTH_FRACTION else boards.shape


def _lay_out(shape, covered, box, wall_mm, job):
    """Inside of one shape of box and what it grew for keys, (x, y) mm."""
    shapes = {"rectangle": _rectangle, "round": _round, "outline": _outline}
    first = shapes[shape](covered, box, wall_mm, job, (0.0, 0.0))
    is_keyed = not job.is_one_pour  # in one pour no second half to find its place
    if job.wall_mm is not None or not is_keyed or _holds_keys(first, covered, wall_mm, job):
        return first, (0.0, 0.0)
    key_mm, clearance_mm = frames.keys_for(job, wall_mm=wall_mm)
    reach = int(np.ceil(2 * (key_mm + 2 * clearance_mm) / job.box_step_mm))
    ways = ((1, 0), (0, 1), (1, 1)) if shape == "rectangle" else ((1, 1),)
    best = None
    for way in ways:
        low, high, found = 0, reach, None
        while high - low > 1 or (found is None and high == reach):
            n = high if found is None else (low + high) // 2
            added = (way[0] * n * job.box_step_mm, way[1] * n * job.box_step_mm)
            outline = shapes[shape](covered, box, wall_mm, job, added)
            if _holds_keys(outline, covered, wall_mm, job):
                high, found = n, (outline, added)
            elif found is None:
                break  # not even the widest
            else:
                low = n
        if found and (best is None or found[0].area < best[0].area - 1e-6):
            best = found
    return best or (first, (0.0, 0.0))


def _holds_keys(outline, covered, wall_mm, job):
    key_mm, clearance_mm = frames.keys_for(job, wall_mm=wall_mm)
    sizes = {"key_mm": key_mm, "clearance_mm": clearance_mm}
    room = flange.room_for_keys(outline, covered, shapely.Polygon(), **sizes)
    keys = flange.lay_keys(outline, room, pitch_mm=job.key_pitch_mm, **sizes)
    return len(keys) >= WANTED_KEYS


def _rectangle(covered, box, wall_mm, job, added):
    low, high = box
    half = 0.5 * np.array(added)
    return shapely.box(*(low[:2] - half), *(high[:2] + half))


def _round(covered, box, wall_mm, job, added):
    circle = shapely.minimum_bounding_circle(covered)
    radius = shapely.minimum_bounding_radius(covered)
    diameter = boxes.steps_up(2 * (radius + wall_mm) + added[0], step_mm=job.box_step_mm)
    # Circumscribed, so that the flats of the polygon keep the wall as well.
    around = 0.5 * diameter / np.cos(np.pi / (4 * ARC_SEGMENTS))
    return circle.centroid.buffer(around, quad_segs=ARC_SEGMENTS)


def _outline(covered, box, wall_mm, job, added):
    away = wall_mm + 0.5 * added[0]
    wide = covered.buffer(away + 0.5 * BRIDGE_MM, quad_segs=ARC_SEGMENTS)
    ring = flange.filled(wide.buffer(-0.5 * BRIDGE_MM, quad_segs=ARC_SEGMENTS))
    # Half a millimetre more than simplifying may take off again.
    return ring.buffer(0.2).simplify(0.2)
