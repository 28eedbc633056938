"""When hands are busy and what cures meanwhile; how large the casting comes out."""

import numpy as np
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.ticker import MaxNLocator

from castplan.palette import GREY, HAIR, INK, LOWER, UPPER
from castplan.pictures import figure
from castplan.texts import say
from castplan.texts.names import length_name
from castplan.words import shop as shop_view

_WIDTH_MM = 190.0
_WORDS_MM = 48.0  # title, ticks and legend
_HANDS, _WAIT = 0.62, 0.2  # heights of bars, in rows
_BAND = 0.24  # height of a tolerance, in rows
_OVER = 0.16  # of a row, from an interval up to its numbers
_MIN_PER_DAY = 24 * 60
_MOST_DAYS = 9  # more would write over each other
_LEAST_FRACTION = 0.004  # of the job's length that a bar is drawn at least


def draw_times(plan, ax=None) -> Axes:
    """When hands are busy, and what cures meanwhile: a row for a step, then one for a casting.

    Parameters
    ----------
    plan : Planned or Plan
    ax : matplotlib Axes or Figure, optional

    Returns
    -------
    Axes
        Across in hours from the start of the job; the first row on top, at 0.
    """
    rows = _rows(plan.bench.timeline.tasks)
    ax = figure.axes_of(ax, width_mm=_WIDTH_MM, height_mm=_WORDS_MM + 6.0 * max(len(rows), 4))
    timeline = plan.bench.timeline
    first_min = (24 - timeline.first_start_h) * 60
    midnights = np.arange(first_min, timeline.finish_min, _MIN_PER_DAY)
    every = int(np.ceil(len(midnights) / _MOST_DAYS)) or 1
    for day, at_min in enumerate(midnights, start=2):
        ax.axvline(at_min / 60, color=HAIR, linewidth=figure.NARROW_PT, zorder=0.5)
        if day % every == 0:
            ax.text(
                at_min / 60,
                -0.75,
                f" {say('times.day', day=day)}",
                color=GREY,
                fontsize=figure.TEXT_PT,
                va="bottom",
            )
    labels = {"wait": say("picture.waiting"), "hands": say("picture.hands")}
    for row, (_, tasks) in enumerate(rows):
        for task in tasks:
            _draw_bars(ax, task, row, labels, least_min=_LEAST_FRACTION * timeline.finish_min)
    ticks = ax.set_yticks(range(len(rows)), [name for name, _ in rows], parse_math=False)
    for tick, (_, tasks) in zip(ticks, rows, strict=True):
        if any(task.is_critical for task in tasks):
            tick.label1.set_fontweight("bold")
    ax.set_ylim(max(len(rows), 4) - 0.4, -1.6)
    ax.set_xlim(0.0, max(timeline.finish_min, 1.0) / 60 * 1.02)
    figure.put_title(ax, plan, say("picture.times"))
    figure.label_axes(ax, across=say("picture.hours"), up="")
    ax.tick_params(axis="y", length=0)
    if rows:
        bold = Line2D([], [], linestyle="none", label=say("picture.bold_sets_the_end"))
        handles = [*ax.get_legend_handles_labels()[0], bold]
        figure.put_legend(ax, columns=2, handles=handles)
    else:
        middle = {"ha": "center", "va": "center", "transform": ax.transAxes}
        ax.text(0.5, 0.5, say("picture.no_steps"), **middle, fontsize=figure.TEXT_PT)
    return ax


def _rows(tasks):
    """(name, tasks) of the mould's steps and of each casting, by the time they start."""
    rows = [(shop_view.task_name(task), [task]) for task in tasks if not task.copy]
    for copy in sorted({task.copy for task in tasks} - {0}):
        name = say("picture.casting", number=copy)
        rows.append((name, [task for task in tasks if task.copy == copy]))
    return sorted(rows, key=lambda row: row[1][0].start_min)


def _draw_bars(ax, task, row, labels, *, least_min):
    """Waiting as a thin bar, hands as a thick one; `labels` go to the first of each."""
    if task.end_min > task.hands_end_min:
        span = (task.hands_end_min / 60, (task.end_min - task.hands_end_min) / 60)
        label = labels.pop("wait", "")
        bar = {"facecolor": UPPER, "edgecolor": INK, "linewidth": 0.5, "label": label}
        ax.broken_barh([span], (row - _WAIT / 2, _WAIT), **bar)
    long_min = max(task.hands_end_min - task.start_min, least_min)
    span, label = (task.start_min / 60, long_min / 60), labels.pop("hands", "")
    bar = {"facecolor": LOWER, "edgecolor": INK, "linewidth": 0.5, "label": label}
    ax.broken_barh([span], (row - _HANDS / 2, _HANDS), zorder=3, **bar)


def draw_sizes(plan, ax=None) -> Axes:
    """How much every length of the casting differs from the original, with its interval.

    Parameters
    ----------
    plan : Planned or Plan
    ax : matplotlib Axes or Figure, optional

    Returns
    -------
    Axes
        Across in mm, casting less original; the first length on top, at 0. A length with a
        tolerance has a grey bar from end to end of it.
    """
    lines = plan.bench.fit.lines
    ax = figure.axes_of(ax, width_mm=_WIDTH_MM, height_mm=_WORDS_MM + 16.0 * max(len(lines), 2))
    label = say("picture.allowed")
    for row, line in enumerate(lines):
        if line.tolerance_mm is not None:
            span = (-line.tolerance_mm, 2 * line.tolerance_mm)
            bar = {"facecolor": HAIR, "edgecolor": GREY, "label": label}
            ax.broken_barh([span], (row - _BAND / 2, _BAND), zorder=1, **bar)
            label = ""
    low, mid, high = (
        np.array([getattr(line, name) - line.original_mm for line in lines])
        for name in ("low_mm", "copy_mm", "high_mm")
    )
    rows = np.arange(len(lines))
    ax.errorbar(
        mid,
        rows,
        xerr=(mid - low, high - mid),
        fmt="o",
        color=INK,
        capsize=5,
        label=say("picture.casting_interval"),
    )
    for row, line in enumerate(lines):
        told = say(
            "picture.casting_size",
            copy=f"{line.copy_mm:.2f}",
            low=f"{line.low_mm:.2f}",
            high=f"{line.high_mm:.2f}",
        )
        plate = {"facecolor": "white", "edgecolor": "none", "pad": 0.5}
        place = {"ha": "center", "va": "bottom", "bbox": plate, "zorder": 4}
        ax.text(mid[row], row - _OVER, told, **place, fontsize=figure.TEXT_PT)
    ax.axvline(0.0, color=INK, linewidth=figure.NARROW_PT, label=say("picture.original"))
    names = [
        say("picture.length", name=length_name(line.name), length=f"{line.original_mm:.2f}")
        for line in lines
    ]
    ax.set_yticks(rows, names, parse_math=False)
    ax.set_ylim(max(len(lines), 2) - 0.4, -0.7)
    ax.margins(x=0.15)
    ax.xaxis.set_major_locator(MaxNLocator(8))
    figure.put_title(ax, plan, say("picture.sizes"))
    figure.label_axes(ax, across=say("picture.difference"), up="")
    ax.tick_params(axis="y", length=0)
    figure.put_legend(ax, columns=3)
    return ax
