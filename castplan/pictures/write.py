"""A picture as a file: the same plan gives the same bytes."""

import warnings
from pathlib import Path

import matplotlib
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from castplan import pictures

SUFFIXES = (".png", ".svg", ".pdf")
# No clock in the file; ids of an SVG hang on the salt alone.
_UNDATED = {".png": {}, ".svg": {"Date": None}, ".pdf": {"CreationDate": None}}
_SALT = "castplan"
_DPI = 200
_MOST_PX = 12_000  # of a picture's longer side; a large mould at true size gets fewer an inch


def write_picture(plan, name: str, path) -> None:
    """Draw one picture and write it, by matplotlib's own defaults, whatever the user's are.

    Parameters
    ----------
    plan : Planned or Plan
    name : str
        One of `castplan.pictures.NAMES`.
    path : str or path-like
        Its suffix, one of `SUFFIXES`, says the format.
    """
    draw = getattr(pictures, f"draw_{name}")
    suffix = Path(path).suffix.lower()
    with matplotlib.rc_context(), warnings.catch_warnings():
        # A name may have signs that the typeface has not; they come out as boxes.
        warnings.filterwarnings("ignore", message="Glyph .* missing")
        matplotlib.rcdefaults()
        matplotlib.rcParams.update({"svg.hashsalt": _SALT, "hatch.linewidth": 0.7})
        figure = Figure()
        FigureCanvasAgg(figure)
        draw(plan, figure)
        dpi = min(_DPI, _MOST_PX / max(figure.get_size_inches()))
        figure.savefig(path, format=suffix[1:], dpi=dpi, metadata=_UNDATED[suffix])
