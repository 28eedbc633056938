"""Gate and vents from above at true size; how the cavity fills."""

import numpy as np
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Circle

from castplan.palette import AIR, GREY, INK, TRAPPED
from castplan.pictures import figure
from castplan.texts import say
from castplan.words import air as air_view
from castplan.words import formats

_EDGE_MM = 10.0  # round the box
_LEFT_MM, _RIGHT_MM, _ABOVE_MM, _BELOW_MM = 20.0, 8.0, 18.0, 40.0  # for words
_LEAST_MM = 120.0  # width that title and legend need
_CROSS_MM = 3.0  # beyond the edge of an opening


def draw_vents(plan, ax=None) -> Axes:
    """Gate and vents where they leave the box, from above as it stands for the resin.

    Parameters
    ----------
    plan : Planned or Plan
    ax : matplotlib Axes or Figure, optional
        A figure gets the size at which a millimetre of the mould is one on paper.

    Returns
    -------
    Axes
        In mm from the lower left corner of the box, as the openings are measured.
    """
    datum_mm = np.array(plan.mould.datum_mm)
    box = plan.mould.box_view_mm - datum_mm
    low, high = box.min(axis=0) - _EDGE_MM, box.max(axis=0) + _EDGE_MM
    high[0] = max(high[0], low[0] + _LEAST_MM)
    if not isinstance(ax, Axes):
        ax = _true_axes(ax, *(high - low))
    ax.set_aspect("equal")
    ax.set(xlim=(low[0], high[0]), ylim=(low[1], high[1]))
    sketch = next((one for one in plan.sketches if one.name == "pour"), None)
    if sketch is not None and sketch.outline:
        figure.part(ax, sketch, datum_mm)
    figure.outline(ax, box)
    numbers = figure.Numbers(ax)
    for port, path_mm in air_view.port_ways(plan):
        way = air_view.as_it_rests(plan, path_mm)[::-1, :2] - datum_mm
        _draw_opening(ax, port, way)
        numbers.put(way[0], port.label, colour=TRAPPED if port.is_blocked else AIR, is_beside=True)
    figure.put_title(ax, plan, say("picture.vents"))
    figure.label_axes(ax, across=say("picture.from_corner"), up=say("picture.up_from_corner"))
    named = [
        say(
            f"picture.{port.kind}",
            label=port.label,
            bore=formats.length_text(port.diameter_mm, error_mm=0.1),
            cup=formats.length_text(port.cup_mm, error_mm=0.1),
        )
        for port in plan.mould.ports
    ]
    blank = [Line2D([], [], linestyle="none", label=text) for text in named]
    part = [handle for handle in ax.get_legend_handles_labels()[0]]
    figure.put_legend(ax, columns=2, handles=[*part, *blank])
    return ax


def _true_axes(target, width_mm, height_mm):
    """Axes that are so large on paper, in a figure with room for words round them."""
    wide_mm, high_mm = width_mm + _LEFT_MM + _RIGHT_MM, height_mm + _ABOVE_MM + _BELOW_MM
    sheet = figure.sized_figure(target, width_mm=wide_mm, height_mm=high_mm)
    place = _LEFT_MM / wide_mm, _BELOW_MM / high_mm, width_mm / wide_mm, height_mm / high_mm
    return sheet.add_axes(place)


def _draw_opening(ax, port, way):
    """The mouth with its cross, the cup over it, and the way down where that leans."""
    colour, radius_mm = TRAPPED if port.is_blocked else INK, port.diameter_mm / 2
    if np.hypot(*(way[-1] - way[0])) > radius_mm:
        ax.plot(*way.T, color=AIR, linewidth=figure.WIDE_PT, linestyle=figure.DOTTED)
    ring = {"edgecolor": colour, "linewidth": figure.WIDE_PT, "zorder": 4}
    ax.add_patch(Circle(way[0], radius_mm, facecolor="white", **ring))
    if port.cup_mm:
        cup = {"fill": False, "edgecolor": GREY, "linestyle": figure.HIDDEN}
        ax.add_patch(Circle(way[0], port.cup_mm / 2, **cup))
    reach_mm = radius_mm + _CROSS_MM
    for step in np.array([(reach_mm, 0.0), (0.0, reach_mm)]):
        ends = np.array([way[0] - step, way[0] + step])
        ax.plot(*ends.T, color=AIR, linewidth=figure.NARROW_PT, zorder=5)
    if port.is_blocked:
        slant = radius_mm * np.sqrt(0.5)
        ends = np.array([way[0] - slant, way[0] + slant])
        ax.plot(*ends.T, color=colour, linewidth=figure.WIDE_PT, zorder=5)


def draw_fill(plan, ax=None) -> Axes:
    """How much resin is in the cavity at each level, and how much air it has caught.

    Parameters
    ----------
    plan : Planned or Plan
    ax : matplotlib Axes or Figure, optional

    Returns
    -------
    Axes
        Across the level in mm above the part's lowest point, up in ml.
    """
    ax = figure.axes_of(ax, width_mm=170.0, height_mm=120.0)
    frames, cavity_ml = plan.fill.frames, plan.fill.cavity_ml
    levels_mm = [frame.level_mm for frame in frames]
    ax.plot(
        levels_mm,
        [frame.filled_ml for frame in frames],
        color=AIR,
        linewidth=figure.WIDE_PT,
        marker="o",
        markersize=4,
        label=say("picture.resin"),
    )
    ax.plot(
        levels_mm,
        [frame.caught_ml for frame in frames],
        color=TRAPPED,
        linewidth=figure.WIDE_PT,
        linestyle=figure.DOTTED,
        marker="s",
        markersize=4,
        label=say("picture.air_trapped"),
        clip_on=False,
    )
    ax.axhline(
        cavity_ml,
        color=GREY,
        linewidth=figure.NARROW_PT,
        linestyle=figure.HIDDEN,
        label=say("picture.cavity", volume=f"{cavity_ml:.3g}"),
    )
    ax.set_xlim(left=0.0)
    ax.set_ylim(bottom=0.0)
    figure.put_title(ax, plan, say("picture.fill"))
    figure.label_axes(ax, across=say("picture.level"), up=say("picture.volume_ml"))
    figure.put_legend(ax, columns=2)
    return ax
