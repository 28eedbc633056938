"""Whole combinations of draw and attitude, by what they cost the shop."""

import numpy as np

from castplan.mesh import boxes, frames
from castplan.model import Combination, DrawResult, Frame, Job, Part, TradeResult

N_LISTED = 6


def rank_combinations(part: Part, draw: DrawResult, job: Job, *, stand, chosen) -> TradeResult:
    """Pair the best draws with their best attitudes and rank the pairs.

    Minutes of handwork from the attitude (vents, tilt, cradle, show face),
    silicone as minutes, and as risk the rubber to flex out at every opening
    and the air that stays.

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
            trapped_ml = candidate.trapped_mm3 / 1000
            left_ml = option.left_mm3 / 1000 if option.n_vents > job.max_vents else 0.0
            air_min = left_ml * weights.left_min_per_ml
            handwork = option.cost_min - air_min
            silicone = candidate.silicone_ml * weights.silicone_min_per_ml
            risk = air_min + trapped_ml * weights.trapped_min_per_ml
            found.append(
                Combination(
                    draw=candidate.direction,
                    up=option.up,
                    rest=option.rest,
                    tilt_deg=option.tilt_deg,
                    n_vents=option.n_vents,
                    trapped_mm3=candidate.trapped_mm3,
                    silicone_ml=candidate.silicone_ml,
                    handwork_min=handwork,
                    silicone_min=silicone,
                    risk_min=risk,
                    cost_min=handwork + silicone + risk,
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
