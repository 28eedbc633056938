"""A step of the mould's making as a picture of matplotlib's: pixels, one for one."""

from matplotlib.axes import Axes

from castplan import step_pictures
from castplan.pictures import figure
from castplan.units import MM_PER_INCH

DPI = 200  # as `write_picture` saves


def draw_step(plan, ax=None, *, name: str) -> Axes:
    """One step picture, in its own pixels where a figure of its own is drawn.

    Parameters
    ----------
    plan : Planned or Plan
    ax : matplotlib Axes or Figure, optional
    name : str
        One of `step_pictures.list_names`.

    Returns
    -------
    Axes
        In pixels, from the upper left corner.
    """
    pixels = step_pictures.draw_picture(getattr(plan, "record", plan), name).pixels
    if not isinstance(ax, Axes):
        high, wide, _ = pixels.shape
        size = {"width_mm": wide * MM_PER_INCH / DPI, "height_mm": high * MM_PER_INCH / DPI}
        ax = figure.sized_figure(ax, **size).add_axes((0, 0, 1, 1))
    ax.imshow(pixels, interpolation="nearest")
    ax.set_axis_off()
    return ax
