"""Gate and vents from above at true size; how the cavity fills."""

import textwrap

import numpy as np
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Circle

from castplan import units
from castplan.palette import AIR, GREY, INK, TRAPPED
from castplan.pictures import figure
from castplan.texts import say
from castplan.words import air as air_view
from castplan.words import formats

_EDGE_MM = 10.0  # round the box
_LEFT_MM, _RIGHT_MM, _ABOVE_MM = 20.0, 8.0, 18.0  # for words
_LEAST_MM = np.array([120.0, 60.0])  # across and up, that title, legend and labels need
_KEY_MM, _LETTER_MM = 18.0, 2.2  # of the legend: before its text, and a letter of it
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
    datum_mm = np.array(plan.mould.block.datum_mm)
    box = plan.mould.block.box_view_mm - datum_mm
    ways = [
        (port, air_view.as_it_rests(plan, path_mm)[::-1, :2] - datum_mm)
        for port, path_mm in air_view.port_ways(plan)
    ]
    corners = [box]
    for port, way in ways:
        reach_mm = max(port.cup_mm, port.diameter_mm) / 2
        corners += [way[:1] - reach_mm, way[:1] + reach_mm]
    low = np.concatenate(corners).min(axis=0) - _EDGE_MM
    high = np.concatenate(corners).max(axis=0) + _EDGE_MM
    high = np.maximum(high, low + _LEAST_MM)
    told = _told_openings(plan.mould.block.ports, room_mm=high[0] - low[0])
    is_true = not isinstance(ax, Axes)
    if is_true:
        n_lines = 1 + sum(1 + text.count("\n") for text in told)
        below_mm = figure.TICKS_MM + n_lines * figure.LEGEND_LINE_MM + 3.0
        ax = _true_axes(ax, *(high - low), below_mm=below_mm)
    ax.set_aspect("equal")
    ax.set(xlim=(low[0], high[0]), ylim=(low[1], high[1]))
    sketch = next((one for one in plan.sketches if one.name == "pour"), None)
    if sketch is not None and sketch.outline:
        figure.part(ax, sketch, datum_mm)
    figure.outline(ax, box)
    for port, way in ways:
        _draw_opening(ax, port, way)
    shown = say("picture.vents_at_true_size") if is_true else say("picture.vents")
    figure.put_title(ax, plan, shown)
    figure.label_axes(ax, across=say("picture.from_corner"), up=say("picture.up_from_corner"))
    handles = ax.get_legend_handles_labels()[0]
    handles += [Line2D([], [], linestyle="none", label=text) for text in told]
    figure.put_legend(ax, columns=1, handles=handles)
    numbers = figure.Numbers(ax)
    for port, way in ways:
        numbers.keep_off(way[0], radius=port.diameter_mm / 2)
    for port, way in ways:
        numbers.put(way[0], port.label, colour=TRAPPED if port.is_blocked else AIR, size=0.0)
    return ax


def _told_openings(ports, *, room_mm):
    """Bore and cup of each sort of opening, after the letters of those that have them."""
    alike = {}
    for port in ports:
        alike.setdefault((port.kind, port.diameter_mm, port.cup_mm), []).append(port.label)
    told = []
    for (kind, bore_mm, cup_mm), labels in alike.items():
        bore, cup = (formats.length_text(size_mm, error_mm=0.1) for size_mm in (bore_mm, cup_mm))
        text = say(f"picture.{kind}", labels=", ".join(labels), bore=bore, cup=cup)
        told.append(textwrap.fill(text, int((room_mm - _KEY_MM) / _LETTER_MM)))
    return told


def _true_axes(target, width_mm, height_mm, *, below_mm):
    """Axes that are so large on paper, in a figure with room for words round them."""
    wide_mm, high_mm = width_mm + _LEFT_MM + _RIGHT_MM, height_mm + _ABOVE_MM + below_mm
    sheet = figure.sized_figure(target, width_mm=wide_mm, height_mm=high_mm)
    place = _LEFT_MM / wide_mm, below_mm / high_mm, width_mm / wide_mm, height_mm / high_mm
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
    frames, cavity_ml = plan.mould.fill.frames, plan.mould.fill.cavity_ml
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
        label=say("picture.cavity", volume=units.digits(cavity_ml, 3)),
    )
    ax.set_xlim(left=0.0)
    ax.set_ylim(bottom=0.0)
    figure.put_title(ax, plan, say("picture.fill"))
    figure.label_axes(ax, across=say("picture.level"), up=say("picture.volume_ml"))
    figure.put_legend(ax, columns=2)
    return ax
