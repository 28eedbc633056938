"""Whether a part could be moulded in one open pour: lying on a flat back, nothing behind it.

The back lies on the base board, silicone is poured over the rest, and resin is later
poured into the open back. It needs no second half, no gate and no vents, and leaves
the face that shows untouched.
"""

from collections.abc import Iterator

import numpy as np
from scipy import ndimage

from castplan.columns import field as columns
from castplan.columns.gaps import find_gaps
from castplan.geometry import directions, frames
from castplan.geometry.boxes import ON_BOARD_MM
from castplan.job import Job
from castplan.memory import remembered
from castplan.part.health import noise_of
from castplan.part.records import Part
from castplan.part.study import Study
from castplan.record import record
from castplan.split.records import DEEP_RATIO, DrawResult, OpenBack
from castplan.split.undercuts import pull_halves

ACROSS = 192  # columns along the longest side
# The board must carry this much of what is seen of the part from below (assumed).
LEAST_SHARE = 0.5
# A hollow under the back that the board shuts comes out filled; up to this share of the
# part it is told, beyond it the part has no flat back (assumed).
MOST_HOLLOW = 0.02
SAME_COS = np.cos(np.radians(2.0))
SHOWN_COS = 0.5  # a back that looks within 60 degrees of the show face's way is the face itself


@record
class _Seen:
    """One side of the part as it would lie on the board."""

    direction: tuple[float, float, float]
    share: float
    height_ratio: float  # height over the lesser side of the footprint
    hollow_mm3: float
    trapped_mm3: float


def find_back(study: Study, draw: DrawResult) -> OpenBack | None:
    """The side that the part can lie on in an open mould; None without one.

    Parameters
    ----------
    study : Study
    draw : DrawResult
        Its candidates are tried both ways, and the part's largest flats.

    Returns
    -------
    OpenBack or None
        Of several one that is no deep slot, then the one that traps least, then the largest.
    """
    drawn = tuple(candidate.direction for candidate in draw.candidates)
    seen = _look_round(study.part, study.job, drawn)
    volume_mm3 = study.part.check.volume_mm3
    flat = [
        side
        for side in seen
        if side.share >= LEAST_SHARE and side.hollow_mm3 <= MOST_HOLLOW * volume_mm3
    ]
    if not flat:
        return None
    best = min(
        flat,
        key=lambda side: (
            side.height_ratio > DEEP_RATIO,
            round(max(side.trapped_mm3 - study.tie_mm3, 0.0), 1),
            -round(side.share, 2),
        ),
    )
    return OpenBack(
        direction=best.direction,
        back_fraction=best.share,
        height_ratio=best.height_ratio,
        hollow_ml=best.hollow_mm3 / 1000,
        trapped_ml=best.trapped_mm3 / 1000,
        is_free=best.trapped_mm3 <= study.tie_mm3,
    )


def shows_back(show, direction) -> bool:
    """Whether a flat back is the side that shows, the silicone leaving along a direction."""
    return bool(np.asarray(direction) @ frames.unit(show) < -SHOWN_COS)


@remembered
def _look_round(part: Part, job: Job, drawn: tuple) -> tuple[_Seen, ...]:
    """Every side that the part may lie on, its draws being these."""
    # A scan lies flat within twice its noise.
    flat_mm = max(ON_BOARD_MM, 2 * (noise_of(part) or 0.0))
    return tuple(_look(part, job, way, flat_mm=flat_mm) for way in _ways(part, job, drawn))


def _ways(part, job, drawn) -> Iterator[np.ndarray]:
    """Ways for the silicone to leave, the face that shows never on the board, each once."""
    ways = [np.asarray(direction) for direction in drawn]
    if job.draw is None:
        ways += [
            sign * np.asarray(way)
            for way in (*ways, *directions.main_normals(part, count=3))
            for sign in (1.0, -1.0)
        ]
    kept = []
    for way in ways:
        shown = job.show_face
        if shown is not None and shows_back(shown, way):
            continue
        if all(way @ other < SAME_COS for other in kept):
            kept.append(way)
            yield way


def _look(part, job, way, *, flat_mm):
    frame = frames.frame_along(way, frames.hull_points(part))
    pitch_mm = frames.view_pitch(part, job, frame, pitch_mm=directions.longest_mm(part) / ACROSS)
    field = columns.sample(
        part.vertices_mm, part.faces, part.cap_faces, frame.rotation, pitch_mm=pitch_mm
    )
    low_mm = float(field.low_mm[2])
    raised_mm = field.lowest_mm - low_mm  # inf beside the part
    is_part = np.isfinite(raised_mm)
    on_board = (raised_mm <= flat_mm).reshape(field.n_y, field.n_x)
    shut = ndimage.binary_fill_holes(on_board).ravel()
    hollow = shut & is_part & (raised_mm > flat_mm)
    share = float(on_board.sum() / max(is_part.sum(), 1))
    trapped_mm3 = np.inf
    if share >= LEAST_SHARE:  # of the others nobody asks
        built_mm = np.where(hollow, raised_mm + low_mm, low_mm)
        held = pull_halves(field, find_gaps(field), built_mm)
        trapped_mm3 = float((held.gaps.top_mm - held.gaps.bottom_mm).sum() * field.cell_mm2)
    size_mm = np.subtract(field.high_mm, field.low_mm)
    return _Seen(
        direction=tuple(float(v) for v in frame.up),
        share=share,
        height_ratio=float(size_mm[2] / min(size_mm[:2])),
        hollow_mm3=float(raised_mm[hollow].sum() * field.cell_mm2),
        trapped_mm3=trapped_mm3,
    )
