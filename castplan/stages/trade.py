"""Whole combinations of draw and attitude, by what they cost the shop."""

import numpy as np

from castplan.mesh import boxes, frames
from castplan.model import Combination, DrawResult, Frame, Job, Part, TradeResult

N_LISTED = 6


def rank_combinations(part: Part, draw: DrawResult, job: Job, *, stand, chosen) -> TradeResult:
    """Pair the best draws with their best attitudes and rank the pairs.

    What the draw costs by itself (rubber to free, line, seam, silicone), what
    the attitude does (vents, tilt, cradle, show face), and the air that stays.

    Parameters
    ----------
    part : Part
    draw : DrawResult
        Its candidates are the draws to pair.
    job : Job
    stand : callable
        ``stand(frame, box_mm)`` gives the `AttitudeOption` list of a draw frame.
    chosen : AttitudeOption
        The plan's own attitude, which marks the plan's own combination.

    Returns
    -------
    TradeResult
    """
    weights = job.air_weights
    hull_mm = frames.hull_points(part)
    found = []
    for candidate in draw.candidates:
        is_own = np.allclose(candidate.direction, draw.direction)
        frame = draw.frame if is_own else frames.frame_along(candidate.direction, hull_mm)
        for option in stand(frame, _box_mm(part, frame, job)):
            left_mm3 = option.small_mm3
            if option.n_vents > job.max_vents:
                left_mm3 += option.left_mm3
            air_min = left_mm3 / 1000 * weights.left_min_per_ml
            found.append(
                Combination(
                    draw=candidate.direction,
                    up=option.up,
                    rest=option.rest,
                    tilt_deg=option.tilt_deg,
                    n_vents=option.n_vents,
                    silicone_ml=candidate.silicone_ml,
                    draw_min=candidate.cost_min,
                    stand_min=option.cost_min - air_min,
                    air_min=air_min,
                    cost_min=candidate.cost_min + option.cost_min,
                    is_chosen=bool(is_own and np.allclose(option.up, chosen.up, atol=1e-6)),
                )
            )
    found.sort(key=lambda pair: (round(pair.cost_min, 6), not pair.is_chosen))
    listed = found[:N_LISTED]
    listed += [pair for pair in found[N_LISTED:] if pair.is_chosen]
    return TradeResult(combinations=tuple(listed))


def _box_mm(part, frame: Frame, job):
    points = frame.to_frame(part.vertices_mm)
    low, high = boxes.box_inside(points.min(axis=0), points.max(axis=0), job)
    return high - low
