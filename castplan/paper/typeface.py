"""The typeface: DejaVu Sans, as matplotlib's wheel carries it, and its widths.

Widths are advances without kerning, as the PDF is set, so layout and print agree.
"""

import importlib.util
from functools import cache
from pathlib import Path

from reportlab.pdfbase.ttfonts import TTFont

REGULAR, BOLD = "DejaVuSans", "DejaVuSans-Bold"
_FOLDER = Path("mpl-data", "fonts", "ttf")


@cache
def font(name: str) -> TTFont:
    """The font of that name, read once."""
    # Looked up, not imported: all that is wanted of the package is this file.
    home = importlib.util.find_spec("matplotlib").submodule_search_locations[0]
    return TTFont(name, str(Path(home) / _FOLDER / f"{name}.ttf"))


class _Widths(dict):
    """Advances by letter, looked up once each."""

    def __init__(self, name):
        self._face = font(name).face

    def __missing__(self, letter):
        width = self[letter] = self._face.charWidths.get(ord(letter), self._face.defaultWidth)
        return width


_widths = cache(_Widths)


def width_em(text: str, *, is_bold: bool) -> float:
    """Width of one line of text, in units of its size."""
    return sum(map(_widths(BOLD if is_bold else REGULAR).__getitem__, text)) / 1000
