"""Sides of the part by what is seen there, the file's axes in brackets after it."""

from contextlib import contextmanager
from contextvars import ContextVar

import numpy as np

from castplan.materials.wording import axis_text
from castplan.plan_record import Plan
from castplan.texts import say

# A side is named for a direction that leans no more than this from it.
_COS = np.cos(np.radians(20.0))
_AXIS_COS = np.cos(np.radians(2.0))


_BARE = ContextVar("bare", default=False)


@contextmanager
def bare_sides():
    """Leave the file's axes out of all that is said inside the ``with`` block.

    Nobody has the file at the bench; of two sides that look alike they stay.
    """
    token = _BARE.set(True)
    try:
        yield
    finally:
        _BARE.reset(token)


def side_words(plan: Plan, direction: tuple[float, float, float]) -> str:
    """``the flat back (the file's -z)``; the axes alone where no side looks that way."""
    axis, face = str(axis_text(direction, of_box=plan.nest is not None)), _face(plan, direction)
    if face is None:
        return axis
    way = np.asarray(direction, dtype=float)
    if _BARE.get() and face.which.key != "face.alike":
        return str(face.name)
    # Slanted axes help nobody find a side.
    if np.abs(way).max() < _AXIS_COS * np.linalg.norm(way):
        return str(face.name)
    return say("plan.side", name=face.name, axis=axis)


def which_words(plan: Plan, direction: tuple[float, float, float]) -> str:
    """How to tell that side from one that looks like it; empty where none does."""
    face = _face(plan, direction)
    return "" if face is None else str(face.which)


def _face(plan, direction):
    """The side that looks that way; None where none does, or where sides name nothing."""
    if plan.nest is not None:  # sides of one part name none of several
        return None
    face = plan.faces.towards(direction)
    way = np.asarray(direction, dtype=float)
    leans = way @ np.asarray(face.direction) < _COS * np.linalg.norm(way)
    return None if leans else face
