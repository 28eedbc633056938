"""Air that the silicone leaves under the part, half by half, and the tilt that frees it."""

from dataclasses import dataclass

import numpy as np

from castplan.columns import contours, flood
from castplan.columns import field as columns
from castplan.columns.views import sample_view
from castplan.columns.voids import void_above
from castplan.geometry import directions
from castplan.geometry.shutoff import cutting_surface, parting_over
from castplan.geometry.solid import arrays_of, height_block
from castplan.geometry.stands import Stand
from castplan.job import Job
from castplan.memory import remembered
from castplan.mould.records import CaughtAir, MouldResult, PoursResult, SiliconePour
from castplan.part.records import Part
from castplan.record import Frame
from castplan.split.records import Split

ACROSS = 256  # columns along the longest side for the pours as they stand
TILT_ACROSS = 128  # and for the tilts
TILTS_DEG = (15.0, 30.0)
N_AZIMUTHS = 8
CLAY_DEEP_MM = 5.0  # of clay under its lowest place: none runs through
# A tilt is worth the trouble when it frees this share.
WORTH_FRACTION = 0.5
_NO_FACES = np.empty((0, 3), dtype=np.int32)
LEVEL = Frame(rotation=np.eye(3))


def find_pours(part: Part, split: Split, mould: MouldResult, job: Job) -> PoursResult:
    """Pour the upper half over the part in its clay, then the lower one upside down.

    The same merge of roofs as in the cavity, on the space round the part:
    silicone rises from the clay, air leaves through the open top of the box.
    What lies under an overhang above its rim is caught.

    Parameters
    ----------
    part : Part
    split : Split
        Its line is the clay's surface.
    mould : MouldResult
        The box.
    job : Job

    Returns
    -------
    PoursResult
        A half without silicone is left out.
    """
    return _find_pours(part, split.draw.frame, split.line, mould, job)


@remembered
def _find_pours(part, draw_frame, line, mould, job):
    pours = []
    for half, side_ml in (("upper", mould.upper_ml), ("lower", mould.lower_ml)):
        if side_ml > 0:
            pours.append(_pour(part, draw_frame, line, mould, job, half))
    return PoursResult(pours=tuple(pours))


def _pour(part, draw_frame, line, mould, job, half):
    sense = 1.0 if half == "upper" else -1.0
    turn = np.diag([1.0, sense, sense])  # half a turn about x for the lower half
    level = turn @ draw_frame.rotation
    pitch_mm = directions.longest_mm(part) / ACROSS
    field = sample_level(part, level, pitch_mm)
    drawn = field if sense > 0 else sample_level(part, draw_frame.rotation, pitch_mm)
    centre = field.centre_mm(np.arange(field.n_x * field.n_y)) * (1.0, sense)
    # Where the other half reaches into a bowl there is no clay: silicone runs in.
    clay = sense * parting_over(drawn, line)[drawn.columns_at(centre)]
    roof = mould.high_mm[2] if half == "upper" else -mould.low_mm[2]
    space, open_top = void_above(field, clay, np.full(clay.size, float(roof)))
    caught = find_caught(space, open_top)
    found, small = find_pockets(space, caught, turn, 1000 * job.vent_min_air_ml)
    total_mm3 = float(caught[0].sum() * space.cell_mm2)
    tilt = (0.0, 0.0, total_mm3)
    if found:
        coarse = sample_level(part, draw_frame.rotation, max(part.check.extent_mm) / TILT_ACROSS)
        built = cutting_surface(coarse, line)
        filled = _with_clay(part, level, built, sense)
        poured = Poured(*filled, _inside(built, sense, float(roof)))
        tilt = best_tilt(poured, longest_mm=directions.longest_mm(part), total_mm3=total_mm3)
    return SiliconePour(
        half=half,
        up=tuple(float(v) for v in level[2]),
        caught=found,
        caught_mm3=total_mm3,
        n_small=small[0],
        small_mm3=small[1],
        tilt_deg=tilt[0],
        toward_deg=float((sense * tilt[1]) % 360),
        tilted_mm3=tilt[2],
    )


def sample_level(part, rotation, pitch_mm):
    """The columns of a part along the third axis of a turn."""
    return sample_view(part.vertices_mm, part.faces, part.cap_faces, rotation, pitch_mm=pitch_mm)


def find_caught(space, open_top):
    """Length of each interval of the space that keeps air, and where it starts."""
    escape = flood.escape_levels(
        space.first, space.bottom_mm, space.top_mm, space.column_of, space.n_x, open_top
    )
    # A space that nothing leads out of is closed all round: no silicone either.
    is_closed = np.isneginf(escape)
    low_mm = np.clip(escape, space.bottom_mm, space.top_mm)
    return np.where(is_closed, 0.0, space.top_mm - low_mm), low_mm


def find_pockets(space, caught, turn, min_mm3):
    """Pockets of caught air, largest first; number and volume of the small ones.

    `caught` is of `find_caught`; `turn` is none, or half a turn about x back to where
    the pockets are told.
    """
    caught_mm, low_mm = caught
    label, n = flood.label_joined(
        space.first, low_mm, space.top_mm, space.column_of, space.n_x, caught_mm > 0
    )
    members = np.flatnonzero(label >= 0)
    volume = np.bincount(label[members], weights=caught_mm[members], minlength=n) * space.cell_mm2
    found = []
    for k in np.argsort(-volume, kind="stable"):
        if volume[k] < min_mm3:
            break
        inside = members[label[members] == k]
        mask = np.zeros(space.n_x * space.n_y, dtype=bool)
        mask[space.column_of[inside]] = True
        ring = contours.rings(
            mask.reshape(space.n_y, space.n_x),
            x0_mm=space.u0_mm,
            y0_mm=space.v0_mm,
            pitch_mm=space.pitch_mm,
        )[0]
        highest = inside[np.argmax(space.top_mm[inside])]
        xy = space.centre_mm(space.column_of[[highest]])[0]
        place = np.array([*xy, space.top_mm[highest]]) @ turn
        found.append(
            CaughtAir(
                place_mm=tuple(float(v) for v in place),
                volume_mm3=float(volume[k]),
                area_mm2=float(mask.sum() * space.cell_mm2),
                height_mm=float((space.top_mm[inside] - low_mm[inside]).max()),
                ring_mm=columns.to_xy(ring) * (1.0, turn[1, 1]),
            )
        )
    is_small = volume < min_mm3
    return tuple(found), (int(is_small.sum()), float(volume[is_small].sum()))


@dataclass(frozen=True, eq=False)
class Poured:
    """What the silicone of one level pour flows round, and the inside of its box."""

    vertices_mm: np.ndarray  # (n, 3) of part and clay, one closed surface
    faces: np.ndarray  # (m, 3)
    box_mm: np.ndarray  # (3, 2) ends along x, y and z


def best_tilt(poured: Poured, *, longest_mm: float, total_mm3: float) -> tuple[float, float, float]:
    """(tilt, toward, caught) of the tilt that frees most; no tilt if none is worth it."""
    pitch_mm = longest_mm / TILT_ACROSS
    best = (0.0, 0.0, total_mm3)
    for tilt_deg in TILTS_DEG:
        for k in range(N_AZIMUTHS):
            toward_deg = k * 360 / N_AZIMUTHS
            lean = Stand("", LEVEL, tilt_deg, toward_deg).frame.rotation
            caught_mm3 = _caught_tilted(poured, lean, pitch_mm)
            # The smaller tilt unless the larger one frees clearly more.
            if caught_mm3 < best[2] - 0.02 * total_mm3:
                best = (tilt_deg, toward_deg, caught_mm3)
    return best if best[2] <= (1 - WORTH_FRACTION) * total_mm3 else (0.0, 0.0, total_mm3)


def _inside(built, sense, roof_mm):
    """Box that the silicone is poured into, level pour: (3, 2), ends along x, y and z [mm]."""
    heights = sense * built.heights_mm
    y = sense * built.y_mm[[0, -1]]
    under_mm = float(heights.min()) - CLAY_DEEP_MM
    return np.array([built.x_mm[[0, -1]], np.sort(y), (under_mm, roof_mm)])


def _with_clay(part, level, built, sense):
    """Part and clay in one closed surface of the level pour: vertices (n, 3) and faces.

    The clay is what lies under the parting as it is built: in bowls of the half
    that is poured there is none, in holes it ends at the plugs.
    """
    y, heights = built.y_mm, built.heights_mm
    if sense < 0:
        y, heights = -y[::-1], -heights[::-1]
    under_mm = float(heights.min()) - 2 * CLAY_DEEP_MM
    block = arrays_of(height_block(built.x_mm, y, heights, bottom_mm=under_mm))
    faces = np.concatenate([part.faces, part.cap_faces])
    return (
        np.concatenate([part.vertices_mm @ level.T, block[0]]),
        np.concatenate([faces, block[1] + len(part.vertices_mm)]).astype(np.int32),
    )


def _caught_tilted(poured, lean, pitch_mm):
    """Air caught at a tilt, by part and clay as one solid."""
    vertices_mm, faces, box = poured.vertices_mm, poured.faces, poured.box_mm
    field = sample_view(vertices_mm, faces, _NO_FACES, lean, pitch_mm=pitch_mm)
    xy = field.centre_mm(np.arange(field.n_x * field.n_y))
    floor, roof = _between_walls(xy, box, lean)
    space, open_top = void_above(field, floor, roof)
    return float(find_caught(space, open_top)[0].sum() * space.cell_mm2)


def _between_walls(xy_mm, box, lean):
    """Where each column of a tilted box comes in and where it leaves: (k,) each [mm]."""
    # A point of the tilted frame is at xy @ lean[:2] + z * lean[2] of the level one.
    start = xy_mm @ lean[:2]
    floor, roof = ((ends - start[:, 2]) / lean[2, 2] for ends in box[2])
    for k in range(2):
        if abs(lean[2, k]) < 1e-9:
            is_out = (start[:, k] < box[k, 0]) | (start[:, k] > box[k, 1])
            roof = np.where(is_out, floor, roof)
            continue
        ends = np.sort((box[k] - start[:, k : k + 1]) / lean[2, k], axis=1)
        floor, roof = np.maximum(floor, ends[:, 0]), np.minimum(roof, ends[:, 1])
    return floor, roof
