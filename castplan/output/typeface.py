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


def width_em(text: str, *, is_bold: bool) -> float:
    """Width of one line of text, in units of its size."""
    face = font(BOLD if is_bold else REGULAR).face
    widths, other = face.charWidths, face.defaultWidth
    return sum(widths.get(ord(letter), other) for letter in text) / 1000
