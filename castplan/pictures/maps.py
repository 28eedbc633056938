"""Maps over all directions: what each draw traps, what each pouring position costs.

Equal areas are kept (Lambert's azimuthal projection); half of all directions fill a
disc of radius 1.
"""

import numpy as np
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Circle

from castplan import units
from castplan.palette import AIR_SHADES, GREY, HAIR, INK, TRAPPED
from castplan.pictures import figure
from castplan.texts import say
from castplan.words import air as air_view
from castplan.words import formats
from castplan.words import plan as view

_WIDTH_MM = 170.0
_REACH = 1.12  # of the view beyond the disc, where its numbers may stand
_DOT_PT2 = 2.0
_LARGEST_PT2 = 90.0
_TITLE_MM = 16.0
_BELOW_MM = 4.0  # of the disc, down to the legend
_APART = 2.5  # from the middle of one disc to that of the other


def draw_directions(plan, ax=None) -> Axes:
    """What the best flat parting would trap along every draw direction that was tried.

    Parameters
    ----------
    plan : Planned or Plan
    ax : matplotlib Axes or Figure, optional

    Returns
    -------
    Axes
        A disc of radius 1 with the plan's draw in the middle, directions across it at the rim.
        The area of a dot goes with the volume.
    """
    draw = plan.split.draw
    ax = _map_axes(ax, n_discs=1, n_lines=3 + len(draw.candidates))
    ax.set(xlim=(-_REACH, _REACH), ylim=(-_REACH, _REACH))
    ax.add_patch(Circle((0, 0), 1.0, facecolor="white", edgecolor=INK))
    # Half way to the side: 45 degrees off the draw.
    ax.add_patch(Circle((0, 0), np.sqrt(1 - np.sqrt(0.5)), fill=False, edgecolor=HAIR))
    handles = []
    if not draw.is_asked_for:  # of a draw that was asked for the map was not made
        handles = _draw_dots(ax, draw)
    for number, candidate in enumerate(draw.candidates, start=1):
        named = say(
            "picture.direction",
            number=number,
            direction=view.direction_words(candidate.direction, plan),
            volume=formats.trapped_plain(candidate.trapped_mm3),
        )
        handles.append(_entry(named))
    axes = _entry(say("picture.axes_of_the_file"))
    shown = "picture.directions_asked" if draw.is_asked_for else "picture.directions"
    figure.put_title(ax, plan, say(shown))
    figure.put_legend(ax, columns=1, handles=[*handles, axes], below_mm=_BELOW_MM)
    numbers = figure.Numbers(ax)
    best = _places(draw.frame, [candidate.direction for candidate in draw.candidates])
    for number, place in enumerate(best, start=1):
        numbers.put(place, str(number), colour=INK)
    own = np.eye(3) * np.where(draw.frame.up < 0, -1.0, 1.0)[:, None]
    for name, axis, place in zip("xyz", own, _places(draw.frame, own), strict=True):
        sign = "+" if axis.sum() > 0 else "-"
        numbers.put(place, f"{sign}{name}", colour=GREY, shape="square", size=0.0)
    return ax


def _draw_dots(ax, draw):
    """A dot for every direction; returns what the legend says of them."""
    places, volumes_mm3 = _places(draw.frame, draw.map_directions), draw.map_trapped_mm3
    is_free = units.is_nothing(volumes_mm3)
    most_mm3 = max(float(volumes_mm3.max(initial=0.0)), 1e-9)
    area_pt2 = np.maximum(_LARGEST_PT2 * volumes_mm3 / most_mm3, _DOT_PT2)
    free = {"facecolors": "white", "edgecolors": INK, "s": 14.0}
    trapping = {"facecolors": TRAPPED, "edgecolors": "none"}
    ax.scatter(*places[~is_free].T, s=area_pt2[~is_free], **trapping)
    ax.scatter(*places[is_free].T, **free, zorder=2.5)
    handles = []
    if is_free.any():
        handles.append(ax.scatter([], [], **free, label=say("picture.no_undercut")))
    if not is_free.all():
        volume = formats.trapped_plain(most_mm3)
        label = say("picture.largest_dot", volume=volume)
        handles.append(ax.scatter([], [], s=_LARGEST_PT2, **trapping, label=label))
    return handles


def draw_positions(plan, ax=None) -> Axes:
    """What every pouring position costs in effort, and where the best of them lie.

    Parameters
    ----------
    plan : Planned or Plan
    ax : matplotlib Axes or Figure, optional

    Returns
    -------
    Axes
        Two discs of radius 1, each seen along the draw: on the left the ways with the upper
        half up, on the right, with its middle at x = 2.5, those with the lower half up.
        A dot is the direction that faces up.
    """
    attitude, frame = plan.air.attitude, plan.split.draw.frame
    ax = _map_axes(ax, n_discs=2, n_lines=2 + len(attitude.options))
    ax.set(xlim=(-_REACH, _APART + _REACH), ylim=(-_REACH, _REACH + 0.15))
    cost = attitude.map_cost_min
    n_shades = len(AIR_SHADES)
    steps = np.quantile(cost, np.linspace(0, 1, n_shades + 1)[1:-1]) if cost.size else ()
    shades = np.array(AIR_SHADES)[np.searchsorted(steps, cost)]
    lettered = []
    for middle, sense, title in (
        (0.0, 1.0, say("cut.upper_up" if plan.split.is_cut else "air.upper_half_up")),
        (_APART, -1.0, say("cut.lower_up" if plan.split.is_cut else "air.lower_half_up")),
    ):
        ax.add_patch(Circle((middle, 0), 1.0, facecolor="white", edgecolor=INK))
        is_here, places = _half(frame, attitude.map_up, sense, middle)
        ax.scatter(
            *places[is_here].T, s=16.0, c=shades[is_here], edgecolors=HAIR, linewidths=0.3, zorder=2
        )
        ax.text(middle, 1.08, title, ha="center", va="bottom", fontsize=figure.TEXT_PT)
        is_here, places = _half(frame, [option.up for option in attitude.options], sense, middle)
        for k in np.flatnonzero(is_here):
            lettered.append((places[k], air_view.LETTERS[k]))
    handles = []
    for shade, key in ((AIR_SHADES[0], "picture.least_effort"), (AIR_SHADES[-1], "picture.most")):
        dot = {"marker": "o", "linestyle": "none", "markeredgecolor": HAIR}
        handles.append(Line2D([], [], color=shade, label=say(key), **dot))
    for letter, option in zip(air_view.LETTERS, attitude.options, strict=False):
        named = say(
            "picture.position",
            letter=letter,
            stand=air_view.stand_words(option, is_cut=plan.split.is_cut),
            vents=formats.counted(option.n_vents, "vent"),
            points=f"{option.cost_min:.0f}",
        )
        handles.append(_entry(named))
    figure.put_title(ax, plan, say("picture.positions"))
    figure.put_legend(ax, columns=1, handles=handles, below_mm=_BELOW_MM)
    numbers = figure.Numbers(ax)
    for place, letter in lettered:
        numbers.put(place, letter, colour=TRAPPED)
    return ax


def _map_axes(ax, *, n_discs, n_lines):
    """Axes without numbers, which a disc of directions has not, and room for a legend."""
    disc_mm = 120.0 if n_discs == 1 else 90.0
    words_mm = _TITLE_MM + _BELOW_MM + n_lines * figure.LEGEND_LINE_MM
    ax = figure.axes_of(ax, width_mm=_WIDTH_MM, height_mm=disc_mm + words_mm)
    ax.set_aspect("equal")
    ax.set_axis_off()
    return ax


def _entry(text):
    """A line of the legend that has no mark of its own."""
    return Line2D([], [], linestyle="none", label=text)


def _places(frame, directions):
    """Places of draw directions on the disc, (k, 2); the opposite one is the same draw."""
    turned = _turned(frame, directions)
    return _flat(np.where(turned[:, 2:] < 0, -turned, turned))


def _half(frame, directions, sense, middle):
    """Which directions lie on one half, the rim on both, and their places round a middle."""
    turned = _turned(frame, directions)
    turned[:, 2] *= sense
    is_here = turned[:, 2] >= -1e-9
    places = _flat(np.where(is_here[:, None], turned, (0.0, 0.0, 1.0)))
    places[:, 0] += middle
    return is_here, places


def _turned(frame, directions):
    turned = frame.to_frame(np.asarray(directions, dtype=float).reshape(-1, 3))
    return turned / np.linalg.norm(turned, axis=1)[:, None]


def _flat(directions):
    """Lambert's azimuthal projection of the upper hemisphere, its rim at radius 1."""
    return directions[:, :2] / np.sqrt(1 + np.maximum(directions[:, 2:], 0.0))
