"""Part with parting line and undercuts; trapped silicone against the height of the parting."""

import numpy as np
from matplotlib.axes import Axes

from castplan.palette import INK, LOWER, TRAPPED, UPPER
from castplan.pictures import figure
from castplan.texts import say
from castplan.units import ml_from_mm3
from castplan.words import bed as bed_view
from castplan.words import formats

_ROOM = 0.03  # round the box, as a share of its longer side
_WIDTH_MM = 170.0
_WORDS_MM = 52.0  # title, ticks and legend, above and below
_SIDE_MM = 25.0  # ticks and their label, beside


def draw_split(plan, ax=None) -> Axes:
    """Part in its box from the front, with both halves, parting line and undercuts.

    Parameters
    ----------
    plan : Planned or Plan
    ax : matplotlib Axes or Figure, optional

    Returns
    -------
    Axes
        In mm from the lower left corner of the box's inside, seen from the front.
    """
    low = np.array([plan.mould.block.low_mm[0], plan.mould.block.low_mm[2]])
    size = np.array([plan.mould.block.high_mm[0], plan.mould.block.high_mm[2]]) - low
    room = _ROOM * size.max()
    shape = (size[1] + 2 * room) / (size[0] + 2 * room)
    high_mm = float(np.clip((_WIDTH_MM - _SIDE_MM) * shape, 50.0, 180.0))
    ax = figure.axes_of(ax, width_mm=_WIDTH_MM, height_mm=high_mm + _WORDS_MM)
    ax.set_aspect("equal")
    ax.set(xlim=(-room, size[0] + room), ylim=(-room, size[1] + room))
    wall = _wall(plan, low, size)
    named = {"lower": "sketch.silicone_lower_half", "upper": "sketch.silicone_upper_half"}
    if plan.split.is_cut:
        named = {"lower": "cut.half_lower", "upper": "cut.half_upper"}
    for height_mm, colour, half in ((0.0, LOWER, "lower"), (size[1], UPPER, "upper")):
        ring = np.vstack([wall, (size[0], height_mm), (0.0, height_mm)])
        if np.ptp(ring[:, 1]) > 0:
            figure.area(ax, [ring], colour, label=say(named[half]))
    sketch = next((one for one in plan.sketches if one.name == "front"), None)
    pockets = {}
    if sketch is not None and sketch.outline:
        figure.part(ax, sketch, low)
        for number, ring in sketch.pockets:
            pockets.setdefault(number, []).append(ring - low)
    _draw_pockets(ax, plan, pockets)
    figure.outline(ax, np.array([(0, 0), (size[0], 0), size, (0, size[1])]))
    if plan.split.line.kind != "level":
        for k, rim in enumerate(plan.split.line.outlines):
            ring = np.column_stack([rim.points_mm[:, 0], rim.line_mm]) - low
            label = "" if k else say("picture.parting_line_on_part")
            ring = np.vstack([ring, ring[:1]])
            ax.plot(*ring.T, color=LOWER, linewidth=figure.WIDE_PT, label=label)
    ax.plot(
        *wall.T,
        color=INK,
        linewidth=figure.MIDDLE_PT,
        linestyle=figure.PARTING,
        label=say("picture.parting_at_the_wall"),
    )
    figure.put_title(ax, plan, say("picture.split"))
    figure.label_axes(ax, across=say("picture.from_corner"), up=say("picture.above_floor"))
    figure.put_legend(ax, columns=2)
    numbers = figure.Numbers(ax)
    for number, rings in pockets.items():
        largest = max(rings, key=lambda ring: float(np.ptp(ring, axis=0).sum()))
        middle = (largest.min(axis=0) + largest.max(axis=0)) / 2
        size = float(np.ptp(largest, axis=0).min())
        numbers.put(middle, str(number), colour=TRAPPED, shape="square", size=size)
    return ax


def _wall(plan, low, size):
    """The parting on the wall towards the eye, from the corner of the box, (k, 2)."""
    surface = plan.split.line.surface
    line = np.column_stack([surface.x_mm, surface.heights_mm[0]]) - low
    return np.clip(line, 0.0, size)


def _draw_pockets(ax, plan, pockets):
    trapped = formats.trapped_plain(plan.split.line.trapped_mm3)
    label = say("picture.trapped_silicone", volume=trapped)
    for rings in pockets.values():
        figure.area(ax, rings, TRAPPED, label=label).set_zorder(1.5)  # over the part
        for ring in rings:
            figure.outline(ax, ring, colour=TRAPPED, width_pt=figure.NARROW_PT)
        label = ""


def draw_heights(plan, ax=None) -> Axes:
    """What a flat parting would trap, against its height.

    Parameters
    ----------
    plan : Planned or Plan
    ax : matplotlib Axes or Figure, optional

    Returns
    -------
    Axes
        Across in ml, up in mm above the floor of the box.
    """
    ax = figure.axes_of(ax, width_mm=_WIDTH_MM, height_mm=130.0)
    parting, floor_mm = plan.split.parting, plan.mould.block.low_mm[2]
    heights_mm = parting.heights_mm - floor_mm
    trapped_ml = ml_from_mm3(parting.trapped_mm3)
    most_ml = max(float(trapped_ml.max()), 0.01)
    if len(heights_mm) > 1:
        ends = [(0.0, heights_mm[-1]), (0.0, heights_mm[0])]
        ring = np.vstack([np.column_stack([trapped_ml, heights_mm]), ends])
        figure.area(ax, [ring], TRAPPED)
    ax.plot(
        trapped_ml,
        heights_mm,
        color=TRAPPED,
        linewidth=figure.WIDE_PT,
        label=say("picture.trapped_by_flat"),
    )
    best = formats.trapped_plain(parting.trapped_at_mm3)
    free = (parting.free_low_mm - floor_mm, parting.free_high_mm - floor_mm)
    ax.plot(
        np.full(2, ml_from_mm3(parting.trapped_at_mm3)),
        free,
        color=INK,
        linewidth=3 * figure.WIDE_PT,
        solid_capstyle="butt",
        zorder=3,
        label=say("picture.as_good", volume=best),
        clip_on=False,
    )
    is_level = plan.split.line.kind == "level"
    height_mm = bed_view.split_height_mm(plan) if is_level else parting.height_mm - floor_mm
    ax.axhline(
        height_mm,
        color=INK,
        linewidth=figure.MIDDLE_PT,
        linestyle=figure.PARTING,
        label=say("picture.parting_built") if is_level else say("picture.best_flat_parting"),
    )
    ax.set(xlim=(0.0, 1.05 * most_ml), ylim=(0.0, plan.mould.block.high_mm[2] - floor_mm))
    figure.put_title(ax, plan, say("picture.heights"))
    figure.label_axes(ax, across=say("picture.trapped_ml"), up=say("picture.above_floor"))
    figure.put_legend(ax, columns=1)
    return ax
