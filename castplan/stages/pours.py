"""Air that the silicone leaves under the part, half by half, and the tilt that frees it."""

import numpy as np

from castplan.columns import contours, flood, surface
from castplan.columns import field as columns
from castplan.columns.views import sample_view
from castplan.columns.voids import void_above
from castplan.mesh import directions
from castplan.mesh.shutoff import parting_over
from castplan.mesh.stands import Stand
from castplan.model import (
    CaughtAir,
    Frame,
    Job,
    MouldResult,
    Part,
    PartingLine,
    PoursResult,
    SiliconePour,
)
from castplan.model.memory import remembered

ACROSS = 256  # columns along the longest side for the pours as they stand
TILT_ACROSS = 128  # and for the tilts
TILTS_DEG = (15.0, 30.0)
N_AZIMUTHS = 8
# Steps down to the clay of a tilted box, and how near is near enough.
MAX_STEPS, CLAY_MM = 24, 0.05
# A tilt is worth the trouble when it frees this share.
WORTH_FRACTION = 0.5
LEVEL = Frame(rotation=np.eye(3))


@remembered
def find_pours(
    part: Part, draw_frame: Frame, line: PartingLine, mould: MouldResult, job: Job
) -> PoursResult:
    """Pour the upper half over the part in its clay, then the lower one upside down.

    The same merge of roofs as in the cavity, on the space round the part:
    silicone rises from the clay, air leaves through the open top of the box.
    What lies under an overhang above its rim is caught.

    Parameters
    ----------
    part : Part
    draw_frame : Frame
    line : PartingLine
        The clay's surface.
    mould : MouldResult
        The box.
    job : Job

    Returns
    -------
    PoursResult
        A half without silicone is left out.
    """
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
    field = _sample(part, level, pitch_mm)
    drawn = field if sense > 0 else _sample(part, draw_frame.rotation, pitch_mm)
    centre = field.centre_mm(np.arange(field.n_x * field.n_y)) * (1.0, sense)
    # Where the other half reaches into a bowl there is no clay: silicone runs in.
    clay = sense * parting_over(drawn, line)[drawn.columns_at(centre)]
    roof = mould.high_mm[2] if half == "upper" else -mould.low_mm[2]
    space, open_top = void_above(field, clay, np.full(clay.size, float(roof)))
    caught_mm, low_mm = _caught(space, open_top)
    found, small = _pockets(space, caught_mm, low_mm, turn, 1000 * job.vent_min_air_ml)
    total_mm3 = float(caught_mm.sum() * space.cell_mm2)
    tilt = (0.0, 0.0, total_mm3)
    if found:
        tilt = _best_tilt(part, level, line, float(roof), sense, total_mm3)
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


def _sample(part, rotation, pitch_mm):
    return sample_view(part.vertices_mm, part.faces, part.cap_faces, rotation, pitch_mm=pitch_mm)


def _caught(space, open_top):
    """Length of each interval of the space that keeps air, and where it starts."""
    escape = flood.escape_levels(
        space.first, space.bottom_mm, space.top_mm, space.column_of, space.n_x, open_top
    )
    # A space that nothing leads out of is closed all round: no silicone either.
    is_closed = np.isneginf(escape)
    low_mm = np.clip(escape, space.bottom_mm, space.top_mm)
    return np.where(is_closed, 0.0, space.top_mm - low_mm), low_mm


def _pockets(space, caught_mm, low_mm, turn, min_mm3):
    """Pockets of caught air, largest first; number and volume of the small ones."""
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


def _best_tilt(part, level, line, roof_mm, sense, total_mm3):
    """(tilt, toward, caught) of the tilt that frees most; no tilt if none is worth it."""
    pitch_mm = directions.longest_mm(part) / TILT_ACROSS
    best = (0.0, 0.0, total_mm3)
    for tilt_deg in TILTS_DEG:
        for k in range(N_AZIMUTHS):
            toward_deg = k * 360 / N_AZIMUTHS
            lean = Stand("", LEVEL, tilt_deg, toward_deg).frame.rotation
            caught_mm3 = _caught_tilted(part, level, lean, line.surface, sense, roof_mm, pitch_mm)
            # The smaller tilt unless the larger one frees clearly more.
            if caught_mm3 < best[2] - 0.02 * total_mm3:
                best = (tilt_deg, toward_deg, caught_mm3)
    return best if best[2] <= (1 - WORTH_FRACTION) * total_mm3 else (0.0, 0.0, total_mm3)


def _caught_tilted(part, level, lean, sheet, sense, roof_mm, pitch_mm):
    """Air caught at a tilt."""
    field = _sample(part, lean @ level, pitch_mm)
    xy = field.centre_mm(np.arange(field.n_x * field.n_y))
    # Height over the board at (x, y, z) of the tilted frame is along the third column.
    bed = lean[:, 2]
    at_zero = xy @ bed[:2]
    floor, roof = clay_at_tilt(sheet, xy, lean, sense=sense), (roof_mm - at_zero) / bed[2]
    space, open_top = void_above(field, np.minimum(floor, roof), roof)
    return float(_caught(space, open_top)[0].sum() * space.cell_mm2)


def clay_at_tilt(sheet, xy_mm, lean, *, sense: float) -> np.ndarray:
    """Height of the clay in each column of a tilted box, tilted frame, (k,) [mm].

    Down each column from above the clay's highest level, in steps that the
    steepest clay cannot be passed by: the highest crossing is found.

    Parameters
    ----------
    sheet : PartingSurface
        The clay, draw frame.
    xy_mm : (k, 2)
        Columns of the tilted frame.
    lean : (3, 3)
        Rows are the tilted frame in that of the level pour.
    sense : float
        1 with the upper half up, -1 turned over by half a turn about x.
    """
    heights = sense * sheet.heights_mm
    bed = lean[:, 2]
    z = (float(heights.max()) - xy_mm @ bed[:2]) / bed[2]
    if np.ptp(heights) < 1e-9:
        return z
    steep = max(
        float(np.abs(np.diff(heights, axis=axis)).max(initial=0.0)) / step_mm
        for axis, step_mm in ((0, sheet.step_y_mm), (1, sheet.step_x_mm))
    )
    pace = bed[2] + np.sqrt(2) * steep * float(np.hypot(*lean[2, :2]))
    for _ in range(MAX_STEPS):
        points = np.column_stack([xy_mm, z]) @ lean
        ground = sense * surface.read(
            sheet.x_mm, sheet.y_mm, sheet.heights_mm, points[:, :2] * (1.0, sense)
        )
        over = np.maximum(points[:, 2] - ground, 0.0)
        z -= over / pace
        if over.max() < CLAY_MM:
            break
    return z
