"""Sides of the part as a person finds them, the file's axes behind them."""

from castplan.part.faces import face_towards
from castplan.plan_record import Plan
from castplan.texts import say
from castplan.words import plan as view


def side_words(plan: Plan, direction) -> str:
    """``the flat back (the file's -z)``, for a direction of the part frame.

    Parameters
    ----------
    plan : Plan
    direction : (3,) array_like
    """
    face = face_towards(plan.part, plan.split.draw.frame, direction)
    axis = view.axis_words(tuple(float(value) for value in direction))
    return say("face.with_axis", face=face, axis=axis)
