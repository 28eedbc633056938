"""Boards to cut, as SVG and DXF at true size: millimetres, one layer a tool.

Layers are told apart by name; their colours are the shop's to set. CUT holds closed
lines half a kerf outside the finished piece, ENGRAVE closed lines and each piece's name.
"""

import io
import threading
from dataclasses import dataclass
from xml.sax.saxutils import escape

import ezdxf
import numpy as np
from ezdxf import units

from castplan.mould.records import Board, BoardsResult
from castplan.palette import AIR, TRAPPED
from castplan.plan_record import Plan
from castplan.texts import say
from castplan.texts.names import board_name

GAP_MM = 10.0
SHEET_MM = 600.0  # pieces stand in rows about this long
NAME_MM = 5.0  # height of letters
CUT, ENGRAVE = "CUT", "ENGRAVE"
# ezdxf's switch for a file without clock and random ids is global.
_LOCK = threading.Lock()


def colours_of(plan: Plan) -> dict[str, str]:
    """The colour of each layer, #rrggbb: the shop's own, or castplan's."""
    shop = plan.job.shop
    return {CUT: shop.cut_colour or TRAPPED, ENGRAVE: shop.engrave_colour or AIR}


@dataclass(frozen=True, eq=False)
class Placed:
    """One piece on the sheet, moved to its place."""

    name: str
    cut_mm: np.ndarray
    marks_mm: tuple[np.ndarray, ...]
    name_at_mm: tuple[float, float]


def lay_out(boards: BoardsResult) -> tuple[list[Placed], tuple[float, float]]:
    """Every piece in its place, copies too, and the size of the sheet.

    Parameters
    ----------
    boards : BoardsResult

    Returns
    -------
    pieces : list of Placed
        Left to right, rows upward, `GAP_MM` apart and from the edge.
    size_mm : (width, height)
    """
    pieces, x, y, row, width = [], GAP_MM, GAP_MM, 0.0, 0.0
    for board in boards.boards:
        low, high = board.cut_mm.min(axis=0), board.cut_mm.max(axis=0)
        size = high - low
        for copy in range(1, board.count + 1):
            if x > GAP_MM and x + size[0] > SHEET_MM:
                x, y, row = GAP_MM, y + row + GAP_MM, 0.0
            pieces.append(_put(board, copy, np.array([x, y]) - low))
            width = max(width, x + size[0])
            x, row = x + size[0] + GAP_MM, max(row, size[1])
    return pieces, (width + GAP_MM, y + row + GAP_MM)


def _put(board: Board, copy: int, shift) -> Placed:
    name = str(board_name(board.name))
    if board.count > 1:
        name = say("board.copy", name=name, copy=copy, n=board.count)
    corner = board.outline_mm.min(axis=0) + shift
    return Placed(
        name=name,
        cut_mm=board.cut_mm + shift,
        marks_mm=tuple(mark + shift for mark in board.marks_mm),
        name_at_mm=(float(corner[0]) + NAME_MM, float(corner[1]) + NAME_MM),
    )


def boards_svg(plan: Plan) -> bytes:
    """The boards as SVG; width and height in mm, one unit of the drawing a mm."""
    pieces, (width, height) = lay_out(plan.mould.boards)
    colours = colours_of(plan)

    def path(ring):
        points = " L".join(f"{x:.3f},{height - y:.3f}" for x, y in ring)
        return f'<path d="M{points} Z"/>'

    cuts = [path(piece.cut_mm) for piece in pieces]
    marks = [path(mark) for piece in pieces for mark in piece.marks_mm]
    names = [
        f'<text x="{p.name_at_mm[0]:.3f}" y="{height - p.name_at_mm[1]:.3f}">'
        f"{escape(p.name)}</text>"
        for p in pieces
    ]
    groups = []
    for layer, lines in ((CUT, cuts), (ENGRAVE, marks)):
        style = f'fill="none" stroke="{colours[layer]}" stroke-width="0.1"'
        groups.append(f'<g id="{layer}" {style}>\n' + "\n".join(lines) + "\n</g>")
    title = say(
        "board.drawing", part=plan.part.name, thickness=f"{plan.mould.boards.thickness_mm:g}"
    )
    text = f'<g id="{ENGRAVE}-names" fill="{colours[ENGRAVE]}" stroke="none"'
    groups.append(f'{text} font-family="sans-serif" font-size="{NAME_MM:g}">')
    groups[-1] += "\n" + "\n".join(names) + "\n</g>"
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<svg xmlns="http://www.w3.org/2000/svg" version="1.1" width="{width:.3f}mm" '
        f'height="{height:.3f}mm" viewBox="0 0 {width:.3f} {height:.3f}">\n'
        f"<title>{escape(title)}</title>\n" + "\n".join(groups) + "\n</svg>\n"
    ).encode()


def boards_dxf(plan: Plan) -> bytes:
    """The boards as DXF R2010; units code 4, millimetres."""
    pieces, _ = lay_out(plan.mould.boards)
    with _LOCK:
        before = ezdxf.options.write_fixed_meta_data_for_testing
        ezdxf.options.write_fixed_meta_data_for_testing = True
        try:
            document = ezdxf.new("R2010", units=units.MM)
            for layer, colour in colours_of(plan).items():
                document.layers.add(layer, true_color=int(colour[1:], 16))
            space = document.modelspace()
            for piece in pieces:
                _polyline(space, piece.cut_mm, CUT)
                for mark in piece.marks_mm:
                    _polyline(space, mark, ENGRAVE)
                name = space.add_text(piece.name, height=NAME_MM, dxfattribs={"layer": ENGRAVE})
                name.set_placement(piece.name_at_mm)
            # ezdxf itself lists them in the order of a set, another in every process.
            for name in sorted(document.entitydb.dxf_types_in_use()):
                document.classes.add_class(name)
            text = io.StringIO()
            document.write(text)
        finally:
            ezdxf.options.write_fixed_meta_data_for_testing = before
    return text.getvalue().encode()


def _polyline(space, ring, layer):
    points = [(float(x), float(y)) for x, y in np.round(ring, 6)]
    space.add_lwpolyline(points, close=True, dxfattribs={"layer": layer})
