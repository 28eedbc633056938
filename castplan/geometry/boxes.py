"""The inside of the box: allowances round the part, sides up to the step."""

import numpy as np

from castplan.geometry import frames
from castplan.job import Job

# A side may come out this much short of what was asked before it grows by a whole step:
# less than boards are cut to, more than files round by (assumed).
SHORT_MM = 0.02
# What lies this close over the base board lies on it (assumed: tape is as thick).
ON_BOARD_MM = 0.1


def box_inside(low_mm, high_mm, job: Job) -> tuple[np.ndarray, np.ndarray]:
    """Corners of the box's inside round a part, draw frame.

    Parameters
    ----------
    low_mm, high_mm : (3,) array_like
        Bounds of the part in the draw frame.
    job : Job
        Silicone beside, over and under the part.

    Returns
    -------
    low_mm, high_mm : (3,) float64
        Every side is a whole number of steps; what that adds goes half to
        each side, in height all on top.
    """
    low, high = np.asarray(low_mm, dtype=float), np.asarray(high_mm, dtype=float)
    wall_mm = frames.wall_for(job, longest_mm=float((high - low).max()))
    box_low = low - np.array([wall_mm, wall_mm, job.floor_mm])
    box_high = high + np.array([wall_mm, wall_mm, job.over_mm])
    return up_to_step(box_low, box_high, step_mm=job.box_step_mm)


def up_to_step(low_mm, high_mm, *, step_mm: float) -> tuple[np.ndarray, np.ndarray]:
    """The same box with sides grown to whole steps, `SHORT_MM` allowed, (3,) and (3,)."""
    box_low, box_high = np.array(low_mm, dtype=float), np.array(high_mm, dtype=float)
    size = box_high - box_low
    grow = steps_up(size, step_mm=step_mm) - size
    box_low[:2] -= 0.5 * grow[:2]
    box_high[:2] += 0.5 * grow[:2]
    box_high[2] += grow[2]
    return box_low, box_high


def steps_up(size_mm, *, step_mm: float):
    """Lengths grown to whole steps: a whole number, a little exceeded, stays what it is."""
    slack_mm = min(SHORT_MM, 0.1 * step_mm)
    return np.ceil((np.asarray(size_mm) - slack_mm) / step_mm) * step_mm
