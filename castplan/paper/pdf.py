"""Sheets written as one PDF: vector, fonts embedded, the same bytes for the same sheets."""

import io
import math
import threading
from contextlib import contextmanager
from functools import cache
from pathlib import Path

from PIL import Image
from reportlab import rl_config
from reportlab.lib.colors import HexColor
from reportlab.lib.utils import ImageReader
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfgen.canvas import FILL_EVEN_ODD, Canvas
from reportlab.pdfgen.pathobject import PDFPathObject

from castplan.paper import paper, typeface
from castplan.paper.paper import MM_PER_PT, Area, Disc, Hatch, Line, Picture, Shape, Sheet, Text

# Four Bezier arcs leave a circle by 0.03 % of its radius with this handle (closed form:
# 4/3 tan(22.5 degrees)).
_HANDLE = 4 / 3 * math.tan(math.pi / 8)
_BUTT, _ROUND = 0, 1  # line ends and joins, ISO 32000-1, tables 54 and 55
# reportlab keeps the fonts of a document in a table of its own: one document at a time.
_LOCK = threading.Lock()


def pdf_bytes(pages: list[Sheet], *, title: str, version: str) -> bytes:
    """Pages as one PDF.

    Parameters
    ----------
    pages : list of Sheet
    title : str
    version : str
        Of castplan.

    Returns
    -------
    bytes
    """
    buffer = io.BytesIO()
    with _LOCK, _binary_streams():
        for name in (typeface.REGULAR, typeface.BOLD):
            pdfmetrics.registerFont(typeface.font(name))
        canvas = Canvas(buffer, invariant=1, pageCompression=1, initialFontName=typeface.REGULAR)
        canvas.setTitle(title)
        canvas.setAuthor("")
        canvas.setCreator(f"castplan {version}")
        for sheet in pages:
            canvas.setPageSize((sheet.width_mm / MM_PER_PT, sheet.height_mm / MM_PER_PT))
            for item in sheet.items:
                _DRAW[type(item)](canvas, item)
            canvas.showPage()
        canvas.save()
    return buffer.getvalue()


def save_pdf(pages: list[Sheet], path: str | Path, *, title: str, version: str) -> None:
    """Write pages as one PDF.

    Parameters
    ----------
    pages : list of Sheet
    path : str or pathlib.Path
    title : str
    version : str
        Of castplan.

    Raises
    ------
    OSError
        The file cannot be written; who names the file to the shop says so.
    """
    Path(path).write_bytes(pdf_bytes(pages, title=title, version=version))


@contextmanager
def _binary_streams():
    """Keep streams from being written as letters, which takes time and a quarter more room."""
    before = rl_config.useA85
    rl_config.useA85 = 0
    try:
        yield
    finally:
        rl_config.useA85 = before


@cache
def _colour(text: str) -> HexColor:
    return HexColor({"white": "#ffffff"}.get(text, text))


def _outline(canvas: Canvas, shape: Shape) -> PDFPathObject:
    path = canvas.beginPath()
    for ring in shape.rings:
        points = (ring / MM_PER_PT).tolist()
        path.moveTo(*points[0])
        for x, y in points[1:]:
            path.lineTo(x, y)
        path.close()
    return path


class _Clipped:
    """What is drawn inside it stays within a shape; nothing changes where there is none."""

    def __init__(self, canvas: Canvas, clip: Shape | None) -> None:
        self.canvas, self.clip = canvas, clip

    def __enter__(self) -> None:
        if self.clip is not None:
            self.canvas.saveState()
            path = _outline(self.canvas, self.clip)
            self.canvas.clipPath(path, stroke=0, fill=0, fillMode=FILL_EVEN_ODD)

    def __exit__(self, *_) -> None:
        if self.clip is not None:
            self.canvas.restoreState()


def _pen(canvas: Canvas, kind: str, colour: str) -> None:
    width_mm, dashes = paper.LINE_KINDS[kind]
    width = width_mm / MM_PER_PT
    canvas.setStrokeColor(_colour(colour))
    canvas.setLineWidth(width)
    canvas.setLineCap(_ROUND if kind == "air" else _BUTT)
    canvas.setLineJoin(_ROUND)
    canvas.setDash([width * dash for dash in dashes] if dashes else [])


def _text(canvas: Canvas, item: Text) -> None:
    canvas.setFillColor(_colour(item.colour))
    canvas.setFont(typeface.BOLD if item.is_bold else typeface.REGULAR, item.size_pt)
    share = {"left": 0.0, "center": 0.5, "right": 1.0}[item.anchor]
    width = typeface.width_em(item.text, is_bold=item.is_bold) * item.size_pt
    canvas.drawString(item.x / MM_PER_PT - share * width, item.y / MM_PER_PT, item.text)


def _line(canvas: Canvas, item: Line) -> None:
    with _Clipped(canvas, item.clip):
        _pen(canvas, item.kind, item.colour)
        points = (item.points / MM_PER_PT).tolist()
        path = canvas.beginPath()
        path.moveTo(*points[0])
        for x, y in points[1:]:
            path.lineTo(x, y)
        canvas.drawPath(path, stroke=1, fill=0)


def _painted(canvas: Canvas, path: PDFPathObject, item: Area | Disc) -> None:
    with _Clipped(canvas, item.clip):
        if item.fill is not None:
            canvas.setFillColor(_colour(item.fill))
        if item.edge is not None:
            _pen(canvas, item.kind, item.edge)
        is_drawn, is_filled = item.edge is not None, item.fill is not None
        canvas.drawPath(path, stroke=is_drawn, fill=is_filled, fillMode=FILL_EVEN_ODD)


def _area(canvas: Canvas, item: Area) -> None:
    if item.fill is not None or item.edge is not None:
        _painted(canvas, _outline(canvas, item.shape), item)


def _disc(canvas: Canvas, item: Disc) -> None:
    x, y, r = (value / MM_PER_PT for value in (item.x, item.y, item.radius))
    h = _HANDLE * r
    path = canvas.beginPath()
    path.moveTo(x + r, y)
    path.curveTo(x + r, y + h, x + h, y + r, x, y + r)
    path.curveTo(x - h, y + r, x - r, y + h, x - r, y)
    path.curveTo(x - r, y - h, x - h, y - r, x, y - r)
    path.curveTo(x + h, y - r, x + r, y - h, x + r, y)
    path.close()
    _painted(canvas, path, item)


def _hatch(canvas: Canvas, item: Hatch) -> None:
    with _Clipped(canvas, item.clip), _Clipped(canvas, item.shape):
        canvas.setStrokeColor(_colour(item.colour))
        canvas.setLineWidth(item.width_mm / MM_PER_PT)
        canvas.setLineCap(_BUTT)
        canvas.setDash([])
        path = canvas.beginPath()
        for (x0, y0), (x1, y1) in (item.segments / MM_PER_PT).tolist():
            path.moveTo(x0, y0)
            path.lineTo(x1, y1)
        canvas.drawPath(path, stroke=1, fill=0)


def _picture(canvas: Canvas, item: Picture) -> None:
    place = (item.x / MM_PER_PT, item.y / MM_PER_PT)
    size = (item.width_mm / MM_PER_PT, item.height_mm / MM_PER_PT)
    canvas.drawImage(ImageReader(Image.fromarray(item.pixels)), *place, *size)


_DRAW = {Text: _text, Line: _line, Area: _area, Disc: _disc, Hatch: _hatch, Picture: _picture}
