"""What all pictures share: where they are drawn, areas with their hatch, lines, numbers."""

import numpy as np
from matplotlib.axes import Axes
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure
from matplotlib.patches import PathPatch
from matplotlib.path import Path
from matplotlib.transforms import ScaledTranslation

from castplan.palette import GREY, INK, LOWER, PART, TRAPPED, UPPER
from castplan.texts import say
from castplan.units import MM_PER_INCH

TITLE_PT, TEXT_PT = 12.0, 10.0
WIDE_PT, MIDDLE_PT, NARROW_PT = 1.4, 1.0, 0.7  # 0.5, 0.35 and 0.25 mm, as on the sheets
# As on the sheets: dashes in widths of the line (ISO 128-2).
PARTING = (0, (24, 3, 0.5, 3))
HIDDEN = (0, (12, 3))
DOTTED = (0, (0.5, 2.5))
# The sheets' lean and pitch, as near as matplotlib has them: its crossed lines stand
# upright, where the sheets turn them by 20 degrees; both keep clear of the halves' 45.
HATCHES = {UPPER: "\\\\", LOWER: "///", TRAPPED: "++++"}
_NAME_LETTERS = 50  # of a part in the title
_TINT = 0.22  # of a class's colour in its area
TICKS_MM = 13.0  # from the Axes down to the legend: ticks and their label stand between
LEGEND_LINE_MM = 4.9
_NUMBER_MM = 3.0  # radius of a number's plate
_ROOM_MM = 11.0  # a number stands on what is larger than this, and beside what is not
_AWAY_MM = (6.5, 9.5, *range(13, 80, 4))  # a number that would hide another stands so far off


def axes_of(ax, *, width_mm: float, height_mm: float) -> Axes:
    """The Axes to draw in.

    Parameters
    ----------
    ax : matplotlib Axes, Figure or None
        A figure is given the size; None makes one.
    width_mm, height_mm : float
        Of a figure, words included.

    Returns
    -------
    Axes
    """
    if isinstance(ax, Axes):
        return ax
    figure = sized_figure(ax, width_mm=width_mm, height_mm=height_mm)
    figure.set_layout_engine("constrained")
    return figure.subplots()


def sized_figure(figure: Figure | None, *, width_mm: float, height_mm: float) -> Figure:
    """The figure at this size; a new one of pyplot's where there is none."""
    if figure is None:
        from matplotlib import pyplot

        figure = pyplot.figure()
    figure.set_size_inches(width_mm / MM_PER_INCH, height_mm / MM_PER_INCH)
    return figure


def put_title(ax: Axes, plan, shown: str) -> None:
    """The part's name, and below it what is shown."""
    name = plan.part.name
    if len(name) > _NAME_LETTERS:
        name = name[: _NAME_LETTERS - 1].rstrip() + "…"
    # A name is no formula, though it may have dollar signs.
    text = say("picture.title", part=name, shown=shown)
    ax.set_title(text, loc="left", fontsize=TITLE_PT, wrap=True, parse_math=False)


def put_legend(ax: Axes, *, columns: int, handles=None, below_mm: float = TICKS_MM) -> None:
    """The legend below the Axes, a fixed way off whatever their height."""
    below = ScaledTranslation(0, -below_mm / MM_PER_INCH, ax.figure.dpi_scale_trans)
    ax.legend(
        handles=handles,
        loc="upper left",
        bbox_to_anchor=(0, 0),
        bbox_transform=ax.transAxes + below,
        ncols=columns,
        frameon=False,
        fontsize=TEXT_PT,
        borderaxespad=0,
        handlelength=4.0,
        columnspacing=1.4,
    )


def label_axes(ax: Axes, *, across: str, up: str) -> None:
    """What the numbers of the Axes are."""
    ax.set_xlabel(across, fontsize=TEXT_PT)
    ax.set_ylabel(up, fontsize=TEXT_PT)
    ax.tick_params(labelsize=TEXT_PT)
    for side in ("top", "right"):
        ax.spines[side].set_visible(False)


def path_of(rings) -> Path:
    """One path of closed rings, each (n, 2); holes are rings too."""
    rings = [np.asarray(ring, dtype=float) for ring in rings]
    turned = [_turned(ring, is_left=_depth(ring, rings) % 2 == 0) for ring in rings]
    return Path.make_compound_path(
        *(Path(np.vstack([ring, ring[:1]]), closed=True) for ring in turned)
    )


def _depth(ring, rings):
    """In how many others a ring lies."""
    return sum(other is not ring and Path(other).contains_point(ring[0]) for other in rings)


def _turned(ring, *, is_left):
    """The ring run to the left or the right: holes run against what they lie in."""
    x, y = ring.T
    area_mm2 = 0.5 * float(x @ np.roll(y, -1) - y @ np.roll(x, -1))
    return ring if (area_mm2 > 0) == is_left else ring[::-1]


def area(ax: Axes, rings, colour: str, *, label: str = "") -> PathPatch:
    """A shape in the tint and the hatch of its class; the part in its plain colour."""
    hatch = HATCHES.get(colour)
    patch = PathPatch(
        path_of(rings),
        facecolor=colour if hatch is None else _tint(colour),
        edgecolor=colour if hatch else INK,
        linewidth=0 if hatch else NARROW_PT,
        hatch=hatch,
        label=label,
    )
    return ax.add_patch(patch)


def part(ax: Axes, sketch, corner_mm) -> None:
    """The part as a sketch of the plan has it, from a corner on."""
    rings = [ring - corner_mm for ring in sketch.outline]
    patch = area(ax, rings, PART, label=say("sketch.part"))
    patch.set_linewidth(WIDE_PT)
    for line in sketch.lines:
        ax.plot(*(line - corner_mm).T, color=GREY, linewidth=NARROW_PT)


def outline(ax: Axes, ring, *, colour: str = INK, width_pt: float = WIDE_PT) -> None:
    """A closed line."""
    closed = np.vstack([ring, ring[:1]])
    ax.plot(*closed.T, color=colour, linewidth=width_pt, solid_joinstyle="miter")


def _tint(colour):
    """The colour mixed with white, which covers what lies below."""
    return tuple(1 - _TINT * (1 - np.array(to_rgb(colour))))


class Numbers:
    """Numbers and letters on round or square plates, none over another.

    Limits, title and legend of the Axes must be set before.

    Parameters
    ----------
    ax : Axes
    """

    def __init__(self, ax: Axes) -> None:
        self._ax = ax
        engine = ax.figure.get_layout_engine()
        if engine is not None and isinstance(ax.figure, Figure):
            engine.execute(ax.figure)  # plates have a size on paper: how large are the Axes?
        ax.apply_aspect()
        box = ax.get_window_extent()
        spans = np.abs([np.subtract(*ax.get_xlim()), np.subtract(*ax.get_ylim())])
        paper_mm = np.array([box.width, box.height]) / ax.figure.dpi * MM_PER_INCH
        self._data_per_mm = float((spans / paper_mm).max())
        self._taken: list[np.ndarray] = []
        self._shown: list[tuple[np.ndarray, float]] = []

    def keep_off(self, spot, *, radius: float) -> None:
        """Leave what lies round (x, y) to be seen; the radius is in the Axes' units."""
        self._shown.append((np.asarray(spot, dtype=float), radius))

    def put(self, spot, text: str, *, colour: str, shape: str = "round", size=None) -> None:
        """A plate at (x, y), or as near to it as there is room, then on a leader.

        Parameters
        ----------
        spot : (2,)
        text : str
        colour : str
        shape : {"round", "square"}
        size : float, optional
            Of what is there, in the Axes' units; the plate keeps off what it would hide.
        """
        spot = np.asarray(spot, dtype=float)
        angles = np.radians(np.arange(60, 420, 45))
        ring = np.column_stack([np.cos(angles), np.sin(angles)]) * self._data_per_mm
        is_hidden = size is not None and size < _ROOM_MM * self._data_per_mm
        tried = [] if is_hidden else [spot]
        tried += [spot + away_mm * step for away_mm in _AWAY_MM for step in ring]
        place = next((one for one in tried if self._is_free(one)), tried[-1])
        self._taken.append(place)
        plate = {"round": "circle,pad=0.25", "square": "square,pad=0.25"}[shape]
        self._ax.annotate(
            text,
            spot,
            place,
            ha="center",
            va="center_baseline",
            fontsize=TEXT_PT,
            fontweight="bold",
            arrowprops=None
            if place is spot
            else {"arrowstyle": "-", "color": colour, "linewidth": NARROW_PT},
            bbox={"boxstyle": plate, "facecolor": "white", "edgecolor": colour},
            zorder=6,
            parse_math=False,
        )

    def _is_free(self, place):
        (x0, x1), (y0, y1) = sorted(self._ax.get_xlim()), sorted(self._ax.get_ylim())
        reach = _NUMBER_MM * self._data_per_mm
        is_on = x0 + reach < place[0] < x1 - reach and y0 + reach < place[1] < y1 - reach
        off = [(old, reach) for old in self._taken] + self._shown
        return is_on and all(np.hypot(*(place - spot)) > reach + size for spot, size in off)
