"""Sides of the part by what is seen there, the file's axes in brackets after it."""

import numpy as np

from castplan.materials.wording import axis_text
from castplan.plan_record import Plan
from castplan.texts import say

# A side is named for a direction that leans no more than this from it.
_COS = np.cos(np.radians(20.0))
_AXIS_COS = np.cos(np.radians(2.0))


def side_words(plan: Plan, direction: tuple[float, float, float]) -> str:
    """``the flat back (the file's -z)``; the axes alone where no side looks that way."""
    axis = str(axis_text(direction, of_box=plan.nest is not None))
    if plan.nest is not None:  # sides of one part name none of several
        return axis
    face = plan.faces.towards(direction)
    way = np.asarray(direction, dtype=float)
    if way @ np.asarray(face.direction) < _COS * np.linalg.norm(way):
        return axis
    # Slanted axes help nobody find a side.
    if np.abs(way).max() < _AXIS_COS * np.linalg.norm(way):
        return str(face.name)
    return say("plan.side", name=face.name, axis=axis)
