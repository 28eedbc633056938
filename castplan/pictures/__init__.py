"""A plan's pictures by matplotlib: one function a picture, each returning its Axes.

Every function takes a plan and, if wanted, where to draw: Axes, or a Figure, which then
gets the picture's size. Without, pyplot makes a new figure, as a notebook shows it.

from castplan import pictures
ax = pictures.draw_split(plan)
ax.set_title("For the customer")
"""

import functools
import importlib

# Where each picture stands; imported when first asked for, as matplotlib takes a while.
_ROOMS = {
    "split": "parting",
    "heights": "parting",
    "directions": "maps",
    "positions": "maps",
    "vents": "air",
    "fill": "air",
    "times": "bench",
    "sizes": "bench",
}
NAMES = tuple(_ROOMS)
# Of a step: its name behind this. Which a plan has is asked of `step_pictures`.
STEP = "step_"

__all__ = [
    "NAMES",
    "draw_directions",
    "draw_fill",
    "draw_heights",
    "draw_positions",
    "draw_sizes",
    "draw_split",
    "draw_times",
    "draw_vents",
]


def __getattr__(name):
    if name.startswith(f"draw_{STEP}"):
        steps = importlib.import_module("castplan.pictures.steps")
        return functools.partial(steps.draw_step, name=name.removeprefix(f"draw_{STEP}"))
    room = _ROOMS.get(name.removeprefix("draw_"))
    if room is None or not name.startswith("draw_"):
        raise AttributeError(f"module 'castplan.pictures' has no attribute {name!r}")
    return getattr(importlib.import_module(f"castplan.pictures.{room}"), name)


def __dir__():
    return sorted({*globals(), *__all__})
