"""A cup on the scale: what is weighed for silicone and for resin."""

import numpy as np

from castplan.step_pictures import bodies, marks
from castplan.step_pictures.bench import Act, Bench, arrow_down, beside
from castplan.step_pictures.thing import Thing, plain

_SCALE_MM, _SCALE_HIGH_MM, _PLATE_MM = (86.0, 86.0), 14.0, 66.0
_CUP_MM, _CUP_HIGH_MM, _WALL_MM = 46.0, 56.0, 2.0
_FULL = 0.45
_ASIDE_MM = 11.0


def weigh_first(bench: Bench) -> Act:
    """Silicone of the first half, or of the only one."""
    return _weigh("weigh_first", "upper" if bench.block.is_one_pour else bench.order[0])


def weigh_second(bench: Bench) -> Act:
    """Silicone of the second half."""
    return _weigh("weigh_second", bench.order[1])


def mix(bench: Bench) -> Act:
    """Resin for one casting."""
    return _weigh("mix", "resin")


def _weigh(name, material):
    """A goes into the cup first, then B."""
    half = np.array(_SCALE_MM) / 2
    foot = _SCALE_HIGH_MM + 3.0
    top, level = foot + _CUP_HIGH_MM, foot + _FULL * _CUP_HIGH_MM
    axis = np.array([[0, 0, 1.0]])
    cup = {
        "outer": bodies.rod([foot * axis[0], top * axis[0]], diameter_mm=_CUP_MM),
        "inner": bodies.rod(
            [(foot + _WALL_MM) * axis[0], (top + 1) * axis[0]], diameter_mm=_CUP_MM - 2 * _WALL_MM
        ),
        "mix": bodies.rod(
            [(foot + _WALL_MM) * axis[0], level * axis[0]], diameter_mm=_CUP_MM - 2 * _WALL_MM
        ),
        "saw": bodies.box((-99, -99, -99), (99, -0.1, 99)),
    }

    def made(inside):
        if "saw" in inside:
            return ""
        if "mix" in inside:
            return material
        return "tool" if "outer" in inside and "inner" not in inside else ""

    plate = bodies.rod([(_SCALE_HIGH_MM - 1) * axis[0], foot * axis[0]], diameter_mm=_PLATE_MM)
    things = (
        plain(bodies.box((*-half, 0.0), (*half, _SCALE_HIGH_MM)), "board"),
        plain(plate, "tool"),
        Thing(cup, made, new=(material,)),
    )
    drawn = []
    for side, part in ((-1, "A"), (1, "B")):
        place = np.array([side * _ASIDE_MM, 0.0, top + 4.0])
        drawn.append(arrow_down(place, long_mm=26.0))
        drawn.append(marks.Letters({part: beside(place, z=18.0)}, lean=(side, 0.0)))
    return Act(name, things, tuple(drawn))
